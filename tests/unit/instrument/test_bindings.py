"""A board that will be bound is cut narrower by the binding, square to its edges, and everything else stays."""

from __future__ import annotations

import math

import pytest
from shapely import LineString, Polygon

from toolpaths.instrument.boards import corners, half_width, unbound
from toolpaths.instrument.fans import fret_line, nut_spread
from toolpaths.job.job import Fan


def test_the_cut_edges_lie_the_binding_inside_the_finished_ones(make_instrument) -> None:
    """The distance between the edges, measured by a general-purpose geometry library."""
    finished = make_instrument(width={"nut": 42, "end": 58})
    bound = finished.model_copy(update={"board": finished.board.model_copy(update={"binding": 1.5})})
    outer, inner = corners(bound), corners(unbound(bound))
    for i, j in ((0, 1), (2, 3)):
        edge = LineString([outer[i], outer[j]])
        for place in (inner[i], inner[j]):
            line = LineString([(place[0], -100), (place[0], 100)])
            assert edge.intersects(line)
            # Beyond the edge's own ends the nearest place would be a corner.
            (ax, ay), (bx, by) = edge.coords
            away = abs((bx - ax) * (place[1] - ay) - (by - ay) * (place[0] - ax)) / math.hypot(bx - ax, by - ay)
            assert 1.5 == pytest.approx(away, abs=1e-9)
    assert Polygon(outer).covers(Polygon(inner))


def test_ends_and_frets_stay_where_they_are(make_instrument) -> None:
    finished = make_instrument(width={"nut": 42, 12: 52})
    bound = finished.model_copy(update={"board": finished.board.model_copy(update={"binding": 2.0})})
    cut = unbound(bound)
    assert [x for x, _ in corners(finished)] == pytest.approx([x for x, _ in corners(cut)])
    assert fret_line(finished, 7) == fret_line(cut, 7)
    assert finished == unbound(finished)


def test_the_fan_of_a_bound_board_is_that_of_the_finished_one(make_instrument) -> None:
    finished = make_instrument(width={"nut": 48, "end": 62})
    fanned = finished.model_copy(update={"scale_length": Fan(bass=680, treble=640, square_fret=7)})
    bound = fanned.model_copy(update={"board": fanned.board.model_copy(update={"binding": 1.5})})
    cut = unbound(bound)
    assert nut_spread(bound) == nut_spread(cut)
    for fret in (0, 1, 7, 12, 20):
        a, b = fret_line(bound, fret), fret_line(cut, fret)
        assert (a.x, a.lean) == pytest.approx((b.x, b.lean), abs=1e-9)
    # The taper k is (62 - 48) / 2 over the board's length; across the board the edge moves by 1.5 sqrt(1 + k^2).
    taper = (float(half_width(bound, 100.0)) - float(half_width(bound, 0.0))) / 100
    less = float(half_width(bound, 50.0)) - float(half_width(cut, 50.0))
    assert 1.5 * math.hypot(1, taper) == pytest.approx(less, abs=1e-9)
