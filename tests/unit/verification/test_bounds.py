"""How low the wood may be, and how high it must not stay: on cells and at probes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from toolpaths.geometry.loop import box_polygon
from toolpaths.job.cut_kind import CutKind
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.bounds import Bounded, Comparison, point_bounds, probes_of
from toolpaths.verification.running_comparison import compare

EPS = 0.02
BOX = (0.0, 0.0, 40.0, 20.0)
TOP = 8.0
POCKET = Demand("pocket", 7, "face", "pocket", box_polygon(10, 5, 30, 15), Level(5.0), 1.5, kind=CutKind.pocket)


def bounds(demands: list[Demand], finished: list[Demand] | None = None, pitch: float = 0.25) -> Comparison:
    begun = [Bounded.of(d, EPS) for d in demands]
    done = begun if finished is None else [b for b in begun if b.demand in finished]
    return compare(DepthMap.over(BOX, TOP, pitch), StandingWood(BOX, TOP), begun, done)


def at(comparison: Comparison, x: float, y: float, pitch: float = 0.25) -> tuple[float, float]:
    blank = DepthMap.over(BOX, TOP, pitch)
    row, col = int(np.abs(blank.ys - y).argmin()), int(np.abs(blank.xs - x).argmin())
    return float(comparison.low[row, col]), float(comparison.high[row, col])


def test_inside_the_wood_may_fall_to_the_floor_and_must() -> None:
    # low = f - 0.01, high = f + 0.02: the contract's tolerances.
    assert (4.99, 5.02) == pytest.approx(at(bounds([POCKET]), 20, 10))


def test_outside_the_wood_stays_and_nothing_is_asked() -> None:
    low, high = at(bounds([POCKET]), 5, 10)
    assert 7.99 == pytest.approx(low)
    assert np.isinf(high)


def test_a_corner_that_the_bit_cannot_reach_may_be_cut_and_need_not() -> None:
    low, high = at(bounds([POCKET], pitch=0.1), 10.06, 5.06, pitch=0.1)
    assert 4.99 == pytest.approx(low)
    assert np.isinf(high)


def test_of_two_demands_the_lower_floor_holds() -> None:
    deeper = replace(POCKET, asked=box_polygon(15, 8, 25, 12), floor=Level(3.0))
    both = bounds([POCKET, deeper])
    assert (2.99, 3.02) == pytest.approx(at(both, 20, 10))
    assert (4.99, 5.02) == pytest.approx(at(both, 12, 10))


def test_what_is_begun_may_be_cut_and_only_what_is_finished_must() -> None:
    low, high = at(bounds([POCKET], finished=[]), 20, 10)
    assert 4.99 == pytest.approx(low)
    assert np.isinf(high)


def test_a_through_cut_may_reach_into_the_bed() -> None:
    through = replace(POCKET, floor=Level(0.0), reach=0.2)
    assert (-0.21, 0.02) == pytest.approx(at(bounds([through]), 20, 10))


def test_a_demand_may_speak_from_above_or_from_below_only() -> None:
    assert np.isinf(at(bounds([replace(POCKET, must=False)]), 20, 10)[1])
    assert 7.99 == pytest.approx(at(bounds([replace(POCKET, may=False)]), 20, 10)[0])


def test_a_planed_face_holds_for_every_cell() -> None:
    face = Demand("plane", 7, "face", "face", box_polygon(*BOX), Level(6.0), 12.5, everywhere=True, kind=CutKind.face)
    found = bounds([face])
    assert (5.99, 5.99) == pytest.approx((found.low.min(), found.low.max()))
    assert (6.02, 6.02) == pytest.approx((found.high.min(), found.high.max()))


def test_probes_stand_just_outside_and_just_inside_the_walls_and_at_every_vertex() -> None:
    b = Bounded.of(POCKET, EPS)
    points, owners = probes_of([b], BOX)
    outside = points[points[:, 0] < 10]
    assert 10 - EPS - 0.002 == pytest.approx(outside[:, 0].min(), abs=1e-6)
    inside = points[(points[:, 0] > 10) & (np.abs(points[:, 1] - 10) < 2)]
    assert 10 + EPS + 0.002 == pytest.approx(inside[:, 0].min(), abs=1e-6)
    # Once around two outlines of about 60 mm at least every 0.25 mm.
    assert 2 * 59 / 0.25 <= len(points)
    assert {0} == set(owners.tolist())


def test_probes_outside_the_blank_are_left_out() -> None:
    edge = replace(POCKET, asked=box_polygon(-5, 5, 10, 15))
    points, _ = probes_of([Bounded.of(edge, EPS)], BOX)
    assert 0 <= points[:, 0].min()


def test_a_probe_is_bound_by_all_demands_not_only_its_own() -> None:
    face = Demand("plane", 7, "face", "face", box_polygon(*BOX), Level(6.0), 12.5, everywhere=True, kind=CutKind.face)
    begun = [Bounded.of(POCKET, EPS), Bounded.of(face, EPS)]
    low, high = point_bounds(np.array([[9.9, 10.0], [20.0, 10.0]]), np.full(2, TOP), begun, begun)
    assert [5.99, 4.99] == pytest.approx(low.tolist())
    assert [6.02, 5.02] == pytest.approx(high.tolist())


def test_a_finer_pitch_changes_no_bound_at_a_probe() -> None:
    coarse, fine = bounds([POCKET], pitch=1.0).probes, bounds([POCKET], pitch=0.1).probes
    assert coarse.points.tolist() == fine.points.tolist()
    assert coarse.low.tolist() == fine.low.tolist()
    assert coarse.high.tolist() == fine.high.tolist()
