"""Lengths may be typed as people type them, and nothing else passes for one."""

from __future__ import annotations

from typing import Any

import pytest

from toolpaths.common.units import length, show

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
        ("1,5", NOT_ONE),
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
