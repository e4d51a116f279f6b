"""A bit is called by its pocket in the changer; one without a pocket is named before any program."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.small_board import small_board, written
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import machine_paths
from toolpaths.pipeline.build import lay_out
from toolpaths.pipeline.prove import prove

MARKERS = "marker_pockets: {bit: eighth, diameter: 5, depth: 1.5, frets: [3]}"


def board(folder: Path, pockets: str) -> Path:
    """A small board on the shop's gantry with these lines in its machine file."""
    text = machine_paths()["shop-gantry"].read_text(encoding="utf-8")
    (folder / "changer.yaml").write_text(f"{text}{pockets}\n", encoding="utf-8")
    return written(folder, small_board(MARKERS, machine="changer.yaml"))


def test_bits_are_numbered_by_their_pockets(tmp_path: Path) -> None:
    layout = lay_out(board(tmp_path, "pockets: {eighth: 2, planer: 9, quarter: 1}"), Changes(pitch=0.5))
    assert {"planer": 9, "eighth": 2} == layout.numbers
    assert [] == [f.message for f in prove(layout).findings if f.code in ("wrong-bit", "header")]


def test_without_pockets_they_are_numbered_in_the_order_of_their_use(tmp_path: Path) -> None:
    assert {"planer": 1, "eighth": 2} == lay_out(board(tmp_path, ""), Changes(pitch=0.5)).numbers


def test_a_bit_without_a_pocket_is_named_with_its_line(tmp_path: Path) -> None:
    path = board(tmp_path, "pockets: {planer: 1, quarter: 3}")
    with pytest.raises(JobError) as caught:
        lay_out(path, Changes(pitch=0.5))
    (problem,) = caught.value.problems
    line = path.read_text(encoding="utf-8").splitlines()[problem.line - 1]
    assert line[problem.column - 1 :].startswith("bit: eighth")
    assert "no pocket of shop gantry holds eighth" == problem.problem
    assert (
        "add it to `pockets` in the machine file, such as `eighth: 2`; in pockets now: planer, quarter" == problem.hint
    )


def test_two_bits_in_one_pocket_are_refused_at_the_second(tmp_path: Path) -> None:
    path = board(tmp_path, "pockets:\n  planer: 1\n  eighth: 1")
    with pytest.raises(JobError) as caught:
        lay_out(path, Changes(pitch=0.5))
    (problem,) = caught.value.problems
    source = (tmp_path / "changer.yaml").read_text(encoding="utf-8").splitlines()
    assert ("  eighth: 1", 3) == (source[problem.line - 1], problem.column)
    assert "pockets.eighth" == problem.key
    assert "pocket 1 already holds planer; give each bit a pocket of its own" == problem.problem


@pytest.mark.parametrize("value", ["3", "sixteenth"])
def test_the_command_line_cannot_change_what_a_pocket_holds(value: str, tmp_path: Path) -> None:
    path = board(tmp_path, "pockets: {eighth: 2, planer: 9, quarter: 1}")
    with pytest.raises(JobError) as caught:
        lay_out(path, Changes(bits=(("eighth", value),), pitch=0.5))
    (problem,) = caught.value.problems
    assert "pocket 2 of shop gantry holds eighth, and no other bit" == problem.problem
