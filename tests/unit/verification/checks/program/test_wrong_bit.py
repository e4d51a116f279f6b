"""The bit that the text names is the bit that the job gives."""

from __future__ import annotations

from tests.support.words_builder import END, HEADER, changed, good, inputs, messages, scored
from toolpaths.verification.checks.program.wrong_bit import check
from toolpaths.verification.finding import Severity

BIT = "(Bit 2: scorer, flat 0.600 mm, 2 flutes, 15.000 mm out of the collet)\n"


def test_the_right_bit_passes() -> None:
    assert [] == check(inputs())


def test_another_bit_is_a_stop() -> None:
    text = changed(changed(good(), "T2\n", "T3\n"), BIT, "(Bit 3: quarter, flat 6.350 mm)\n")
    (found,) = check(inputs(text))
    assert Severity.stop == found.severity
    assert "the program cuts with other bits. Use the job's. Program: quarter; job: scorer" == found.message
    assert text.split("\n").index("G1 Z6.5 F80") + 1 == found.program_line


def test_a_number_that_the_job_does_not_have_is_a_stop() -> None:
    found = check(inputs(changed(good(), "T2\n", "T9\n")))
    assert ["the program calls bit 9, which is not in the job. Use scorer (bit 2)"] == messages(found)
    assert good().split("\n").index("T2") + 1 == found[0].program_line


def test_no_bit_is_a_stop() -> None:
    found = check(inputs(changed(changed(good(), "T2\n", ""), BIT, "")))
    assert "no bit is named before this cut. Name scorer (bit 2) before it" == found[0].message


def test_a_bit_named_by_a_comment_alone_is_named() -> None:
    assert [] == check(inputs(changed(good(), "T2\n", "")))


def test_a_header_that_announces_another_name_is_a_stop() -> None:
    (found,) = check(inputs(changed(good(), "Bit 2: scorer,", "Bit 2: scorer2,")))
    assert ("Header: scorer2", "job: scorer") == (found.said.measured, found.said.limit)


def test_a_header_that_announces_nothing_is_a_stop() -> None:
    (found,) = check(inputs(changed(good(), BIT, "")))
    assert "the program cuts with bit 2, scorer, which its header does not name" in found.message


def test_a_header_may_not_announce_a_bit_that_the_job_does_not_have() -> None:
    text = changed(good(), BIT, BIT + "(Bit 9: drill, flat)\n")
    assert ["the header names bit 9, drill, which is not in the job. Write the programs again"] == messages(
        check(inputs(text))
    )


TWO = changed(HEADER, BIT, BIT + "(Bit 3: quarter, flat 6.350 mm)\n")
CHANGE = "M5\nT3\nS18000 M3\nG4 P4\n"


def test_two_bits_in_the_jobs_order_pass() -> None:
    assert [] == check(inputs(TWO + scored() + CHANGE + scored() + END, expected=("scorer", "quarter")))


def test_two_bits_in_another_order_are_a_stop() -> None:
    text = TWO + scored() + CHANGE + scored() + END
    (found,) = check(inputs(text, expected=("quarter", "scorer")))
    assert "Program: scorer, quarter; job: quarter, scorer" in found.message


def test_a_bit_of_the_job_that_never_cuts_is_a_stop() -> None:
    (found,) = check(inputs(TWO + scored() + END, expected=("scorer", "quarter")))
    assert "Program: scorer; job: scorer, quarter" in found.message


def test_a_bit_that_is_only_named_and_never_goes_down_does_not_count() -> None:
    assert [] == check(inputs(TWO + "T3\n" + "G0 X1 Y1\n" + "T2\n" + scored() + END))
