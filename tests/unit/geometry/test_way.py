"""Lengths along ways, and how few pieces stand for one: against closed forms and dense places of the same way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString

from toolpaths.geometry.way import distances, followed, length_of, spaced, straightened


def test_lengths_are_those_of_the_plan() -> None:
    # Right triangles of sides 3, 4, 5 and 5, 12, 13; what stands upright adds nothing.
    way = np.array([[0, 0, 7], [3, 4, 1], [3, 4, 9], [8, 16, 9.0]])
    assert [0, 5, 5, 18] == pytest.approx(distances(way).tolist())
    assert length_of(way) == pytest.approx(18)
    assert length_of(way[:1]) == 0.0


@given(seed=st.integers(0, 10_000))
def test_a_way_is_as_long_as_the_reference_library_says(seed: int) -> None:
    way = np.random.default_rng(seed).uniform(-50, 50, (20, 4))
    assert length_of(way) == pytest.approx(LineString(way[:, :2]).length)


@given(seed=st.integers(0, 10_000))
def test_straight_pieces_stay_within_a_thousandth_of_all_that_was_left_out(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0, 300, 400))
    a, b, c = rng.uniform(0.001, 0.3, 3)
    y, z = 10 * a * np.sin(x * b) + 0.002 * rng.standard_normal(400), 8 * c * np.cos(x * a) + 0.05 * np.abs(x - 150)
    row = np.column_stack([x, y, z, np.full(400, 20.0)])
    short = straightened(row)
    assert np.array_equal(row[[0, -1]], short[[0, -1]])
    for k in (1, 2):
        # A slope of 1 makes of 0.001 across 0.0014 upright.
        assert np.abs(np.interp(x, short[:, 0], short[:, k]) - row[:, k]).max() <= 0.001 * 1.5


def test_a_straight_row_keeps_its_ends_only() -> None:
    x = np.linspace(0, 300, 151)
    assert 2 == len(straightened(np.column_stack([x, 3 + 0.01 * x, 15 + 0.005 * x, np.full(151, 22.0)])))


@given(kink=st.floats(3.0, 97.0), change=st.floats(-0.5, 0.5), curve=st.floats(0.0, 0.05), step=st.floats(1.0, 9.0))
def test_places_come_closer_where_the_way_bends(kink: float, change: float, curve: float, step: float) -> None:
    def heights(x: np.ndarray) -> np.ndarray:
        return np.stack([change * np.abs(x - kink) / 2, curve * (x - 40) ** 2 / 2, 0.3 * x])

    found = followed(heights, np.linspace(0, 100, max(2, math.ceil(100 / step)) + 1))
    assert np.all(np.diff(found) > 0)
    x = np.linspace(0, 100, 20_001)
    for way, straight in zip(heights(x), heights(found), strict=True):
        # A piece across the kink may be as long as 0.04 mm.
        assert np.abs(np.interp(x, found, straight) - way).max() <= 0.002 + abs(change) * 0.01
    # Where nothing bends there are no more.
    assert 11 == len(followed(lambda x: 0.3 * x[None], np.linspace(0, 100, 11)))


def test_of_two_places_that_are_one_the_higher_stays() -> None:
    way = np.array([[0, 0, 1, 9], [0, 1, 2, 9], [0, 1.002, 2.5, 9], [0, 2, 1, 9], [0, 2.004, 1, 9.0]])
    assert [0, 1.002, 2, 2.004] == spaced(way)[:, 1].tolist(), "both ends stay"
