"""What follows from a measured value: said for every mark, whichever way it is off."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.measured_job import board, marks
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.job.job import Job
from toolpaths.pipeline.load import load_job
from toolpaths.reports.text.found_words import UNEVEN, follows, if_off, uneven_faces


@pytest.fixture(scope="module")
def listed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, tuple[Mark, ...]]:
    path: Path = board(tmp_path_factory.mktemp("job"))
    return load_job(path).job, marks(path)


def told(mark: Mark, value: float, every: tuple[Mark, ...], job: Job) -> str:
    """What follows from one value, where every other one is as asked."""
    found = {m.number: m.figure.value for m in every if m.meaning is not Meaning.look}
    return follows(mark, {**found, mark.number: value}, job)


def test_what_says_something_only_together_waits_for_the_rest(listed: tuple[Job, tuple[Mark, ...]]) -> None:
    job, every = listed
    corner = next(m for m in every if m.meaning is Meaning.face)
    assert follows(corner, {corner.number: corner.figure.value - 0.05}, job) == "used once all 4 places are measured"


def test_what_nothing_comes_after_is_for_the_hands(listed: tuple[Job, tuple[Mark, ...]]) -> None:
    job, every = listed
    line = next(m for m in every if m.meaning is Meaning.bit and m.bit == "scorer")
    assert if_off(line) == "by hand"
    assert "later" not in told(line, line.figure.value + 0.3, every, job)


def test_a_value_within_its_tolerance_is_fine(listed: tuple[Job, tuple[Mark, ...]]) -> None:
    job, every = listed
    for mark in (m for m in every if m.meaning not in (Meaning.look, Meaning.blank)):
        assert told(mark, mark.figure.value, every, job).startswith("fine")


@given(off=st.floats(0.31, 0.9), up=st.booleans())
@settings(max_examples=20)
def test_a_value_beyond_it_says_by_how_much_and_what_to_do(
    off: float, up: bool, listed: tuple[Job, tuple[Mark, ...]]
) -> None:
    job, every = listed
    for mark in (m for m in every if m.meaning not in (Meaning.look, Meaning.blank, Meaning.sides)):
        words = told(mark, mark.figure.value + (off if up else -off), every, job)
        assert f"{off:.2f} mm too {'much' if up else 'little'}" in words
        assert len(words) > 30


def test_too_small_a_part_is_called_lost(listed: tuple[Job, tuple[Mark, ...]]) -> None:
    job, every = listed
    part = next(m for m in every if m.figure.kind == "standing")
    assert "the part is lost" in told(part, part.figure.value - 0.7, every, job)
    assert "lost" not in told(part, part.figure.value - 0.3, every, job)
    assert "take the rest off by hand" in told(part, part.figure.value + 0.3, every, job)


def test_the_sheet_says_of_every_mark_what_a_wrong_value_means(listed: tuple[Job, tuple[Mark, ...]]) -> None:
    assert all(if_off(mark) for mark in listed[1])


@given(st.lists(st.floats(-0.3, 0.3), min_size=4, max_size=4))
def test_corners_that_differ_by_more_than_a_tenth_say_that_something_moved(
    listed: tuple[Job, tuple[Mark, ...]], off: list[float]
) -> None:
    job, every = listed
    corners = [m for m in every if m.meaning is Meaning.face and m.later]
    together = [m for m in corners if m.number in corners[0].together]
    found = {m.number: m.figure.value + by for m, by in zip(together, off, strict=True)}
    said = uneven_faces(every, found, job.units)
    apart = max(found.values()) - min(found.values())
    assert bool(said) == (apart > UNEVEN)
    assert all(f"differ by {apart:.2f} mm" in one for one in said)
    del found[together[0].number]
    assert [] == uneven_faces(every, found, job.units)
