"""Lengths may be typed as people type them, and nothing else passes for one."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.common.units import Units, decimal_comma, length, show, show_at_least, show_at_most, show_chip, show_fine

WANTED = "write a length, such as 6.35, 6.35 mm or 1/4 in"
NOT_ONE = "not a length; write a number, or text such as 6.35 mm or 1/4 in"


# 1 in = 25.4 mm exactly: the international inch of 1959.
@pytest.mark.parametrize(
    ("value", "units", "mm"),
    [
        (6.35, "mm", 6.35),
        (2, "in", 50.8),
        (-1.5, "mm", -1.5),
        (0, "in", 0),
        ("6.35", "mm", 6.35),
        ("6.35", "in", 161.29),
        ("6.35 mm", "in", 6.35),
        ("6.35mm", "in", 6.35),
        ("1/4 in", "mm", 6.35),
        ("1/4", "in", 6.35),
        ("1/4", "mm", 0.25),
        ("25 1/2 in", "mm", 647.7),
        ("-1 1/2 in", "mm", -38.1),
        ('1/16"', "mm", 1.5875),
        ("2 inch", "mm", 50.8),
        ("2 inches", "mm", 50.8),
        ("+.5 in", "mm", 12.7),
        ("5.", "mm", 5),
        ("- 3 mm", "mm", -3),
        ("  7\t", "mm", 7),
        ("12 3/8 mm", "mm", 12.375),
    ],
)
def test_a_length_in_millimetres(value: Any, units: Any, mm: float) -> None:
    assert mm == pytest.approx(length(value, units), abs=1e-12)


@pytest.mark.parametrize(
    ("value", "problem"),
    [
        (True, WANTED),
        (None, WANTED),
        ([1], WANTED),
        ("", NOT_ONE),
        ("wide", NOT_ONE),
        ("1 cm", NOT_ONE),
        ("1 MM", NOT_ONE),
        ("1e3", NOT_ONE),
        ("nan", NOT_ONE),
        ("inf", NOT_ONE),
        ("1,5", "write 1.5 with a point: a comma separates entries"),
        ("1/2/3", NOT_ONE),
        ("1.5/2", NOT_ONE),
        ("1 2", NOT_ONE),
        ("--1", NOT_ONE),
        (".", NOT_ONE),
        ("1 mm mm", NOT_ONE),
        ("9" * 41, NOT_ONE),
        ("1/0 in", "a fraction over 0 is not a length"),
        ("3 1/0", "a fraction over 0 is not a length"),
        (float("nan"), "a length must be a number"),
        (float("inf"), "a length must be a number"),
        (float("-inf"), "a length must be a number"),
    ],
)
def test_anything_else_is_refused_in_words(value: Any, problem: str) -> None:
    with pytest.raises(ValueError) as caught:
        length(value, "mm")
    assert problem == str(caught.value)


@pytest.mark.parametrize(
    ("mm", "units", "digits", "text"),
    [
        (6.35, "mm", None, "6.35 mm"),
        (6.35, "in", None, "0.250 in"),
        (6.35, "in", 4, "0.2500 in"),
        (0.5, "mm", 0, "0 mm"),
        (-1.6, "mm", 3, "-1.600 mm"),
        (25.4, "in", 1, "1.0 in"),
    ],
)
def test_lengths_are_shown_with_their_unit(mm: float, units: Any, digits: int | None, text: str) -> None:
    assert text == show(mm, units, digits)


@given(
    st.floats(-1e-2, 0),
    st.sampled_from(["mm", "in"]),
    st.sampled_from([show, show_fine, show_chip, show_at_least, show_at_most]),
)
def test_no_length_is_shown_as_less_than_nothing_by_nothing(mm: float, units: Units, shown: Any) -> None:
    figure = shown(mm, units).split()[0]
    assert float(figure) < 0 or not figure.startswith("-")


# Beside each: what can be measured there, common practice, no source.
@pytest.mark.parametrize(
    ("shown", "mm", "inch"),
    [
        (show, "0.06 mm", "0.002 in"),  # a length by calipers
        (show_fine, "0.055 mm", "0.0022 in"),  # a clearance, a runout, a correction: by feel, gauge and micrometer
        (show_chip, "0.0551 mm", "0.00217 in"),  # a chip: computed
    ],
)
def test_digits_follow_what_can_be_measured(shown: Any, mm: str, inch: str) -> None:
    assert (mm, inch) == (shown(0.0551, "mm"), shown(0.0551, "in"))


@given(
    whole=st.integers(0, 999),
    part=st.from_regex(r"[0-9]{1,6}", fullmatch=True),
    unit=st.sampled_from(["", " mm", "in"]),
)
def test_a_decimal_comma_is_answered_with_the_point(whole: int, part: str, unit: str) -> None:
    text = f"{whole},{part}{unit}"
    assert decimal_comma(text).startswith(f"write {whole}.{part} with a point")
    # Three digits behind it may be thousands: 1,000 is not answered with 1.000 alone.
    assert (len(part) == 3 and whole > 0) == (f"or {whole}{part} without one" in decimal_comma(text))
    with pytest.raises(ValueError, match="with a point"):
        length(text, "mm")


@pytest.mark.parametrize("text", ["0.5", "5", "1,", ",5", "1,2,3", "fret 1,2", "a,5", ""])
def test_what_is_no_number_with_one_comma_is_not_answered_so(text: str) -> None:
    assert "" == decimal_comma(text)
