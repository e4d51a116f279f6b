"""Walls left under cuts, against closed forms that the project's search does not use."""

import math

import numpy as np
import pytest

from tests.support.neck_builder import half_ellipse, half_round, instrument
from toolpaths.instrument.finished_neck import FinishedNeck

# All points lie far from both ends of the neck, so that the ends play no part.


def test_about_a_half_circle_the_wall_is_the_radius_less_the_distance_from_its_middle() -> None:
    # Elementary: the nearest point of a circle lies on the ray from its middle. R 15; (y, depth) as given.
    neck = FinishedNeck.of(half_round(15.0))
    places = [(0.0, 9.5), (3.2, 9.5), (-8.0, 6.5), (12.7, 6.5), (0.0, 14.9), (5.0, 0.5)]
    points = np.array([(170.0, y, d) for y, d in places])
    expected = [15.0 - math.hypot(y, d) for y, d in places]
    wall, at = neck.least(points)
    assert expected == pytest.approx(wall, abs=0.01)
    # A straight neck: the nearest wood's end lies straight across.
    assert [170.0] * 6 == pytest.approx(at, abs=0.05)


def test_under_the_middle_of_a_flat_ellipse_the_nearest_point_lies_to_its_side() -> None:
    # From (0, k) inside an ellipse of half axes a > b the squared distance to (a sin t, b cos t) is stationary off the
    # axis at cos t = -k b / (a^2 - b^2), outside the lower half for k > 0: so straight down, b - k, is least.
    a, b = 21.0, 14.5
    neck = FinishedNeck.of(half_ellipse(a, b))
    wall, _ = neck.least(np.array([[150.0, 0.0, 9.5], [150.0, 0.0, 13.0]]))
    assert [b - 9.5, b - 13.0] == pytest.approx(wall, abs=0.01)


def test_in_a_deep_ellipse_the_nearest_point_lies_off_the_centreline() -> None:
    # Half axes a = 10 (width) < b = 20 (depth), point (0, k = 6): cos t = k b / (b^2 - a^2) = 0.4, so the nearest
    # point is (a sin t, b cos t) = (9.1652, 8); distance^2 = 84 + 4 = 88 (derived by hand from the stationary point).
    neck = FinishedNeck.of(half_ellipse(10.0, 20.0))
    wall, _ = neck.least(np.array([[150.0, 0.0, 6.0]]))
    assert math.sqrt(88.0) == pytest.approx(wall[0], abs=0.01)


def test_where_the_neck_tapers_the_nearest_point_lies_off_the_centreline_and_between_stations() -> None:
    # Half width and depth grow together, w = d = R0 + m x: a cone. From a point at radius r in the section at x the
    # distance to a cone of half angle atan(m) is (R(x) - r) cos(atan m), and its foot lies (R - r) m / (1 + m^2)
    # nearer to the nut. Chosen: R 14 at the nut, 22 at fret 12 (292 mm), thickness stations at frets 5 and 12 only.
    m = 8.0 / 292.0
    fifth = 584.0 * (1 - 2 ** (-5 / 12))
    cone = instrument({"thickness": {5: 14.0 + m * fifth + 6.0, 12: 28.0}}, nut=28.0, fret_12=44.0)
    neck = FinishedNeck.of(cone)
    x, y, d = 217.3, 9.0, 9.0
    gap = 14.0 + m * x - math.hypot(y, d)
    wall, at = neck.least(np.array([[x, y, d]]))
    assert gap / math.sqrt(1 + m * m) == pytest.approx(wall[0], abs=0.002)
    assert x - gap * m / (1 + m * m) == pytest.approx(at[0], abs=0.05)


def test_a_steep_cone_is_searched_in_space_not_across() -> None:
    # As above with m = 0.5 over a short neck: the wall across would be 12 % too much.
    m = 0.5
    scale = 80.0
    cone = instrument({"thickness": {0: 36.0, 12: 56.0}}, nut=60.0, fret_12=100.0, scale=scale)
    neck = FinishedNeck.of(cone)
    x = 25.0
    gap = 30.0 + m * x - 35.0
    for angle in (0.3, 0.9, 1.4):
        point = np.array([[x, 35.0 * math.sin(angle), 35.0 * math.cos(angle)]])
        assert gap == pytest.approx(neck.in_section(point, fine=True)[0], abs=0.01)
        assert gap / math.sqrt(1 + m * m) == pytest.approx(neck.least(point)[0][0], abs=0.01)


def test_a_point_outside_the_carved_back_has_a_wall_below_nothing() -> None:
    neck = FinishedNeck.of(half_round(15.0))
    wall, _ = neck.least(np.array([[170.0, 0.0, 16.0], [170.0, 12.0, 12.0]]))
    assert [-1.0, 15.0 - math.hypot(12.0, 12.0)] == pytest.approx(wall, abs=0.01)


def test_against_every_point_of_the_surface_on_a_whole_neck() -> None:
    # Brute force: the least distance to a net of the back's own formula at 0.1 mm, about the nut's transition and
    # the heel's. The net is never nearer than the surface, and at most sqrt(wall^2 + 0.07^2) - wall farther.
    from tests.support.neck_builder import WHOLE
    from toolpaths.instrument.necks import back_depth, half_width_at

    whole = instrument(WHOLE)
    neck = FinishedNeck.of(whole, drop=4.0)
    points = np.array(
        [(-3.0, 0.0, 11.0), (-9.0, 14.0, 9.0), (-14.0, -6.0, 13.0), (318.0, 17.0, 8.0), (324.0, 0.0, 14.0)]
    )
    wall, _ = neck.least(points)
    for point, found in zip(points, wall, strict=True):
        xs = np.arange(point[0] - 12, point[0] + 12, 0.1)
        part = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 700))
        x = np.repeat(xs, len(part))
        y = half_width_at(whole, x) * np.tile(part, len(xs))
        net = np.stack([x, y, back_depth(whole, x, y * (1 - 1e-12), 4.0)], axis=1)
        # The upright sides of the blends too.
        edge = net[np.abs(np.tile(part, len(xs))) > 1 - 1e-12]
        sides = np.concatenate([edge * np.array([1.0, 1.0, f]) for f in np.linspace(0, 1, 60)])
        best = np.linalg.norm(np.concatenate([net, sides]) - point, axis=1).min()
        assert best == pytest.approx(found, abs=0.01)
