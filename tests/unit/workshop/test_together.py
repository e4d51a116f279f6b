"""Jobs that are not of one instrument are refused, each reason at its place in its file."""

from __future__ import annotations

import shutil
from itertools import permutations
from pathlib import Path

import pytest

from tests.support.jig_jobs import JigJobs
from tests.support.paired_jobs import pair
from toolpaths.common.errors import JobError, Problem
from toolpaths.pipeline.load import load_job
from toolpaths.workshop.together import must_belong

DEMOS = Path(__file__).parents[3] / "demo_jobs"


def problems(*paths: Path) -> list[Problem]:
    try:
        must_belong([load_job(path) for path in paths])
    except JobError as error:
        return list(error.problems)
    return []


def changed(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_the_demos_of_one_instrument_belong_together() -> None:
    names = ("tenor_jig", "tenor_board_on_jig", "tenor_neck_on_jig")
    jobs = [DEMOS / f"{name}.yaml" for name in names]
    assert all(problems(*order) == [] for order in permutations(jobs))
    assert problems(DEMOS / "tenor_board.yaml", DEMOS / "tenor_neck.yaml") == []
    assert problems(DEMOS / "tenor_board.yaml") == []


def test_another_scale_is_told_at_the_instrument() -> None:
    (found,) = problems(DEMOS / "compound_board.yaml", DEMOS / "tenor_neck.yaml")
    assert Path(found.file).name == "compound_board.yaml"
    assert "`scale_length`" in found.problem
    assert "tenor_neck.yaml" in found.problem
    assert found.source.strip().startswith("instrument") or "scale_length" in found.source


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [("frets: 19", "frets: 18", "frets"), ("584", "600", "scale_length"), ("nut: 36", "nut: 37", "board")],
)
def test_any_number_that_differs_is_named(old: str, new: str, key: str, tmp_path: Path) -> None:
    board, neck = pair(tmp_path, board={old: new})
    (found,) = problems(neck, board)
    assert f"`{key}`" in found.problem


def test_a_board_s_job_may_leave_the_neck_out(tmp_path: Path) -> None:
    board, neck = pair(tmp_path)
    text = (tmp_path / "pair.yaml").read_text(encoding="utf-8")
    (tmp_path / "board_alone.yaml").write_text(text[: text.index("neck:")], encoding="utf-8")
    changed(board, "pair.yaml", "board_alone.yaml")
    assert problems(board, neck) == []


def test_a_drawn_headstock_is_the_same_from_another_folder(tmp_path: Path) -> None:
    shutil.copytree(DEMOS, tmp_path / "all")
    (tmp_path / "all" / "boards").mkdir()
    text = (DEMOS / "tenor_board.yaml").read_text(encoding="utf-8")
    moved = tmp_path / "all" / "boards" / "board.yaml"
    moved.write_text(text.replace("instruments/tenor.yaml", "../instruments/tenor.yaml"), encoding="utf-8")
    assert problems(moved, tmp_path / "all" / "tenor_neck.yaml") == []


def test_two_jobs_of_one_piece_are_refused_at_the_second() -> None:
    first, second = DEMOS / "tenor_neck.yaml", DEMOS / "tenor_neck_on_jig.yaml"
    for one, other in ((first, second), (second, first)):
        (found,) = problems(one, other)
        assert Path(found.file) == other
        assert "second job of a neck" in found.problem
        assert found.source.startswith("part")
    (same,) = problems(first, first)
    assert "second job" in same.problem


def test_a_left_handed_board_goes_on_no_right_handed_neck(tmp_path: Path) -> None:
    board, neck = pair(tmp_path)
    board.write_text(board.read_text(encoding="utf-8") + "handed: left\n", encoding="utf-8")
    (found,) = problems(board, neck)
    assert "left-handed" in found.problem
    assert found.source == "handed: left"


def test_a_jig_for_another_job_is_refused_at_its_for(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    assert problems(files["jig"], files["neck"], files["board"]) == []
    (found,) = problems(DEMOS / "tenor_jig.yaml", DEMOS / "tenor_board.yaml")
    assert Path(found.file).name == "tenor_jig.yaml"
    assert found.key == "for.board"
    assert "another board" in found.problem
    assert found.source.startswith("for:")


def test_a_job_that_no_jig_serves_is_not_planned_with_one(tmp_path: Path) -> None:
    files = JigJobs().write(tmp_path)
    changed(files["jig"], "for: {board: board.yaml, neck: neck.yaml}", "for: {neck: neck.yaml}")
    text = (DEMOS / "tenor_board.yaml").read_text(encoding="utf-8")
    board = tmp_path / "free.yaml"
    board.write_text(text.replace("instruments/tenor.yaml", "instrument.yaml"), encoding="utf-8")
    (found,) = problems(files["jig"], board)
    assert found.problem == "the jig serves no board"
