"""A program says which job it belongs to and where it stands in the set."""

from __future__ import annotations

import pytest

from tests.words_builder import changed, evidence, good, machine, messages
from toolpaths.checks.header import check
from toolpaths.core.finding import NEVER_ACCEPTED, Severity

JOB = "(neckpath 0.1.0, job 3f2a9c1b7d20)\n"
PLACE = "(Program 2 of 4, setup face)\n"


def test_a_header_that_fits_passes() -> None:
    assert [] == check(evidence())


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (JOB, "(neckpath 0.1.0, job 3f2a9c1b7d21)\n", "written from job 3f2a9c1b7d21, and the job now is 3f2a9c1b7d20"),
        (JOB, "", "does not say which job the program was written from; job 3f2a9c1b7d20 was expected"),
        (PLACE, "(Program 3 of 4, setup face)\n", "says program 3 of 4, and program 2 of 4 was expected"),
        (PLACE, "(Program 2 of 5, setup face)\n", "says program 2 of 5, and program 2 of 4 was expected"),
        (PLACE, "(Program 2 of 4, setup back)\n", "says setup back, and setup face was expected"),
    ],
)
def test_a_header_that_is_missing_or_contradicts_is_a_stop(old: str, new: str, says: str) -> None:
    (found,) = check(evidence(changed(good(), old, new)))
    assert Severity.stop == found.severity
    assert says in found.message


def test_a_program_without_its_place_is_told_what_was_expected() -> None:
    assert [
        "the header does not say which program of the set this is; program 2 of 4 was expected",
        "the header does not say which setup this is for; setup face was expected",
    ] == messages(check(evidence(changed(good(), PLACE, ""))))


def test_another_version_of_the_program_writer_is_no_fault() -> None:
    assert [] == check(evidence(changed(good(), "neckpath 0.1.0", "neckpath 0.2.1")))


def test_a_header_may_never_be_accepted() -> None:
    assert "header" in NEVER_ACCEPTED


def test_where_no_comments_are_taken_it_says_which_file_to_look_for() -> None:
    (found,) = check(evidence(changed(good(), JOB, ""), on=machine(comments=False)))
    assert "write the set again, and keep 02-face-scorer.ngc.txt beside the program" in found.message
