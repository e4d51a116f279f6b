"""Lengths against pint, a general-purpose library of units."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.core.units import MM_PER_INCH, length, show

UNITS = pint.UnitRegistry()
Unit = Literal["mm", "in"]


def pints(number: float, unit: str) -> float:
    return float(UNITS.Quantity(number, unit).to("mm").magnitude)


def test_an_inch_is_what_pint_says() -> None:
    assert pints(1, "inch") == pytest.approx(MM_PER_INCH, rel=1e-15)


@given(st.floats(-1e6, 1e6), st.sampled_from(["mm", "in"]))
def test_numbers_are_converted_as_pint_converts_them(number: float, unit: Unit) -> None:
    assert pints(number, unit) == pytest.approx(length(number, unit), rel=1e-14)


@given(
    st.decimals(-10_000, 10_000, places=4),
    st.sampled_from(["mm", "in", "inch", "inches"]),
    st.sampled_from(["mm", "in"]),
)
def test_text_with_its_own_unit_is_converted_as_pint_converts_it(number: object, own: str, units: Unit) -> None:
    assert pints(float(str(number)), own) == pytest.approx(length(f"{number:f} {own}", units), rel=1e-14)


@given(st.integers(0, 90), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]), st.sampled_from(["mm", "in"]))
def test_fractions_are_converted_as_pint_converts_them(whole: int, over: int, under: int, unit: Unit) -> None:
    expected = pints(float(whole + Fraction(over, under)), unit)
    assert expected == pytest.approx(length(f"{whole} {over}/{under} {unit}", "mm"), rel=1e-14)


@given(st.floats(-5000, 5000), st.sampled_from(["mm", "in"]), st.integers(1, 6))
def test_what_is_shown_reads_as_the_same_length_in_pint(mm: float, unit: Unit, digits: int) -> None:
    shown = float(UNITS.Quantity(show(mm, unit, digits)).to("mm").magnitude)
    half_digit = 0.5 * 10.0**-digits * pints(1, unit)
    assert mm == pytest.approx(shown, abs=half_digit * (1 + 1e-6) + 1e-9)
