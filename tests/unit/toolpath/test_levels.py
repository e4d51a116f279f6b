"""Passes are even, none deeper than the bit bears, and the last is the floor itself."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.toolpath.levels import levels


def test_passes_are_even_and_end_at_the_floor() -> None:
    assert [4.0, 2.0, 0.0] == pytest.approx(levels(6.0, 0.0, 2.5))  # 6 mm in passes of at most 2.5: three of 2


def test_a_depth_of_whole_passes_takes_no_pass_more() -> None:
    assert [5.85, 5.7, 5.55, 5.4] == pytest.approx(levels(6.0, 5.4, 0.15))


def test_a_height_that_must_be_hit_is_hit_exactly() -> None:
    assert 1.5 in levels(6.0, -0.2, 3.175, also=[1.5])


def test_a_height_outside_the_cut_changes_nothing() -> None:
    assert levels(6.0, 2.0, 1.0) == levels(6.0, 2.0, 1.0, also=[7.0, 6.0, 2.0, -1.0])


def test_nothing_above_the_floor_takes_no_pass() -> None:
    assert [] == levels(6.0, 6.0, 1.0)
    assert [] == levels(6.0, 6.5, 1.0)


@given(st.floats(0.5, 30), st.floats(0.05, 10), st.lists(st.floats(-2, 30), max_size=3))
def test_no_pass_is_deeper_than_asked_and_heights_only_fall(depth: float, pass_depth: float, also: list[float]) -> None:
    found = levels(depth, 0.0, pass_depth, also)
    drops = [a - b for a, b in zip([depth, *found], found, strict=False)]
    assert 0.0 == found[-1]
    assert 0.0 < min(drops)
    assert pass_depth * (1 + 2e-6) + 1e-9 >= max(drops)
