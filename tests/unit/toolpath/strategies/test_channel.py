"""Slots: exact to the walls, entered on a slope, cut in levels, and never below the floor."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, along, pieces, rapids_are_safe, steepest, swept, turning
from toolpaths.common.errors import FeatureError
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Channel
from toolpaths.toolpath.strategies.channel import channel
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

TOP, FLOOR = 18.0, 11.0
SIX = flat(6.0)


def run(
    length: float = 100.0,
    width: float = 6.4,
    bit: Bit = SIX,
    line: Any = ((0.0, FLOOR),),
    ends: Any = None,
    open_ends: tuple[bool, bool] = (False, False),
    squared: bool = False,
    **cutting: Any,
) -> list[Section]:
    o = Channel(
        feature="truss_rod_channel",
        job_line=30,
        bit="six",
        cutting=replace(CUTTING, **cutting),
        title="the rod's channel",
        ends=np.array([[[0.0, 0.0], [length, 0.0]]] if ends is None else ends),
        names=("rod channel",) if ends is None else tuple(f"slot {i}" for i in range(len(ends))),
        width=width,
        top=TOP,
        floor=min(z for _, z in line),
        floor_line=np.array(line),
        open_ends=open_ends,
        squared=squared,
    )
    return list(channel(o, bit, ToolpathBuilder(safe=SAFE + TOP, z=SAFE + TOP)))


def low(sections: list[Section]) -> list[Piece]:
    return [p for p in pieces(sections, 0.15) if min(p.a[2], p.b[2]) < TOP - 1e-9]


def on_floor(sections: list[Section]) -> list[Piece]:
    return [p for p in low(sections) if p.a[2] == p.b[2] == pytest.approx(FLOOR)]


def stadium(length: float, width: float) -> Any:
    return shapely.LineString([(width / 2, 0), (length - width / 2, 0)]).buffer(width / 2, 256)


WIDTHS = [6.4, 6.03, 7.5, 13.0]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("more", [{}, {"finish_allowance": 0.0}, {"step_over": 1.0}, {"finish_allowance": 2.0}])
def test_a_rounded_slot_is_a_stadium_of_its_width(width: float, more: dict[str, Any]) -> None:
    cut = swept(on_floor(run(width=width, **more)), 3.0)
    wanted = stadium(100, width)
    assert 0.0 == pytest.approx(cut.symmetric_difference(wanted).area, abs=0.05)
    assert wanted.buffer(0.002).covers(swept(low(run(width=width, **more)), 3.0))


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("step_over", [0.4, 1.0])
def test_a_squared_slot_is_a_rectangle_but_for_the_bit_s_corners(width: float, step_over: float) -> None:
    cut = swept(on_floor(run(width=width, squared=True, step_over=step_over)), 3.0)
    # Four corners of radius r leave r^2 (4 - pi).
    assert 100 * width - 9 * (4 - math.pi) == pytest.approx(cut.area, abs=0.05)
    assert (0.0, -width / 2, 100.0, width / 2) == pytest.approx(cut.bounds, abs=1e-6)


@pytest.mark.parametrize("width", [6.4, 11.0])
@pytest.mark.parametrize("open_ends", [(True, False), (False, True), (True, True)])
def test_an_open_end_is_cut_in_full_width_a_millimetre_past_it(width: float, open_ends: tuple[bool, bool]) -> None:
    cut = swept(on_floor(run(width=width, open_ends=open_ends, squared=True)), 3.0)
    x0, _, x1, _ = cut.bounds
    # The bit's middle runs its radius and 1 mm past the end, so its edge two radii and 1 mm.
    assert (-7.0 if open_ends[0] else 0.0, 107.0 if open_ends[1] else 100.0) == pytest.approx((x0, x1), abs=1e-6)
    inside = shapely.box(-1 if open_ends[0] else 3, -width / 2, 101 if open_ends[1] else 97, width / 2)
    assert 0.0 == pytest.approx(inside.difference(cut).area, abs=1e-3)


def test_a_slot_as_wide_as_the_bit_is_cut_along_its_middle_and_says_that_runout_widens_it() -> None:
    for width in (5.98, 6.0, 6.02):
        sections = run(width=width)
        assert {0.0} == {p.b[1] for p in low(sections)}
        assert (0.0, 100.0) == pytest.approx(swept(on_floor(sections), 3.0).bounds[::2], abs=0.011)
        assert "rod channel, 4 levels, as wide as the bit and its runout" == sections[0].title


def test_each_wall_has_a_pass_of_its_own_where_the_slot_is_hardly_wider_than_the_bit() -> None:
    sections = run(width=6.4)
    assert {-0.2, 0.2} == {round(p.b[1], 9) for p in on_floor(sections) if p.run > 40 and abs(p.b[1]) > 1e-9}
    assert "rod channel, 4 levels, then a skim of the walls" == sections[0].title


@pytest.mark.parametrize(("finish", "sign"), [("climb", 1), ("conventional", -1)])
@pytest.mark.parametrize("open_ends", [(False, False), (False, True)])
def test_the_skim_goes_round_the_side_that_is_asked(finish: str, sign: int, open_ends: tuple[bool, bool]) -> None:
    # Counter-clockwise inside a slot the material is on the right: with a cutter turning clockwise that climbs.
    sections = run(width=6.4, finish=finish, open_ends=open_ends)
    wall = [p for p in on_floor(sections) if abs(abs(p.a[1]) - 0.2) < 1e-9 and abs(abs(p.b[1]) - 0.2) < 1e-9]
    assert sign == math.copysign(1, turning(wall))


@pytest.mark.parametrize(("rough", "sign"), [("climb", 1), ("conventional", -1)])
def test_the_rough_rings_go_round_the_side_that_is_asked(rough: str, sign: int) -> None:
    sections = run(width=11.0, rough=rough, finish="climb")
    ring = [p for p in on_floor(sections) if abs(abs(p.a[1]) - 2.3) < 1e-9 and abs(abs(p.b[1]) - 2.3) < 1e-9]
    assert sign == math.copysign(1, turning(ring))


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("length", [20.0, 100.0])
@pytest.mark.parametrize("squared", [False, True])
def test_nothing_is_plunged(width: float, length: float, squared: bool) -> None:
    some = pieces(run(length=length, width=width, squared=squared))
    assert 3.0 >= steepest(some) - 1e-9
    assert rapids_are_safe([replace(p, a=(*p.a[:2], p.a[2] - TOP), b=(*p.b[:2], p.b[2] - TOP)) for p in some])
    # Straight down only to the wood's top.
    assert TOP == min(p.b[2] for p in some if p.run == 0 and p.fall > 0)


def test_levels_are_no_deeper_than_a_pass() -> None:
    sections = run(pass_depth=2.0)
    level = sorted({round(p.a[2], 9) for p in low(sections) if p.a[2] == p.b[2] and p.run > 50}, reverse=True)
    # 7 mm in passes of at most 2: four of 1.75.
    assert [16.25, 14.5, 12.75, 11.0] == level


def test_an_allowance_that_is_much_for_the_bit_is_skimmed_in_levels() -> None:
    sections = run(width=8.0, finish_allowance=1.0)
    walls = {round(p.a[2], 9) for p in low(sections) if p.a[1] == p.b[1] == -1.0 and p.run > 10}
    assert {16.25, 14.5, 12.75, 11.0} == walls


def test_a_slot_may_lie_any_way_and_begin_at_either_end() -> None:
    a, b = (10.0, 5.0), (60.0, 45.0)
    for ends, opened in (((a, b), (False, True)), ((b, a), (True, False))):
        cut = swept(on_floor(run(width=7.5, ends=[ends], open_ends=opened)), 3.0)
        near = shapely.Point(a).buffer(20)
        u = np.array([50.0, 40.0]) / math.hypot(50, 40)
        whole = shapely.LineString([np.array(a) + 3.75 * u, b]).buffer(3.75, 256)
        assert 0.0 == pytest.approx(
            cut.intersection(near).symmetric_difference(whole.intersection(near)).area, abs=0.05
        )
        assert cut.covers(shapely.LineString([np.array(a) + 0.1 * u, b]))


def test_a_pair_is_two_sections() -> None:
    sections = run(width=6.0, ends=[((0, 11), (80, 12)), ((0, -11), (80, -12))])
    assert ["slot 0", "slot 1"] == [s.title.split(",")[0] for s in sections]
    assert [-1.0, 1.0] == sorted(math.copysign(1, swept(low([s]), 3.0).centroid.y) for s in sections)


# Floors that are not level

# A circle of radius 1000 about x = 50: at 50 from the middle it is 1000 - sqrt(1e6 - 2500) = 1.25078 higher.
RISE = 1000 - math.sqrt(1e6 - 2500)


def arc(x: float) -> float:
    return FLOOR + 1000 - math.sqrt(1e6 - (min(max(x, 0.0), 100.0) - 50) ** 2)


ARC = [(float(x), arc(x)) for x in range(0, 101, 4)]


@pytest.mark.parametrize("width", [6.0, 6.4, 11.0])
@pytest.mark.parametrize("ends", [(False, False), (False, True), (True, False)])
def test_no_part_of_the_flat_end_comes_below_the_floor(width: float, ends: tuple[bool, bool]) -> None:
    for p in low(run(width=width, line=ARC, open_ends=ends)):
        for x, _, z in along(p, 0.5):
            # On the half circles of the ends the height goes evenly, within 0.003.
            assert z >= max(arc(x - 3), arc(x + 3)) - 3e-3


def test_along_the_middle_the_floor_is_met_and_beside_the_walls_a_flat_end_leaves_its_radius_times_the_slope() -> None:
    some = [q for p in low(run(width=6.0, line=ARC)) for q in along(p, 0.02)]
    xy, z = np.array([q[:2] for q in some]), np.array([q[2] for q in some])
    for x in (4.0, 20.0, 50.0, 77.0, 96.0):
        for y in (0.0, 2.0, 2.95):
            left = z[np.hypot(xy[:, 0] - x, xy[:, 1] - y) <= 3.0].min() - arc(x)
            slope = abs(x - 50) / 1000
            assert -1e-6 <= left <= slope * (3 - math.sqrt(9 - y * y)) + 0.011


def test_a_line_that_counts_from_the_other_end_is_followed_from_there() -> None:
    line = [(0.0, FLOOR), (50.0, FLOOR), (100.0, FLOOR + 2)]
    deepest = {
        opened: min(z for p in low(run(width=6.0, line=line, open_ends=opened)) for x, _, z in along(p) if x > 96)
        for opened in ((False, False), (False, True))
    }
    # At x 96 the flat end reaches to 99, where the floor is 49/50 of 2 mm above its lowest.
    assert [FLOOR + 1.96] * 2 == pytest.approx(list(deepest.values()), abs=0.02)


# Refusals


def test_a_slot_too_short_to_slope_down_in_is_refused() -> None:
    with pytest.raises(FeatureError) as refused:
        run(length=8.0, width=6.0)
    assert "rod channel: the bit has no room to enter on a slope" == refused.value.problem
    assert ("take a smaller bit", "bit") == (refused.value.hint, refused.value.key)


def test_a_bit_without_cutting_edges_in_its_middle_needs_a_way_as_long_as_itself() -> None:
    plain = flat(6.0, centre_cutting=False)
    with pytest.raises(FeatureError):
        run(length=11.0, width=6.0, bit=plain)
    some = low(run(length=12.5, width=6.0, bit=plain))
    assert 6.5 == pytest.approx(max(p.b[0] for p in some) - min(p.b[0] for p in some))


def test_in_a_short_wide_pocket_the_bit_slopes_down_around_it() -> None:
    sections = run(length=14.0, width=14.0)
    assert 0.0 == pytest.approx(
        swept(on_floor(sections), 3.0).symmetric_difference(stadium(14.0001, 14)).area, abs=0.05
    )
    assert 3.0 >= steepest(pieces(sections, 0.02)) - 0.05


@pytest.mark.parametrize("length", [30.0, 22.0, 100.0])
@pytest.mark.parametrize("angle", [1.0, 2.0, 3.0, 4.7, 8.0])
@pytest.mark.parametrize("depth", [1.0, 2.0, 3.5])
def test_after_every_ramp_the_whole_middle_is_cut_level(length: float, angle: float, depth: float) -> None:
    """However many legs a ramp takes, no wedge of it is left to the rings beside it."""
    sections = run(length, 6.4, ramp_angle=angle, pass_depth=depth)
    middle = [p for p in low(sections) if abs(p.a[1]) < 1e-9 and abs(p.b[1]) < 1e-9]
    count = math.ceil((TOP - FLOOR) / depth)
    # From wall to wall, less the bit's radius and its room of 0.2 mm at either end.
    way = length - 6.4
    for k in range(1, count + 1):
        z = TOP - (TOP - FLOOR) * k / count
        level = [p for p in middle if p.a[2] == p.b[2] == pytest.approx(z)]
        assert way - 1e-6 <= max((p.run for p in level), default=0.0)
