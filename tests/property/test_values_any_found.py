"""Whatever is measured within its tolerance: the job can be laid out, and programs that are cut keep their bytes."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.measured_job import COARSE, marks, tell
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.job.files.found_file import found_path
from toolpaths.pipeline.build import ProgramSet, lay_out

CASES = Path(__file__).parents[1] / "cases"
SLOW = ("inch_board", "two_sided_neck", "neck_faces", "headstock")
JOBS = ["short_board", *(pytest.param(name, marks=pytest.mark.slow) for name in SLOW)]


@pytest.fixture(scope="module", params=JOBS)
def listed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, tuple[Mark, ...]]:
    job = tmp_path_factory.mktemp("job") / f"{request.param}.yaml"
    shutil.copy(CASES / job.name, job)
    for folder in ("drawings", "necks"):
        if (CASES / folder).exists():
            shutil.copytree(CASES / folder, job.parent / folder)
    return job, marks(job)


@given(data=st.data())
@settings(max_examples=3)
def test_any_values_within_tolerance(data: st.DataObject, listed: tuple[Path, tuple[Mark, ...]]) -> None:
    job, every = listed
    steps = sorted({m.after for m in every})
    found: dict[str, float] = {}
    before: ProgramSet | None = None
    for step in data.draw(st.lists(st.sampled_from(steps), min_size=1, max_size=3, unique=True).map(sorted)):
        # What programs to come want follows what was found before.
        known = every if before is None else before.history.marks
        for mark in (m for m in known if m.after <= step and m.name not in found and m.meaning is not Meaning.look):
            low, high = mark.figure.within
            found[mark.name] = max(mark.figure.value + data.draw(st.floats(low, high)), 0.0)
        tell(job, found)
        after = lay_out(job, COARSE)
        if before is not None:
            cut = before.history.values.programs_cut
            assert [p.text for _, p in before.own[:cut]] == [p.text for _, p in after.own[:cut]]
        before = after
    found_path(job).unlink()
