"""The middle of a shape, against closed forms and against circles that a general-purpose library fits in."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, scale

from toolpaths.geometry.medial_axis import MedialAxis, medial_axis, wall_distance

Array = NDArray[np.float64]

RECTANGLE = Polygon([(0, 0), (10, 0), (10, 3), (0, 3)])
ELL = Polygon([(0, 0), (10, 0), (10, 3), (3, 3), (3, 8), (0, 8)])
TURN = 2 * np.pi * np.arange(10) / 10
STAR = Polygon(np.stack([np.cos(TURN), np.sin(TURN)], axis=1) * np.where(np.arange(10) % 2, 5.0, 2.0)[:, None])
SHAPES = {
    "a rectangle": RECTANGLE,
    "a triangle": Polygon([(0, 0), (10, 0), (4, 3)]),
    "an L": rotate(ELL, 17),
    "a star": STAR,
    "an ellipse": scale(Point(0, 0).buffer(1, quad_segs=128), 4, 1),
    "a ring": Point(0, 0).buffer(3, quad_segs=128).difference(Point(0, 0).buffer(2, quad_segs=128)),
    "a bent stroke": LineString([(0, 0), (5, 3), (9, 0)]).buffer(0.5, quad_segs=64),
    "two eyes": RECTANGLE.difference(Point(3, 1.5).buffer(0.8)).difference(Point(7, 1.2).buffer(0.6)),
}


def covered(axis: MedialAxis, points: Array) -> Array:
    """How far inside the circles along the axis points lie, at most, (N,): radius - distance. mm."""
    a, b = axis.places[axis.edges].swapaxes(0, 1)
    ra, rb = axis.radius[axis.edges].T
    best = np.full(len(points), -np.inf)
    for t in np.linspace(0, 1, 9):
        middle, radius = a * (1 - t) + b * t, ra * (1 - t) + rb * t
        for i in range(0, len(points), 400):
            away = np.hypot(*(points[i : i + 400, None] - middle[None]).transpose(2, 0, 1))
            best[i : i + 400] = np.maximum(best[i : i + 400], (radius - away).max(axis=1))
    return best


def some_inside(area: Polygon, count: int = 1500) -> Array:
    x0, y0, x1, y1 = area.bounds
    points = np.random.default_rng(5).uniform([x0, y0], [x1, y1], (count, 2))
    return np.asarray(points[shapely.contains_xy(area, points[:, 0], points[:, 1])])


@pytest.mark.parametrize("area", SHAPES.values(), ids=SHAPES.keys())
def test_the_largest_circle_is_the_one_that_the_library_fits_in(area: Polygon) -> None:
    # Within 0.001 mm, and what the library allows itself. Outside: GEOS, maximum inscribed circle.
    found = shapely.maximum_inscribed_circle(area, tolerance=1e-4).length
    assert found == pytest.approx(float(medial_axis(area).radius.max()), abs=1.1e-3)


@pytest.mark.parametrize("area", SHAPES.values(), ids=SHAPES.keys())
def test_circles_along_the_middle_fill_the_shape_and_stay_in_it(area: Polygon) -> None:
    # A V-bit's height at a place is its distance to the wall just where some circle touches that wall: within 0.005.
    points = some_inside(area)
    off = wall_distance(area, points) - covered(medial_axis(area), points)
    assert 0.005 >= float(off.max())
    assert -0.001 <= float(off.min())


def test_a_rectangle_s_middle_is_its_roof() -> None:
    # Ridge from (1.5, 1.5) to (8.5, 1.5), four slopes at 45 degrees into the corners: closed form.
    axis = medial_axis(RECTANGLE)
    length = sum(math.dist(axis.places[a], axis.places[b]) for a, b in axis.edges.tolist())
    assert 7 + 4 * 1.5 * math.sqrt(2) == pytest.approx(length, rel=1e-3)
    ends = axis.places[np.bincount(axis.edges.ravel()) == 1]
    assert [(0, 0), (0, 3), (10, 0), (10, 3)] == sorted((round(x) + 0, round(y) + 0) for x, y in ends.tolist())
    assert np.round(ends) == pytest.approx(ends, abs=1e-6)


def test_an_ellipse_s_middle_ends_where_its_ends_are_rounded_from() -> None:
    # The centre of curvature at the end of the long half-axis a lies b^2 / a before it: 4 - 0.25.
    axis = medial_axis(SHAPES["an ellipse"])
    x = axis.places[:, 0]
    assert (-3.75, 3.75) == pytest.approx((float(x.min()), float(x.max())), abs=0.05)
    assert 0.0 == pytest.approx(float(np.abs(axis.places[:, 1]).max()), abs=2e-3)


def test_a_ring_s_middle_comes_round() -> None:
    axis = medial_axis(SHAPES["a ring"])
    assert np.full(len(axis.places), 2.5) == pytest.approx(np.hypot(*axis.places.T), abs=2e-3)
    assert set(np.bincount(axis.edges.ravel()).tolist()) == {2}


def test_between_two_inward_corners_it_bends_and_still_stays_inside() -> None:
    # Halfway between points at (0, 1) and (0, -1), the distance at x is sqrt(1 + x^2): the axis has places enough.
    bow = Polygon([(-3, -3), (0, -1), (3, -3), (3, 3), (0, 1), (-3, 3)])
    axis = medial_axis(bow)
    near = np.abs(axis.places[:, 0]) < 0.6  # further out the slanted walls come nearer
    assert np.sqrt(1 + axis.places[near, 0] ** 2) == pytest.approx(axis.radius[near], abs=1e-3)
    steps = np.diff(np.sort(axis.places[near & (np.abs(axis.places[:, 1]) < 1e-3), 0]))
    assert 0.1 > float(steps.max())


@pytest.mark.slow
def test_a_long_wall_is_sampled_no_more_than_it_can_bear() -> None:
    zigzag = LineString([(x, (x % 2) * 400.0) for x in range(40)]).buffer(0.2)
    assert 50_000 > len(medial_axis(zigzag).places)


def test_nothing_has_no_middle() -> None:
    with pytest.raises(ValueError, match="no extent"):
        medial_axis(Polygon())


def test_the_distance_to_the_wall_counts_islands() -> None:
    eyes = SHAPES["two eyes"]
    assert [0.7, 0.5] == pytest.approx(wall_distance(eyes, np.array([[5, 0.7], [5, 2.5]])).tolist(), abs=1e-9)
    assert all(a <= b for a, b in pairwise(sorted(wall_distance(eyes, some_inside(eyes, 50)).tolist())))
