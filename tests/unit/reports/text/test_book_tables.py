"""Words of the build book: differences with their sign, digits as typed, a blank between its limits."""

from __future__ import annotations

import pytest

from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.instrument.handwork.handwork import Figure, Measure
from toolpaths.reports.text.book_tables import as_measured, off_words


def mark(value: float, within: tuple[float, float], meaning: Meaning = Meaning.part) -> Mark:
    figure = Figure("thickness", value, "face", (0.0, 0.0), within=within)
    return Mark(1, "face", "plane", "planer", 1, Measure("it", (figure,)), meaning)


@pytest.mark.parametrize(
    ("mm", "units", "shown"),
    [
        (5.94, "mm", "5.94 mm"),
        (5.945, "mm", "5.945 mm"),
        (6.0, "mm", "6.00 mm"),
        (0.234 * MM_PER_INCH, "in", "0.234 in"),
        (0.2345 * MM_PER_INCH, "in", "0.2345 in"),
    ],
)
def test_a_length_has_the_digits_that_it_was_measured_with(mm: float, units: Units, shown: str) -> None:
    assert as_measured(mm, units) == shown


@pytest.mark.parametrize(
    ("value", "within", "found", "off"),
    [
        (6.0, (-0.1, 0.1), 5.94, "-0.06"),
        (6.0, (-0.1, 0.1), 6.205, "+0.205"),
        (356.3372, (-0.1, 0.1), 356.34, "0.00"),
        (6.0, (-0.1, 0.1), 5.9999, "0.000"),
        (4.0, (0.0, 0.05), 4.03, "+0.03 from 4.00"),
        (4.0, (0.0, 0.05), 4.0, "0.00"),
    ],
)
def test_a_difference_has_its_sign_and_says_from_what(
    value: float, within: tuple[float, float], found: float, off: str
) -> None:
    assert off_words(mark(value, within), found, "mm") == off


@pytest.mark.parametrize(("found", "off"), [(7.9, "within"), (8.15, "+0.05 past 8.10"), (7.7, "-0.10 past 7.80")])
def test_a_blank_may_lie_anywhere_between_its_limits(found: float, off: str) -> None:
    assert off_words(mark(8.1, (-0.3, 0.0), Meaning.blank), found, "mm") == off


def test_a_difference_in_inches() -> None:
    inch = MM_PER_INCH
    assert off_words(mark(0.25 * inch, (-0.004 * inch, 0.004 * inch)), 0.247 * inch, "in") == "-0.003"
