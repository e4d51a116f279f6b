"""Outlines of straight edges and arcs, against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolpaths.geometry.loop import Loop, arc_centre, arc_chords

# A slot with round ends: 20 mm between the centres, radius 5; its area is 20 x 10 + pi 25. Derived.
SLOT = Loop(np.array([[0.0, -5.0], [20.0, -5.0], [20.0, 5.0], [0.0, 5.0]]), np.array([0.0, 1.0, 0.0, 1.0]))
SLOT_AREA = 200 + math.pi * 25


def test_a_circle_has_the_area_of_a_circle() -> None:
    assert math.pi * 9 == pytest.approx(Loop.circle(4, -7, 3).shape().area, rel=1e-4)


def test_a_slot_with_round_ends_has_its_area() -> None:
    assert SLOT_AREA == pytest.approx(SLOT.shape().area, rel=1e-4)


def test_chords_lie_inside_the_arc_and_stray_no_more_than_asked() -> None:
    points = Loop.circle(0, 0, 25).flattened(0.01)
    middles = (points + np.roll(points, -1, axis=0)) / 2
    assert 25.0 == pytest.approx(np.hypot(points[:, 0], points[:, 1]).min())
    assert 25.0 - 0.01 <= np.hypot(middles[:, 0], middles[:, 1]).min()


def test_chords_are_as_few_as_the_error_allows() -> None:
    # ceil(2 pi / (2 acos(1 - e/R))), facts of chords, derived: R 25, e 0.01 gives 112, here in two half turns.
    assert 112 == len(Loop.circle(0, 0, 25).flattened(0.01))


def test_a_bulge_of_one_is_a_half_turn_to_the_left() -> None:
    cx, cy, r = arc_centre(np.array([0.0, 0.0]), np.array([2.0, 0.0]), 1.0)
    middle = arc_chords(np.array([0.0, 0.0]), np.array([2.0, 0.0]), 1.0, 1e-6)
    assert (1.0, 0.0, 1.0) == pytest.approx((cx, cy, r))
    assert -1.0 == pytest.approx(middle[:, 1].min(), abs=1e-5)  # counter-clockwise from (0, 0) to (2, 0): below


@pytest.mark.parametrize("degrees", [5, 45, 90, 170, 250, -30, -120])
def test_the_bulge_is_the_tangent_of_a_quarter_of_the_angle(degrees: float) -> None:
    # The definition of DXF polylines: centre and radius come back from any angle.
    sweep, r, first = math.radians(degrees), 7.0, 0.3
    a = np.array([1 + r * math.cos(first), 2 + r * math.sin(first)])
    b = np.array([1 + r * math.cos(first + sweep), 2 + r * math.sin(first + sweep)])
    assert (1.0, 2.0, 7.0) == pytest.approx(arc_centre(a, b, math.tan(sweep / 4)))


def test_only_a_circle_is_a_circle() -> None:
    assert (4.0, -7.0, 3.0) == Loop.circle(4, -7, 3).as_circle()
    assert None is SLOT.as_circle()
    assert None is Loop.polygon([(0, 0), (1, 0), (0, 1)]).as_circle()


def test_a_mirrored_outline_is_the_mirror_image_and_still_counter_clockwise() -> None:
    bent = Loop(
        np.array([[0.0, 1.0], [10.0, 2.0], [12.0, 9.0], [3.0, 8.0]]), np.array([0.2, 0.0, -0.3, math.tan(math.pi / 8)])
    )
    image, mirrored = bent.shape(), bent.mirrored().shape()
    flipped = type(image)([(x, -y) for x, y in image.exterior.coords])
    assert flipped.symmetric_difference(mirrored).area == pytest.approx(0.0, abs=1e-3)
    assert mirrored.exterior.is_ccw
    assert image.exterior.is_ccw


def test_mirroring_twice_gives_the_outline_back() -> None:
    twice = SLOT.mirrored().mirrored()
    assert SLOT.points.tolist() == twice.points.tolist()
    assert SLOT.bulges.tolist() == twice.bulges.tolist()


def test_a_mirrored_circle_is_a_circle() -> None:
    assert (4.0, 7.0, 3.0) == Loop.circle(4, -7, 3).mirrored().as_circle()


def test_a_circle_smaller_than_the_error_keeps_four_corners() -> None:
    assert 4 == len(Loop.circle(0.0, 0.0, 3.5e-6).flattened(2e-4))
    assert 2 * 3.5e-6**2 == pytest.approx(Loop.circle(0.0, 0.0, 3.5e-6).shape().area)  # the square in a circle


def test_an_arc_of_a_radius_past_all_rounding_comes_to_an_end() -> None:
    assert 1 == len(arc_chords(np.array([0.0, 0.0]), np.array([1.0, 0.0]), 1e-14, 2e-4))
