"""Slopes that fall inwards from an outline: heights by hand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon

from toolpaths.target_shape.bevel_floor import BevelFloor

SQUARE = Polygon([(0, 0), (10, 0), (10, 10), (0, 10)])


def test_it_falls_with_the_distance_from_the_nearest_wall_and_is_level_at_the_lowest() -> None:
    floor = BevelFloor(SQUARE, top=5.0, rise=2.0, lowest=1.0)
    x, y = np.array([[1.0, 5.0], [9.5, -1.0]]), np.array([[5.0, 5.0], [0.25, 5.0]])
    # 1 mm from a wall 3; in the middle the lowest; a quarter from the lower wall 4.5; outside the top.
    assert [[3.0, 1.0], [4.5, 5.0]] == pytest.approx(floor.height(x, y))
    assert [2.0, 2.0] == floor.slope(np.array([5.0, 1.0]), np.array([5.0, 1.0])).tolist()


def test_an_island_is_a_wall_too() -> None:
    floor = BevelFloor(SQUARE.difference(Point(5, 5).buffer(2, quad_segs=64)), top=0.0, rise=1.0, lowest=-9.0)
    assert [-0.5, -1.5, 0.0] == pytest.approx(floor.height(np.array([7.5, 8.5, 5.0]), np.full(3, 5.0)), abs=1e-3)


def test_it_goes_over_with_the_work() -> None:
    floor = BevelFloor(Polygon([(0, 0), (8, 0), (3, 5)]), 5.0, 1.7, 3.0)
    x, y = np.linspace(0.1, 7.9, 30), np.full(30, 1.1)
    assert floor.height(x, y).tolist() == pytest.approx(floor.mirrored().height(x, -y).tolist())
