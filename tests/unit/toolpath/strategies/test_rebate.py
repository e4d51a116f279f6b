"""The blank's end lowered: from beside the wood, up to the wall and never past it, the wall or the ramp last."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, along, pieces, rapids_are_safe, swept
from toolpaths.operations.operation import Cutting, Rebate
from toolpaths.toolpath.levels import skimmed
from toolpaths.toolpath.strategies.rebate import rebate, stairs
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

BOX = (-150.0, -40.0, -8.0, 40.0)
PLANER = flat(25.0)
ONE = replace(CUTTING, pass_depth=1.0, finish_allowance=0.25)


def operation(cutting: Cutting = ONE, ramp: float = 0.0) -> Rebate:
    """From 14 down to 10."""
    return Rebate("headstock_face", 30, "planer", cutting, "the headstock", 14.0, 10.0, BOX, 14.0, 0.3, ramp)


def run(o: Rebate) -> list[Section]:
    return list(rebate(o, PLANER, ToolpathBuilder(safe=SAFE, z=SAFE)))


def cuts(o: Rebate) -> list[Piece]:
    return [p for p in pieces(run(o)) if not p.rapid]


ALL = [operation(), operation(ramp=20.0), operation(replace(ONE, limits={"direction": "job"}))]
CLIMB = replace(ONE, rough="climb", finish="climb", limits={"direction": "job"})
ALL.append(operation(CLIMB))


def test_levels_are_no_deeper_than_a_pass_and_the_last_is_a_skim() -> None:
    # 3.7 in four passes, then 0.3.
    assert [13.075, 12.15, 11.225, 10.3, 10.0] == pytest.approx(skimmed(operation()))


def test_the_floor_is_covered_up_to_the_wall_and_not_past_it() -> None:
    low = swept([p for p in cuts(operation()) if p.a[2] == p.b[2] == 10.0], PLANER.radius)
    assert 0.0 == pytest.approx(shapely.box(*BOX).difference(low.buffer(1e-6)).area, abs=1e-6)
    assert -8.0 == pytest.approx(low.bounds[2])


def test_the_levels_leave_the_allowance_at_the_wall_for_the_skim() -> None:
    *levels, wall = run(operation())
    assert "the wall, last skim of 0.25 mm" == wall.title
    # Travel to the skim's start is no cut.
    rough = [p for p in pieces(levels) if not p.rapid]
    assert -8.25 == pytest.approx(swept(rough, PLANER.radius).bounds[2])


def test_the_wall_is_skimmed_in_one_straight_pass_across_and_climbs() -> None:
    (skim,) = [p for p in pieces(run(operation())[-1:]) if not p.rapid and p.run > 0]
    # Toward +y with the wood on +x: a cutter that turns clockwise climbs. Elementary.
    assert (-20.5, -54.5, -20.5, 54.5) == pytest.approx((*skim.a[:2], *skim.b[:2]))


@pytest.mark.parametrize("o", ALL)
def test_the_bit_comes_down_only_beside_the_wood(o: Rebate) -> None:
    blank = shapely.box(*BOX)
    for p in cuts(o):
        if p.fall > 0:
            assert PLANER.radius < blank.distance(shapely.LineString([p.a[:2], p.b[:2]]))


@pytest.mark.parametrize("o", ALL)
def test_rapids_are_safe_and_it_ends_up_there(o: Rebate) -> None:
    found = pieces(run(o))
    assert rapids_are_safe(found)
    assert SAFE == found[-1].b[2]


def test_rows_take_no_more_than_a_step_over() -> None:
    rows = sorted({p.a[1] for p in cuts(operation()) if p.a[1] == p.b[1] and p.run > 100 and abs(p.a[1]) < 45})
    assert 0.4 * 25 + 1e-9 >= max(rows[0] + PLANER.radius - BOX[1], *(b - a for a, b in pairwise(rows)))


@pytest.mark.parametrize(("cutting", "sign"), [(replace(ONE, limits={"direction": "job"}), 1), (CLIMB, -1)])
def test_a_direction_that_the_job_asks_for_is_kept(cutting: Cutting, sign: int) -> None:
    # Toward +x with the uncut wood on +y is conventional, on -y it climbs. Elementary.
    rows = [p for p in pieces(run(operation(cutting))[:1]) if not p.rapid and p.run > 100 and p.a[1] == p.b[1]]
    assert all(p.b[0] > p.a[0] for p in rows)
    assert all(sign * (b.a[1] - a.a[1]) > 0 for a, b in pairwise(rows))


def test_a_ramp_is_cut_in_steps_no_higher_than_asked_and_never_below_its_arc() -> None:
    o = operation(ramp=20.0)
    # R = (20^2 + 4^2) / (2 * 4) = 52. Derived.
    radius, foot = 52.0, -28.0
    found = cuts(o)
    for p in found:
        for x, _, z in along(p, 1.0):
            s = min(max(x + PLANER.radius - foot, 0.0), 20.0)
            if z < 14.0:
                assert z >= 10 + radius - math.sqrt(radius**2 - s**2) - 1e-6
    steps = stairs(o)
    assert 79 == len(steps)
    heights = [14.0, *(z for _, z in steps), 10.0]
    assert 0.05 + 1e-9 >= max(a - b for a, b in pairwise(heights))
    across = [p for p in pieces(run(o)[-1:]) if not p.rapid and p.run > 50]
    assert [z for _, z in steps] == pytest.approx([p.a[2] for p in across])
    assert "the ramp to the wall, 79 passes across" == run(o)[-1].title


def test_without_an_allowance_the_levels_make_the_wall() -> None:
    found = run(operation(replace(ONE, finish_allowance=0.0)))
    assert len(skimmed(operation())) == len(found)
    low = swept([p for p in pieces(found) if not p.rapid and p.a[2] == p.b[2] == 10.0], PLANER.radius)
    assert -8.0 == pytest.approx(low.bounds[2])
