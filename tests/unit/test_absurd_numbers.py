"""A slip of the keys, such as a stock of a kilometre, is told at once with its place, and is no work without end.

The limits are common practice, no source: far above and far below anything that a neck or a board comes to.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from toolpaths.common.errors import FeatureError, JobError
from toolpaths.job.changes import Changes
from toolpaths.job.files.machine_file import read_machine
from toolpaths.pipeline.build import lay_out
from toolpaths.toolpath.toolpath import MOST_STEPS, ToolpathBuilder

ROOT = Path(__file__).parents[2]
CASES = ROOT / "tests" / "cases"


def refused(folder: Path, case: str, old: str, new: str) -> list[str]:
    """`LINE: key: problem` of each problem of a case with one thing changed."""
    text = (CASES / f"{case}.yaml").read_text(encoding="utf-8")
    assert 1 == text.count(old)
    path = folder / "job.yaml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        lay_out(path, Changes())
    return [f"{p.line}: {p.key}: {p.problem}" for p in caught.value.problems]


@pytest.mark.parametrize(
    ("case", "old", "new", "problem"),
    [
        ("short_board", "{length: 124,", "{length: 1240000,",
         "16: stock.length: must not be more than 1000000 mm"),
        ("short_board", "{length: 124,", "{length: 3100,", "16: stock.length: must be from 5 mm to 3000 mm"),
        ("short_board", "{length: 124,", "{length: 0.1,", "16: stock.length: must be from 5 mm to 3000 mm"),
        ("short_board", "width: 70,", "width: 7000,", "16: stock.width: must be from 5 mm to 1000 mm"),
        ("inch_board", "{length: 4.75,", "{length: 120,", "18: stock.length: must be from 0.1969 in to 118.1 in"),
        ("short_board", "scale_length: 300", "scale_length: 3e5",
         "8: instrument.scale_length: must be from 20 mm to 3000 mm"),
        ("short_board", "5: 44}", "5: 44000}", "12: instrument.board.width.5: must be from 1 mm to 500 mm"),
        ("short_board", "diameter: 0.5,", "diameter: 0.005,",
         "19: bits.scorer.diameter: must be from 0.05 mm to 200 mm"),
        ("short_board", "cutting_length: 2,", "cutting_length: 1e-8,",
         "19: bits.scorer.cutting_length: must be from 0.05 mm to 200 mm"),
        ("short_board", "{bit: scorer, depth: 0.4}", "{bit: scorer, depth: 0.4, pass_depth: 1e-6}",
         "32: setups[0].features[1].score_lines.pass_depth: must be from 0.005 mm to 50 mm"),
        ("short_board", "{bit: planer, leave: 5}", "{bit: planer, leave: 5, step_over: 1e-6}",
         "31: setups[0].features[0].plane.step_over: must be at least 0.01"),
        ("short_board", "diameter: 5, depth: 1.5", "diameter: 8000, depth: 1.5",
         "33: marker_pockets: it reaches 3966 mm past the blank"),
        ("short_board", "diameter: 5, depth: 1.5", "diameter: 30000, depth: 1.5",
         "33: marker_pockets: it reaches 14966 mm past the blank"),
    ],
)  # fmt: skip
def test_a_number_that_cannot_be_meant_is_told_with_its_place(
    tmp_path: Path, case: str, old: str, new: str, problem: str
) -> None:
    assert problem in refused(tmp_path, case, old, new)


def test_a_neck_s_headstock_that_is_not_there_is_told_though_nothing_of_the_job_cuts_it(tmp_path: Path) -> None:
    text = (CASES / "rod_neck.yaml").read_text(encoding="utf-8")
    sound = "headstock: {length: 60, width: 56, thickness: 14, flare: 15}"
    at = text.index(sound)
    path = tmp_path / "job.yaml"
    path.write_text(text.replace(sound, "headstock: {drawing: lost.dxf, thickness: 14}"), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        lay_out(path, Changes())
    (problem,) = caught.value.problems
    assert (text[:at].count("\n") + 1, "instrument.neck.headstock.drawing") == (problem.line, problem.key)
    assert "there is no file `lost.dxf`" in problem.problem


def test_a_board_whose_sides_cross_behind_the_nut_is_refused(tmp_path: Path) -> None:
    problems = refused(tmp_path, "fanned_board", "nut: 50, 12: 58", "nut: 1.25, 12: 58")
    assert any("score_lines: its shape, or the board's, crosses itself" in p for p in problems)


def test_a_heel_before_the_nut_makes_no_neck(tmp_path: Path) -> None:
    assert ["17: instrument.neck: the neck's outline is not one piece"] == [
        *refused(tmp_path, "rod_neck", "from: 140, to: 170", "from: -140, to: 170")
    ]


def test_a_feature_of_more_moves_than_anyone_would_run_is_refused() -> None:
    pen = ToolpathBuilder(safe=5.0)
    for i in range(MOST_STEPS):
        pen.cut(float(i), 1.0, 0.0, 100.0)
    with pytest.raises(FeatureError, match="more than 100000 moves"):
        pen.cut(-1.0, 1.0, 0.0, 100.0)


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("chord_tolerance: 30000", "chord_tolerance: must be from 0.0001 mm to 0.1 mm"),
        ("corner_deviation: 1e-9", "corner_deviation: must be from 0.0001 mm to 1 mm"),
        ("bed_allowance: 200", "bed_allowance: must be from 0 mm to 20 mm"),
        ("runout: 20", "runout: must be from 0 mm to 2 mm"),
    ],
)
def test_a_machine_s_figure_that_cannot_be_meant_is_told(tmp_path: Path, line: str, problem: str) -> None:
    key = line.split(":")[0]
    sound = (ROOT / "machines" / "bench-router.yaml").read_text(encoding="utf-8").splitlines()
    path = tmp_path / "own.yaml"
    path.write_text("\n".join([*(row for row in sound if not row.startswith(key)), line]), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_machine(path)
    assert [problem] == [f"{p.key}: {p.problem}" for p in caught.value.problems]
