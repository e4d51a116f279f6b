"""The top of a blank from its thickness at six places: through each of them, and straight between."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.geometry.blank_top import BlankTop, blank_top, places_of

BOX = (-30.0, -32.0, 450.0, 32.0)
THICK = st.floats(5.0, 30.0)
SIX = st.tuples(THICK, THICK, THICK, THICK, THICK, THICK)


def heights(top: BlankTop, places: list[tuple[float, float]]) -> list[float]:
    x, y = np.array(places).T
    return [float(h) for h in top.at(x, y)]


@given(SIX)
def test_it_goes_through_what_was_measured(six: tuple[float, ...]) -> None:
    assert heights(blank_top(BOX, six), list(places_of(BOX))) == pytest.approx(six)


@given(SIX, st.floats(0, 1), st.floats(0, 1))
def test_no_place_of_the_blank_is_beyond_its_extremes(six: tuple[float, ...], u: float, v: float) -> None:
    top = blank_top(BOX, six)
    x0, y0, x1, y1 = BOX
    low, high = top.extremes(BOX)
    (h,) = heights(top, [(x0 + u * (x1 - x0), y0 + v * (y1 - y0))])
    assert low - 1e-9 <= h <= high + 1e-9


@given(st.floats(-1e-3, 1e-3), st.floats(-5e-3, 5e-3), st.floats(5, 30))
def test_a_plane_stays_a_plane(along: float, across: float, thick: float) -> None:
    def plane(x: float, y: float) -> float:
        return thick + along * x + across * y

    top = blank_top(BOX, tuple(plane(x, y) for x, y in places_of(BOX)))
    places = [(-30.0, -32.0), (450.0, 32.0), (100.0, 0.0), (333.0, -20.0)]
    assert heights(top, places) == pytest.approx([plane(x, y) for x, y in places])


def test_the_highest_place_is_one_of_the_six() -> None:
    six = (7.8, 7.9, 8.1, 7.8, 8.0, 8.05)
    assert blank_top(BOX, six).highest == (places_of(BOX)[2], 8.1)


def test_five_values_are_no_top() -> None:
    with pytest.raises(ValueError, match="six places"):
        blank_top(BOX, (8.0,) * 5)
