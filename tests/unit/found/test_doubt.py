"""Values that cannot be true are told from those that are only wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.measured_job import board, marks
from toolpaths.found.doubt import doubt
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.job.job import Job
from toolpaths.pipeline.load import load_job


@pytest.fixture(scope="module")
def listed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, tuple[Mark, ...]]:
    path: Path = board(tmp_path_factory.mktemp("job"))
    return load_job(path).job, marks(path)


@given(off=st.floats(-0.9, 0.9), data=st.data())
@settings(max_examples=60)
def test_up_to_a_millimetre_off_is_believed(
    off: float, data: st.DataObject, listed: tuple[Job, tuple[Mark, ...]]
) -> None:
    job, every = listed
    mark = data.draw(st.sampled_from([m for m in every if m.meaning not in (Meaning.look, Meaning.bit)]))
    assert doubt(mark, mark.figure.value + off, job) is None


@given(off=st.floats(1.4, 50.0), up=st.booleans(), data=st.data())
@settings(max_examples=60)
def test_far_off_is_a_slip(off: float, up: bool, data: st.DataObject, listed: tuple[Job, tuple[Mark, ...]]) -> None:
    job, every = listed
    mark = data.draw(st.sampled_from([m for m in every if m.meaning is not Meaning.look]))
    assert doubt(mark, mark.figure.value + (off if up else -off), job) is not None


def test_a_cut_is_never_much_narrower_than_its_bit(listed: tuple[Job, tuple[Mark, ...]]) -> None:
    job, every = listed
    for mark in (m for m in every if m.meaning is Meaning.bit):
        cuts = job.bits[mark.bit].cut_diameter
        assert (doubt(mark, cuts - 0.11, job) is None) == (mark.figure.value < cuts)
