"""The last lines of `write`: ten at most on 80 columns, with verdict, page, time, files and the next step."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made
from toolpaths.common.units import length
from toolpaths.job.changes import Changes
from toolpaths.reports.text.ending import air_lift, ending
from toolpaths.reports.text.wrapped import wrapped

DEMOS = sorted((Path(__file__).parents[4] / "demo_jobs").glob("*_board*.yaml"))


@pytest.mark.parametrize("job", DEMOS, ids=lambda p: p.stem)
def test_they_are_ten_lines_with_what_matters(job: Path) -> None:
    outcome = made(job, Changes(pitch=0.5))
    outcome = replace(outcome, path=Path("demo_jobs") / job.name)
    folder = Path("out") / job.stem
    lines = ending(outcome, folder)
    assert 10 >= sum(len(wrapped(line, 80)) for line in lines)
    said = "\n".join(lines)
    for wanted in (
        "May be cut",
        "preview.html",
        "sheet.html",
        "handwork.html",
        "min of cutting",
        outcome.programs[-1].name,
    ):
        assert wanted in said
    assert f"neckpath write demo_jobs/{job.name} --air {air_lift(outcome)}" in said


@pytest.mark.parametrize("job", DEMOS, ids=lambda p: p.stem)
def test_the_lift_it_proposes_clears_the_blank(job: Path) -> None:
    outcome = made(job, Changes(pitch=0.5))
    lift = length(air_lift(outcome), outcome.job.units)
    top = max(s.context.top for s in outcome.setups)
    assert top + 5 <= lift + 1e-9 <= top + 5.1 + 6.35 + 1e-6


def test_the_next_step_carries_the_options_of_this_one() -> None:
    outcome = made(DEMOS[-1], Changes(pitch=0.5))
    lines = ending(replace(outcome, changes=Changes(bits=(("scorer", "0.8"),), only="score_lines")), Path("out"))
    assert any("--bit scorer=0.8 --only score_lines --air" in line for line in lines)


def test_after_an_air_run_the_next_step_is_to_write_it_without() -> None:
    lines = ending(replace(made(DEMOS[-1], Changes(pitch=0.5)), changes=Changes(air=20.0)), Path("out"))
    assert any("without --air" in line for line in lines)
