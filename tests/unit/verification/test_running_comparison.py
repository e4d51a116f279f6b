"""Program after program: bounds kept up to date are those that a fresh look would give."""

from __future__ import annotations

import numpy as np

from toolpaths.gcode.reader.trace import Moves
from toolpaths.geometry.loop import box_polygon
from toolpaths.job.bits.flat import Flat
from toolpaths.job.cut_kind import CutKind
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.bounds import Bounded
from toolpaths.verification.running_comparison import RunningComparison, compare

BOX, TOP, EPS = (0.0, 0.0, 40.0, 20.0), 8.0, 0.02
SIX = Flat(shape="flat", diameter=6.0, flutes=2, cutting_length=12.0, shank=6.0, stickout=30.0)

FACE = Demand("plane", 7, "face", "face", box_polygon(*BOX), Level(6.0), 12.5, everywhere=True, kind=CutKind.face)
POCKET = Demand("pocket", 8, "face", "pocket", box_polygon(10, 5, 30, 15), Level(5.0), 3.0, kind=CutKind.pocket)
SLOT = Demand("slot", 9, "face", "slot", box_polygon(5, 7, 35, 13), Level(3.0), 3.0, kind=CutKind.pocket)


def cut(z: float) -> Moves:
    start, end = np.array([[10.0, 10.0, z]]), np.array([[30.0, 10.0, z]])
    return Moves(start, end, np.array([0]), np.array([1]))


def test_kept_up_to_date_it_says_what_a_fresh_look_says() -> None:
    blank = DepthMap.over(BOX, TOP, 0.25)
    face, pocket, slot = (Bounded.of(d, EPS) for d in (FACE, POCKET, SLOT))
    ledger, wood = RunningComparison(blank), StandingWood(BOX, TOP)
    stages = [
        (6.0, [face], [face]),
        (5.0, [face, pocket], [face]),  # begun, not finished
        (5.0, [face, pocket], [face, pocket]),
        (3.0, [face, pocket, slot], [face, pocket, slot]),
    ]
    for z, begun, finished in stages:
        wood = wood.after(cut(z), {1: SIX})
        kept = ledger.compare(blank, wood, begun, finished)
        fresh = compare(blank, wood, begun, finished)
        assert np.array_equal(fresh.low, kept.low)
        assert np.array_equal(fresh.high, kept.high)
        order, again = (np.lexsort((*c.probes.points.T, c.probes.low, c.probes.high)) for c in (fresh, kept))
        assert np.array_equal(fresh.probes.points[order], kept.probes.points[again])
        assert np.array_equal(fresh.probes.low[order], kept.probes.low[again])
        assert np.array_equal(fresh.probes.high[order], kept.probes.high[again])
        assert np.array_equal(fresh.probe_heights[order], kept.probe_heights[again])


def test_an_earlier_comparison_is_not_changed_by_a_later_one() -> None:
    blank = DepthMap.over(BOX, TOP, 0.25)
    face, pocket = Bounded.of(FACE, EPS), Bounded.of(POCKET, EPS)
    ledger, wood = RunningComparison(blank), StandingWood(BOX, TOP)
    first = ledger.compare(blank, wood, [face], [face])
    low, heights = first.low.copy(), first.probe_heights.copy()
    ledger.compare(blank, wood.after(cut(5.0), {1: SIX}), [face, pocket], [face, pocket])
    assert np.array_equal(low, first.low)
    assert np.array_equal(heights, first.probe_heights)


def test_probe_heights_are_the_exact_heights_of_the_wood() -> None:
    blank = DepthMap.over(BOX, TOP, 0.25)
    pocket = Bounded.of(POCKET, EPS)
    wood = StandingWood(BOX, TOP).after(cut(5.0), {1: SIX})
    found = compare(blank, wood, [pocket], [pocket])
    under = np.abs(found.probes.points[:, 1] - 10) < 2.9
    middle = under & (found.probes.points[:, 0] > 10) & (found.probes.points[:, 0] < 30)
    assert {5.0} == set(found.probe_heights[middle].tolist())
    assert {8.0} == set(found.probe_heights[np.abs(found.probes.points[:, 1] - 10) > 3.1].tolist())
