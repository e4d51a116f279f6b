"""Outlines: ramps, tabs left standing, an open kerf, a last skim; the part itself is never touched."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, along, pieces, rapids_are_safe, steepest, swept, turning
from toolpaths.geometry.loop import Loop
from toolpaths.operations.operation import Contour, Cutting, Tab
from toolpaths.toolpath.strategies.contour import contour
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

TOP, FLOOR, TAB = 6.0, -0.2, 1.5
SIX = flat(6.0)
CORNERS = [(0.0, -18.0), (300.0, -24.0), (300.0, 24.0), (0.0, 18.0)]
TABS = ((90.0, -1), (220.0, -1), (90.0, 1), (220.0, 1))


def tabs(*places: tuple[float, int], length: float = 8.0) -> tuple[Tab, ...]:
    e = math.hypot(300, 6)
    return tuple(Tab((x, s * (18 + 6 * x / 300)), (300 / e, s * 6 / e), length, TAB) for x, s in places)


def operation(
    corners: list[tuple[float, float]] = CORNERS,
    standing: tuple[Tab, ...] = (),
    cutting: Cutting = CUTTING,
    kerf: float = 6.2,
) -> Contour:
    return Contour(
        "outline", 30, "six", cutting, "cut the outline free", TOP, FLOOR, Loop.polygon(corners), kerf, standing
    )


def run(o: Contour) -> list[Section]:
    return list(contour(o, SIX, ToolpathBuilder(safe=SAFE, z=SAFE)))


def low(o: Contour) -> list[Piece]:
    return [p for p in pieces(run(o)) if min(p.a[2], p.b[2]) < TOP - 1e-9]


PLAIN, HELD = operation(), operation(standing=tabs(*TABS))
WIDE = operation(kerf=8.4)
WIDE_HELD = operation(standing=tabs(*TABS), kerf=8.4)
DRY = replace(CUTTING, finish_allowance=0.0)
NO_SKIM = operation(standing=tabs(*TABS), cutting=DRY, kerf=6.0)
STEEP = operation(cutting=replace(CUTTING, pass_depth=6.0, ramp_angle=2.0))
SMALL = operation([(0.0, -9.0), (21.0, -10.0), (21.0, 10.0), (0.0, 9.0)])
ALL = {
    "plain": PLAIN,
    "held": HELD,
    "wide": WIDE,
    "wide, held": WIDE_HELD,
    "no skim": NO_SKIM,
    "steep": STEEP,
    "small": SMALL,
}
each = pytest.mark.parametrize("o", ALL.values(), ids=ALL.keys())


@each
def test_the_part_is_never_touched(o: Contour) -> None:
    part = shapely.Polygon(o.loop.points)
    for p in low(o):
        assert 3.0 - 0.003 <= part.distance(shapely.LineString([p.a[:2], p.b[:2]]))  # chords of 0.2 mm round corners


@settings(max_examples=60)
@given(st.floats(8, 60), st.floats(8, 60), st.floats(0.5, 1.5), st.floats(1.0, 6.0), st.floats(1.5, 8.0))
def test_no_board_however_short_is_touched_by_the_skim_s_lean(
    length: float, width: float, taper: float, pass_depth: float, angle: float
) -> None:
    a, b = width / 2, width * taper / 2
    cutting = replace(CUTTING, pass_depth=pass_depth, ramp_angle=angle)
    o = operation([(0, -a), (length, -b), (length, b), (0, a)], cutting=cutting)
    part = shapely.Polygon(o.loop.points)
    assert 3.0 - 0.003 <= min(part.distance(shapely.LineString([p.a[:2], p.b[:2]])) for p in low(o))


@each
def test_the_kerf_is_opened_all_around_and_no_wider(o: Contour) -> None:
    part = shapely.Polygon(o.loop.points)
    at_floor = [p for p in low(o) if p.a[2] == p.b[2] == FLOOR]
    band = part.buffer(o.kerf - 0.02, 64).difference(part.buffer(0.02))
    for tab in o.tabs:
        band = band.difference(shapely.Point(tab.at).buffer(tab.length / 2 + 6.1 + o.kerf))
    assert band.difference(swept(at_floor, 3.0)).area == pytest.approx(0.0, abs=1e-3)
    assert swept(low(o), 3.0).difference(part.buffer(o.kerf + 0.01, 64)).area == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("o", [HELD, WIDE_HELD, NO_SKIM])
def test_over_a_tab_and_a_radius_beside_it_the_bit_is_at_its_height_or_above(o: Contour) -> None:
    for p in low(o):
        for x, y, z in along(p):
            for tab in o.tabs:
                (tx, ty), (ux, uy) = tab.at, tab.along
                s, n = (x - tx) * ux + (y - ty) * uy, -(x - tx) * uy + (y - ty) * ux
                if abs(n) < 8.5 and abs(s) < tab.length / 2 + 3.0 - 1e-6:
                    assert TAB <= z + 1e-9


def test_between_tabs_the_cut_goes_through() -> None:
    part = shapely.Polygon(CORNERS)
    through = swept([p for p in low(HELD) if p.a[2] == p.b[2] == FLOOR], 3.0)
    left = part.buffer(6.15).difference(part.buffer(0.05)).difference(through)
    pieces_left = [g for g in shapely.get_parts(left) if g.area > 0.5]
    assert 4 == len(pieces_left)
    for standing in pieces_left:
        # Eight long at the core, and a quarter of a bit's circle more at each end toward the waste and the part.
        assert 8.0 - 0.1 <= standing.bounds[2] - standing.bounds[0] <= 8.0 + 2 * 3.0 + 0.5


def test_the_tabs_top_is_a_level_of_its_own_so_that_they_are_crossed_in_air() -> None:
    levels = {round(p.a[2], 6) for p in low(HELD) if p.a[2] == p.b[2]}
    assert TAB in levels


@each
def test_levels_are_no_deeper_than_a_pass_and_ramps_no_steeper_than_asked(o: Contour) -> None:
    found = low(o)
    levels = [TOP, *sorted({round(p.a[2], 6) for p in found if p.a[2] == p.b[2]}, reverse=True)]
    assert FLOOR == levels[-1]
    assert o.cutting.pass_depth + 1e-6 >= max(a - b for a, b in pairwise(levels))
    assert o.cutting.ramp_angle + 0.01 >= steepest(found)  # chords are a little shorter than their arcs


@each
def test_straight_down_the_bit_goes_only_where_it_has_cut_or_beside_a_tab_on_the_skim(o: Contour) -> None:
    been: list[Piece] = []
    for p in pieces(run(o)):
        if not p.rapid and p.fall > 0 and p.run < 1e-9 and p.b[2] < TOP - 1e-9:
            deep = [q for q in been if max(q.a[2], q.b[2]) <= p.b[2] + 1e-9 and math.dist(q.a[:2], p.b[:2]) < 400]
            new = shapely.Point(p.b[:2]).buffer(2.98).difference(swept(deep, 3.0))
            # A skim may go down beside a tab by its own thin allowance, at the plunge feed, into nothing thicker.
            assert new.buffer(-o.cutting.finish_allowance / 2 - 0.01).is_empty
            if new.area > 0.1:
                assert o.cutting.plunge == p.feed
        been.append(p)


@each
def test_rapids_stay_at_the_safe_height(o: Contour) -> None:
    assert rapids_are_safe(pieces(run(o)))


@each
def test_nothing_moves_straight_up_or_down_faster_than_the_z_axis_bears(o: Contour) -> None:
    assert 800.0 >= max(p.feed for p in pieces(run(o)) if p.run < 1e-9)


def test_rough_is_conventional_and_the_skim_climbs() -> None:
    # A cutter turning clockwise climbs with the material to its right: the part lies inside, so clockwise; from memory.
    sections = run(PLAIN)
    found = pieces(sections)
    skim = len(sections) - 1
    assert 0 < turning([p for p in found if p.section < skim and p.a[2] < TOP])
    assert 0 > turning([p for p in found if p.section == skim and p.a[2] < TOP])


@pytest.mark.parametrize(("direction", "sign"), [("climb", -1), ("conventional", 1)])
def test_a_direction_asked_for_holds_for_all_of_it(direction: str, sign: int) -> None:
    asked = operation(cutting=replace(CUTTING, rough=direction, finish=direction))  # type: ignore[arg-type]
    for k in range(len(run(asked))):
        assert 0 < sign * turning([p for p in pieces(run(asked)) if p.section == k and p.a[2] < TOP])


def test_the_skim_takes_its_allowance_at_full_depth_all_around() -> None:
    sections = run(PLAIN)
    last = [p for p in pieces(sections) if p.section == len(sections) - 1 and p.a[2] == p.b[2] == FLOOR]
    before = [p for p in pieces(sections) if p.section < len(sections) - 1 and p.a[2] == p.b[2] == FLOOR]
    part = shapely.Polygon(CORNERS)
    assert 3.2 == pytest.approx(min(part.distance(shapely.Point(p.a[:2])) for p in before), abs=1e-3)
    ring = part.buffer(0.15, 64).difference(part.buffer(0.01, 64))
    assert ring.difference(swept(last, 3.0)).area == pytest.approx(0.0, abs=1e-3)
    assert "cut the outline free, last skim of 0.20 mm along the wall" == sections[-1].title


def test_two_tabs_nearer_than_the_bit_is_wide_stand_as_one() -> None:
    near = operation(standing=tabs((100.0, -1), (111.0, -1), (200.0, 1)))
    for p in low(near):
        for x, y, z in along(p):
            if y < 0 and 96 - 2.5 < x < 115 + 2.5:
                assert TAB <= z + 1e-9


def test_one_tab_is_enough_to_be_left_standing() -> None:
    one = operation(standing=tabs((150.0, -1)))
    assert FLOOR == min(p.b[2] for p in low(one))
    assert all(TAB <= z + 1e-9 for p in low(one) for x, y, z in along(p) if y < 0 and 144 < x < 156)
