"""A bound board, the whole way: cut narrower, slots out through its edges, side dots in the finished edge."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.common.errors import JobError
from toolpaths.job.changes import Changes
from toolpaths.pipeline.load import load_job

BOARD = """\
title: Bound board
units: mm
machine: bench-router
wood: black cherry
instrument:
  scale_length: 300
  frets: 5
  strings: 5
  board: {width: {nut: 40, 5: 44}, overhang: 6, thickness: 5, radius: 241.3, binding: BINDING}
stock: {length: 124, width: 70, thickness: 6}
setups:
  - name: face
    zero: {x: nut, y: centreline, z: bed}
    nut_at: 18
    hold: tape
    features:
      - plane: {bit: planer, leave: 5}
      - score_lines: {bit: scorer, depth: 0.5, below: radius}
      - outline: {bit: quarter}
"""


def job(folder: Path, binding: str) -> Path:
    path = folder / f"board{binding}.yaml"
    path.write_text(BOARD.replace("BINDING", binding), encoding="utf-8")
    return path


def width_at(outcome, x: float) -> float:
    """Of the part that is left standing between its kerfs, from the map after the last program, mm."""
    after = outcome.setups[0].after
    column = after.heights[:, round((x - after.x0) / after.pitch)]
    middle = round((0.0 - after.y0) / after.pitch)
    low = middle - next(i for i, h in enumerate(column[middle::-1]) if h < 0.1)
    high = middle + next(i for i, h in enumerate(column[middle:]) if h < 0.1)
    return (high - low - 1) * after.pitch


@pytest.mark.slow
def test_the_router_leaves_room_for_the_binding(tmp_path: Path) -> None:
    plain, bound = (make(job(tmp_path, b), Changes(pitch=0.05)) for b in ("0", "1.5"))
    for outcome in (plain, bound):
        assert not outcome.stopped
    # 44 mm wide at fret 5 of 300, 75.254 (derived). Halfway between frets 4 and 5 nothing is scored.
    x = 68.0
    finished = 40 + 4 * x / 75.254
    assert finished == pytest.approx(width_at(plain, x), abs=0.11)
    assert finished - 3.0 == pytest.approx(width_at(bound, x), abs=0.11)
    (words,) = [h.what for h in bound.handwork if "inding" in h.what]
    assert words.startswith("Glue binding 1.50 mm thick along both long edges")
    assert any("1.500 inside the finished edge" in p.text or "1.50 mm inside" in p.text for p in bound.programs)
    assert plain.job_hash != bound.job_hash


def test_no_binding_is_the_same_as_none_said(tmp_path: Path) -> None:
    said, silent = job(tmp_path, "0"), tmp_path / "silent.yaml"
    silent.write_text(BOARD.replace(", binding: BINDING", ""), encoding="utf-8")
    assert load_job(said).job_hash == load_job(silent).job_hash


def test_a_binding_as_wide_as_the_board_is_refused_at_its_line(tmp_path: Path) -> None:
    with pytest.raises(JobError) as told:
        load_job(job(tmp_path, "15"))
    (problem,) = told.value.problems
    assert 9 == problem.line
    assert "this binding takes more than half of the board" in problem.problem
