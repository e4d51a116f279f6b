"""The arc floor is a circle through three heights. Check numbers: Pythagorean triples, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolpaths.target_shape.demand import ArcFloor

# A circle of radius 5 about (0, 14): lowest at 9, and at 10 three to each side (3, 4, 5).
ARC = ArcFloor(-3.0, 3.0, 10.0, 9.0)


def heights(floor: ArcFloor, *xs: float) -> list[float]:
    return list(floor.height(np.array(xs), np.zeros(len(xs))))


def test_it_goes_through_both_ends_and_the_middle() -> None:
    assert [10.0, 9.0, 10.0] == pytest.approx(heights(ARC, -3.0, 0.0, 3.0), abs=1e-12)


def test_between_them_it_is_a_circle() -> None:
    # 1.4, 4.8, 5.
    assert [9.2, 9.2] == pytest.approx(heights(ARC, -1.4, 1.4), abs=1e-12)


def test_its_slope_is_the_circle_s() -> None:
    assert [0.75, 1.4 / 4.8, 0.0] == pytest.approx(list(ARC.slope(np.array([-3.0, 1.4, 0.0]), np.zeros(3))))


def test_beyond_its_ends_it_is_level() -> None:
    assert [10.0, 10.0] == pytest.approx(heights(ARC, -20.0, 3.5))


def test_across_it_is_the_same_and_so_is_its_mirror_image() -> None:
    assert list(ARC.height(np.array([1.4]), np.array([7.0]))) == pytest.approx([9.2])
    assert ARC is ARC.mirrored()


def test_without_a_rise_it_is_level_everywhere() -> None:
    level = ArcFloor(0.0, 100.0, 8.0, 8.0)
    assert [8.0, 8.0, 8.0] == heights(level, 0.0, 30.0, 100.0)
    assert [0.0] == list(level.slope(np.array([10.0]), np.zeros(1)))


def test_it_may_rise_in_the_middle() -> None:
    crown = ArcFloor(-3.0, 3.0, 9.0, 10.0)
    assert [9.0, 9.8, 10.0] == pytest.approx(heights(crown, -3.0, 1.4, 0.0), abs=1e-12)


def test_a_flat_arc_loses_no_digits() -> None:
    # u^2 / (2 R) to six places: R = (200^2 + 1e-4^2) / 2e-4 = 2e8; at 100 the rise is 100^2 / 4e8 = 2.5e-5.
    flat = ArcFloor(-200.0, 200.0, 10.0001, 10.0)
    assert 2.5e-5 == pytest.approx(heights(flat, 100.0)[0] - 10.0, rel=1e-6)
    assert math.isfinite(flat.radius)
