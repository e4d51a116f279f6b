"""Where the cut may be and where it must be, against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from toolpaths.geometry.loop import Loop, box_polygon
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand, Level, opened

EPS = 0.0205


def demand(asked: shapely.Geometry, radius: float, **more: object) -> Demand:
    return Demand("pocket", 7, "face", "pocket", asked, Level(4.0), radius, **more, kind=CutKind.pocket)  # type: ignore[arg-type]


def test_cutting_is_allowed_a_tolerance_beyond_the_shape() -> None:
    may = demand(box_polygon(0, 0, 10, 6), 1.5).may_region(EPS)
    # A rectangle grown by eps with round corners: area + perimeter eps + pi eps^2.
    assert 60 + 32 * EPS + math.pi * EPS**2 == pytest.approx(may.area, rel=1e-5)


def test_a_slot_as_wide_as_the_bit_must_still_be_cut() -> None:
    # Eroded by the whole radius nothing would remain; eroded by r - eps a strip does, and what must be cut is the
    # slot less eps on each side and less its round-off at the corners.
    r = 1.5
    must = demand(box_polygon(0, 0, 30, 2 * r), r).must_region(EPS)
    assert not must.is_empty
    assert 2 * r - 2 * EPS == pytest.approx(must.bounds[3] - must.bounds[1], abs=1e-6)
    # Opening by q = r - eps takes q^2 (1 - pi/4) off each corner; shrinking by eps takes eps times the outline.
    q = r - EPS
    opening = 30 * 2 * r - 4 * q * q * (1 - math.pi / 4)
    outline = 2 * (30 + 2 * r) - 8 * q + 2 * math.pi * q
    assert opening - EPS * outline == pytest.approx(must.area, rel=1e-3)


def test_a_slot_narrower_than_the_bit_asks_for_nothing() -> None:
    assert demand(box_polygon(0, 0, 30, 2.9), 1.5).must_region(EPS).is_empty


@pytest.mark.parametrize("r", [0.8, 1.5, 3.0])
def test_a_round_bit_leaves_r_squared_times_one_less_a_quarter_of_pi_in_a_corner(r: float) -> None:
    # Inside corner of 90 degrees: r^2 (1 - pi/4). Derived. The opening is by r - eps.
    corner = demand(box_polygon(0, 0, 40, 40), r).corner_region(1e-4)
    assert 4 * r * r * (1 - math.pi / 4) == pytest.approx(corner.area, rel=2e-3)


def test_the_corner_reaches_r_times_root_two_less_one() -> None:
    # r (sqrt 2 - 1): r 3 gives 1.24264 along the diagonal. Derived.
    corner = demand(box_polygon(0, 0, 40, 40), 3.0).corner_region(1e-6)
    inner = min(math.hypot(x, y) for x, y in shapely.get_coordinates(corner) if x < 5 and y < 5)
    edge = [math.hypot(x - 3, y - 3) for x, y in shapely.get_coordinates(corner) if 0.1 < x < 2.9 and 0.1 < y < 2.9]
    assert 1.24264 == pytest.approx(3 * math.sqrt(2) - max(edge), abs=2e-3)
    assert 0.0 == pytest.approx(inner, abs=1e-6)


def test_a_round_pocket_has_no_corner() -> None:
    assert 1e-3 > demand(Loop.circle(0, 0, 3).shape(), 1.5).corner_region(EPS).area


def test_where_an_edge_is_open_the_bit_runs_out_and_leaves_no_corner() -> None:
    r = 0.3
    line = box_polygon(-r, -20, r, 20)
    beyond = 2 * r + 1
    ends = shapely.union(box_polygon(-r, -20 - beyond, r, -20), box_polygon(-r, 20, r, 20 + beyond))
    run_out = demand(line, r, run_out=ends)
    assert 40 == pytest.approx(run_out.must_region(EPS).bounds[3] - run_out.must_region(EPS).bounds[1], abs=1e-6)
    assert 1e-6 > run_out.corner_region(EPS).area
    assert 40 + 2 * beyond + 2 * EPS == pytest.approx(
        run_out.may_region(EPS).bounds[3] - run_out.may_region(EPS).bounds[1], abs=1e-6
    )


def test_a_planed_face_must_be_level_up_to_the_blank_s_very_edge() -> None:
    blank = box_polygon(0, 0, 100, 50)
    face = demand(blank, 12.5, everywhere=True)
    assert 5000 == face.must_region(EPS).area
    assert face.corner_region(EPS).is_empty


def test_another_demand_may_speak_for_a_part_of_the_shape() -> None:
    band = box_polygon(0, 0, 40, 6)
    must = demand(band, 2.0, relaxed=box_polygon(10, -1, 20, 7)).must_region(EPS)
    assert 0.0 == must.intersection(box_polygon(10, -1, 20, 7)).area
    assert must.area > 0.5 * band.area


def test_mirrored_it_lies_on_the_other_side_of_the_centreline() -> None:
    m = demand(
        box_polygon(1, 2, 3, 5), 0.5, run_out=box_polygon(3, 2, 4, 5), relaxed=box_polygon(1, 2, 2, 3)
    ).mirrored()
    assert (1, -5, 3, -2) == m.asked.bounds
    assert m.run_out is not None
    assert (3, -5, 4, -2) == m.run_out.bounds
    assert m.relaxed is not None
    assert (1, -3, 2, -2) == m.relaxed.bounds


def test_opening_by_nothing_changes_nothing() -> None:
    square = box_polygon(0, 0, 1, 1)
    assert square is opened(square, 0.0)
    assert square is opened(square, -0.01)


def test_a_level_floor_is_level() -> None:
    x, y = np.array([0.0, 1.0]), np.array([5.0, 6.0])
    assert [4.0, 4.0] == Level(4.0).height(x, y).tolist()
    assert [0.0, 0.0] == Level(4.0).slope(x, y).tolist()
