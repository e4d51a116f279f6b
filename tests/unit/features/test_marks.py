"""The measuring list of a whole job: every place once, in order of work, each with its own mark."""

from __future__ import annotations

from pathlib import Path

import pytest

from toolpaths.features.feature import features_of
from toolpaths.found.meaning import Meaning
from toolpaths.job.changes import Changes
from toolpaths.pipeline.as_found import history_of
from toolpaths.pipeline.build import lay_out_loaded
from toolpaths.pipeline.load import load_job

ROOT = Path(__file__).parents[3]
JOBS = [
    "demo_jobs/tenor_board.yaml",
    "demo_jobs/parlour_board_inch.yaml",
    "demo_jobs/compound_board.yaml",
    "demo_jobs/tenor_jig.yaml",
    "tests/cases/two_sided_neck.yaml",
]


@pytest.mark.parametrize("job", JOBS)
def test_marks_are_numbered_in_the_order_of_the_work(job: str) -> None:
    marks = history_of(load_job(ROOT / job)).marks
    assert list(range(1, len(marks) + 1)) == [m.number for m in marks]
    assert sorted(m.after for m in marks) == [m.after for m in marks]
    assert 6 == sum(m.meaning is Meaning.blank for m in marks)
    assert all(m.before and m.after == 0 and not m.feature for m in marks[:6])


@pytest.mark.parametrize("job", JOBS)
def test_each_feature_is_measured_once_after_the_last_of_its_programs(job: str) -> None:
    history = history_of(load_job(ROOT / job))
    last = {o.feature: plan.number + 1 for plan in history.plans for o in plan.operations}
    for mark in history.marks:
        if not mark.before:
            assert last[mark.feature] == mark.after
    named = {m.feature for m in history.marks}
    for context in history.design.contexts.values():
        for feature in features_of(context.setup):
            if feature.key not in ("screw_holes",):  # nothing is fitted into them
                assert feature.name in named, feature.name


@pytest.mark.parametrize(
    "changes", [Changes(only="marker_pockets"), Changes(start="marker_pockets"), Changes(session=20)]
)
def test_a_mark_keeps_its_number_whatever_part_of_the_job_is_written(changes: Changes) -> None:
    loaded = load_job(ROOT / JOBS[0])
    assert history_of(loaded).marks == lay_out_loaded(loaded, changes).history.marks
