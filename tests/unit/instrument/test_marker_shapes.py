"""Outlines of markers, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from tests.support.said import said
from toolpaths.common.errors import FeatureError
from toolpaths.instrument.boards import half_width
from toolpaths.instrument.fans import FretLine
from toolpaths.instrument.marker_shapes import block, diamond, rounded, trapezoid


def test_a_block_lies_along_the_board() -> None:
    assert [(8.0, -3.0), (12.0, -3.0), (12.0, 1.0), (8.0, 1.0)] == block(10, -1, 4, 4)


def test_a_diamond_stands_on_its_corners() -> None:
    assert [(8.0, 1.0), (10.0, -2.0), (12.0, 1.0), (10.0, 4.0)] == diamond(10, 1, 4, 6)


def test_a_trapezoid_s_sides_are_parallel_to_the_edges_at_the_inset(make_instrument) -> None:
    instrument = make_instrument()
    points = trapezoid(instrument, FretLine(185.0), FretLine(215.0), 6.0)
    assert [185.0, 215.0, 215.0, 185.0] == [x for x, _ in points]
    treble = LineString([(x, float(half_width(instrument, x))) for x in (0.0, 400.0)])
    assert [6.0, 6.0] == pytest.approx([treble.distance(Point(p)) for p in points[2:]], abs=1e-9)
    bass = LineString([(x, -float(half_width(instrument, x))) for x in (0.0, 400.0)])
    assert [6.0, 6.0] == pytest.approx([bass.distance(Point(p)) for p in points[:2]], abs=1e-9)


def test_a_trapezoid_needs_room_between_its_sides(instrument) -> None:
    with pytest.raises(FeatureError) as caught:
        trapezoid(instrument, FretLine(90.0), FretLine(110.0), 25.0)
    assert "an inset of 25.00 mm leaves nothing of the marker: the board is 45.37 mm wide there" == said(caught.value)


def test_rounding_takes_what_the_closed_form_says() -> None:
    # r^2 (1 - pi / 4) at each of four right angles: elementary geometry.
    shape = rounded(block(0, 0, 10, 6), 1.5).shape()
    assert 60 - 4 * 1.5**2 * (1 - math.pi / 4) == pytest.approx(shape.area, abs=2e-3)
    assert (-5, -3, 5, 3) == pytest.approx(shape.bounds)


def test_an_inward_corner_is_filled_by_its_arc() -> None:
    ell = [(0.0, 0.0), (10.0, 0.0), (10.0, 3.0), (3.0, 3.0), (3.0, 8.0), (0.0, 8.0)]
    shape = rounded(ell, 1.0).shape()
    # Five corners lose, one gains.
    assert 45 - 4 * (1 - math.pi / 4) == pytest.approx(shape.area, abs=2e-3)
    assert shape.contains(Point(3.1, 3.1))


def test_arcs_touch_both_edges() -> None:
    loop = rounded(diamond(0, 0, 10, 7), 1.0)
    edges = Polygon(diamond(0, 0, 10, 7)).exterior
    assert np.zeros(len(loop.points)) == pytest.approx([edges.distance(Point(p)) for p in loop.points], abs=1e-9)


def test_two_arcs_may_use_up_an_edge_but_no_more() -> None:
    assert math.pi * 4 == pytest.approx(rounded(block(0, 0, 4, 4), 2.0).shape().area, abs=3e-3)
    # Nothing is left of the edges between them: four arcs, and no straight piece of no length.
    assert 4 == len(rounded(block(0, 0, 4, 4), 2.0).points)
    with pytest.raises(FeatureError) as caught:
        rounded(block(0, 0, 4, 4), 2.1)
    assert "too short for two corners of radius 0.083 in" in said(caught.value, "in")
