"""Pockets: all of the floor the bit can reach, nothing outside, entered on ramps, the wall skimmed last."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe, steepest, swept, turning
from toolpaths.common.errors import FeatureError
from toolpaths.geometry.loop import Area, Loop
from toolpaths.operations.operation import Clear, Cutting
from toolpaths.toolpath.strategies.clear import clear
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

TOP, FLOOR = 6.0, 3.0
THREE = flat(3.0)

SHAPES = {
    "square": Loop.polygon([(0, 0), (20, 0), (20, 20), (0, 20)]),
    "wedge": Loop.polygon([(0, 0), (30, 0), (0, 12)]),
    "corner": Loop.polygon([(0, 0), (24, 0), (24, 8), (8, 8), (8, 24), (0, 24)]),
    "horseshoe": Loop.polygon([(0, 0), (30, 0), (30, 20), (22, 20), (22, 8), (8, 8), (8, 20), (0, 20)]),
    # Two chambers and a neck that is just wider than the bit and its skim, then one that only the wall's path passes.
    "wide neck": Loop.polygon(
        [(0, 0), (12, 0), (12, 4), (20, 4), (20, 0), (32, 0), (32, 12), (20, 12), (20, 8), (12, 8), (12, 12), (0, 12)]
    ),
    "narrow neck": Loop.polygon(
        [
            (0, 0), (12, 0), (12, 4.4), (20, 4.4), (20, 0), (32, 0),
            (32, 12), (20, 12), (20, 7.6), (12, 7.6), (12, 12), (0, 12),
        ]
    ),
    "star": Loop.polygon(
        [
            (r * math.cos(k * math.pi / 5), r * math.sin(k * math.pi / 5))
            for k, r in enumerate([14, 7, 14, 7, 14, 7, 14, 7, 14, 7])
        ]
    ),
}  # fmt: skip


def run(loop: Loop, cutting: Cutting = CUTTING, bit: object = THREE) -> list[Section]:
    o = Clear("marker_pockets", 30, "three", cutting, "pockets", TOP, FLOOR, (Area(loop, (), "marker at fret 3"),))
    return list(clear(o, bit, ToolpathBuilder(safe=SAFE, z=SAFE)))  # type: ignore[arg-type]


def low(sections: list[Section]) -> list[Piece]:
    return [p for p in pieces(sections, 0.05) if min(p.a[2], p.b[2]) < TOP - 1e-9]


def on_floor(sections: list[Section]) -> list[Piece]:
    return [p for p in low(sections) if p.a[2] == p.b[2] == pytest.approx(FLOOR)]


@pytest.mark.parametrize("step_over", [0.2, 0.4, 0.6, 1.0])
@pytest.mark.parametrize("name", SHAPES)
def test_all_of_the_floor_that_the_bit_can_reach_is_cut(name: str, step_over: float) -> None:
    wanted = SHAPES[name].shape().buffer(-1.5, 64).buffer(1.5, 64)
    cover = swept(on_floor(run(SHAPES[name], replace(CUTTING, step_over=step_over))), 1.5)
    # What is left is thinner than 0.02 mm: the rounding of corners and of the offset's own arcs.
    assert wanted.difference(cover).buffer(-0.01).is_empty


@pytest.mark.parametrize("name", SHAPES)
def test_the_bit_never_leaves_the_pocket(name: str) -> None:
    pocket = SHAPES[name].shape()
    for p in low(run(SHAPES[name])):
        inside = shapely.LineString([p.a[:2], p.b[:2]]) if p.run else shapely.Point(p.a[:2])
        assert pocket.covers(inside)
        assert 1.5 - 0.004 <= pocket.exterior.distance(inside)


@pytest.mark.parametrize("name", SHAPES)
def test_levels_are_no_deeper_than_a_pass_and_entered_no_steeper_than_the_ramp(name: str) -> None:
    found = low(run(SHAPES[name]))
    levels = [TOP, *sorted({round(p.a[2], 6) for p in found if p.a[2] == p.b[2]}, reverse=True)]
    assert FLOOR == levels[-1]
    assert 2.0 + 1e-6 >= max(a - b for a, b in pairwise(levels))
    assert 3.0 + 0.02 >= steepest(found)


@pytest.mark.parametrize("name", SHAPES)
def test_nothing_is_plunged_into_wood(name: str) -> None:
    # Straight down only onto the top, or where the bit has been as deep before.
    been: list[Piece] = []
    for p in pieces(run(SHAPES[name]), 0.05):
        if not p.rapid and p.fall > 0 and p.run < 1e-9 and p.b[2] < TOP - 1e-9:
            deep = [q for q in been if max(q.a[2], q.b[2]) <= p.b[2] + 1e-9 and beside(q, p.b)]
            assert swept(deep, 1.5).covers(shapely.Point(p.b[:2]).buffer(1.5 - 0.01))
        been.append(p)


def test_rapids_stay_at_the_safe_height() -> None:
    assert all(rapids_are_safe(pieces(run(loop))) for loop in (*SHAPES.values(), Loop.circle(0, 0, 5)))


# Round pockets


@pytest.mark.parametrize("step_over", [0.4, 0.7, 1.0])
@pytest.mark.parametrize("radius", [1.6, 2.5, 3.0, 3.49, 9.0, 20.0])
def test_a_round_pocket_is_cleared_whole_to_its_radius(radius: float, step_over: float) -> None:
    # 20 mm with a step-over of a whole bit: without care a post of 3 mm would stand in the middle.
    cover = swept(on_floor(run(Loop.circle(5, -2, radius), replace(CUTTING, step_over=step_over))), 1.5)
    disc = shapely.Point(5, -2).buffer(radius, 256)
    assert disc.buffer(-0.01).difference(cover).area == pytest.approx(0.0, abs=1e-6)
    assert cover.difference(disc.buffer(0.001)).area == pytest.approx(0.0, abs=1e-3)


def test_a_round_pocket_s_wall_is_skimmed_by_the_allowance() -> None:
    found = on_floor(run(Loop.circle(0, 0, 5)))
    rings = sorted({round(math.hypot(*p.a[:2]), 3) for p in found if p.run > 0.02})
    assert 3.5 == rings[-1]  # 5 - 1.5
    assert 3.3 in rings  # the rough ring, 0.2 inside


def test_rough_is_conventional_and_the_skim_climbs() -> None:
    # A cutter turning clockwise climbs with the material to its right: counter-clockwise inside a pocket; from memory.
    found = low(run(Loop.circle(0, 0, 5)))
    around = [p for p in found if math.hypot(*p.a[:2]) > 1.0 and p.run > 0.01]
    assert 0 < turning([p for p in around if math.hypot(*p.a[:2]) == pytest.approx(3.5) == math.hypot(*p.b[:2])])
    assert 0 > turning([p for p in around if math.hypot(*p.a[:2]) < 3.31 and math.hypot(*p.b[:2]) < 3.31])


def test_a_square_is_roughed_clockwise_and_skimmed_counter_clockwise() -> None:
    found = on_floor(run(SHAPES["square"]))
    edge = shapely.box(1.5, 1.5, 18.5, 18.5).exterior
    skim = [p for p in found if edge.distance(shapely.Point(p.a[:2])) < 1e-3 > edge.distance(shapely.Point(p.b[:2]))]
    rest = [p for p in found if p not in skim]
    assert 0 < turning(skim)
    assert 0 > turning(rest)


def test_a_direction_asked_for_holds_for_every_ring() -> None:
    asked = replace(CUTTING, rough="climb", finish="climb")
    rings = [
        p for p in low(run(Loop.circle(0, 0, 9), asked)) if math.hypot(*p.a[:2]) == pytest.approx(math.hypot(*p.b[:2]))
    ]
    assert all(p.a[0] * p.b[1] - p.b[0] * p.a[1] > -1e-9 for p in rings)


@pytest.mark.parametrize("radius", [1.5, 1.50001, 1.54])
def test_a_pocket_about_as_wide_as_the_bit_is_refused_not_drilled(radius: float) -> None:
    with pytest.raises(FeatureError) as caught:
        run(Loop.circle(0, 0, radius))
    assert (
        "marker at fret 3: the bit is about as wide as the pocket and cannot enter on a helix",
        "take a smaller bit",
        "bit",
    ) == (caught.value.problem, caught.value.hint, caught.value.key)


def test_a_pocket_narrower_than_the_bit_is_refused() -> None:
    with pytest.raises(FeatureError, match="marker at fret 3: the bit does not fit into the pocket"):
        run(Loop.polygon([(0, 0), (20, 0), (20, 2.9), (0, 2.9)]))


def test_the_title_tells_the_levels() -> None:
    assert ["marker at fret 3, 2 levels"] == [s.title for s in run(Loop.circle(0, 0, 5))]
    deep = replace(CUTTING, pass_depth=4.0)
    assert ["marker at fret 3, 1 level"] == [s.title for s in run(Loop.circle(0, 0, 5), deep)]


@pytest.mark.parametrize(("skim", "pass_depth"), [(0.3, 2.0), (0.3, 0.25), (0.5, 1.0)])
def test_a_last_level_may_be_a_skim(skim: float, pass_depth: float) -> None:
    """Even levels down to it, none deeper than a pass: 2.7 in two of 1.35, then 0.3."""
    o = Clear(
        "heel_face", 30, "three", replace(CUTTING, pass_depth=pass_depth), "seat", TOP, FLOOR,
        (Area(SHAPES["square"], (), "seat"),), skim,
    )  # fmt: skip
    found = list(clear(o, THREE, ToolpathBuilder(safe=SAFE, z=SAFE)))
    heights = sorted({round(p.a[2], 6) for p in low(found) if p.a[2] == p.b[2]}, reverse=True)
    assert FLOOR == heights[-1]
    assert min(skim, pass_depth) == pytest.approx(heights[-2] - heights[-1])
    assert pass_depth + 1e-6 >= max(a - b for a, b in pairwise([TOP, *heights]))
    if (skim, pass_depth) == (0.3, 2.0):
        assert [4.65, 3.3, 3.0] == pytest.approx(heights)


# Islands

CHAMBER = Loop.polygon([(0, 0), (40, 0), (40, 30), (0, 30)])
ISLANDS = {
    "block": (CHAMBER, (Loop.polygon([(12, 10), (26, 10), (26, 20), (12, 20)]),)),
    "two posts": (CHAMBER, (Loop.circle(11, 15, 4), Loop.circle(29, 15, 4))),
    # 3.6 mm of way between the posts: the bit goes through along the wall's own path only.
    "close posts": (CHAMBER, (Loop.circle(14, 15, 4), Loop.circle(25.6, 15, 4))),
    "ring": (Loop.circle(0, 0, 10), (Loop.circle(0, 0, 5),)),
}


def island_run(name: str, cutting: Cutting = CUTTING) -> list[Section]:
    loop, within = ISLANDS[name]
    o = Clear("pocket", 30, "three", cutting, "pockets", TOP, FLOOR, (Area(loop, within, "medal"),))
    return list(clear(o, THREE, ToolpathBuilder(safe=SAFE, z=SAFE)))


def island_shape(name: str) -> shapely.Polygon:
    loop, within = ISLANDS[name]
    return loop.shape().difference(shapely.union_all([island.shape() for island in within]))


@pytest.mark.parametrize("step_over", [0.4, 1.0])
@pytest.mark.parametrize("name", ISLANDS)
def test_all_around_the_islands_is_cut(name: str, step_over: float) -> None:
    wanted = island_shape(name).buffer(-1.5, 64).buffer(1.5, 64)
    cover = swept(on_floor(island_run(name, replace(CUTTING, step_over=step_over))), 1.5)
    assert wanted.difference(cover).buffer(-0.01).is_empty


def beside(piece: Piece, place: tuple[float, float, float]) -> bool:
    """Whether a bit of 3 mm on that piece can have cleared any of what it covers at a place."""
    (ax, ay), (bx, by) = piece.a[:2], piece.b[:2]
    x, y = place[:2]
    square = (bx - ax) ** 2 + (by - ay) ** 2
    t = 0.0 if square == 0 else min(1.0, max(0.0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / square))
    return math.hypot(ax + t * (bx - ax) - x, ay + t * (by - ay) - y) < 3.0


@pytest.mark.parametrize("name", ISLANDS)
def test_islands_stand_and_the_bit_stays_within_the_walls(name: str) -> None:
    room = island_shape(name)
    for p in low(island_run(name)):
        inside = shapely.LineString([p.a[:2], p.b[:2]]) if p.run else shapely.Point(p.a[:2])
        assert room.covers(inside)
        assert 1.5 - 0.004 <= room.boundary.distance(inside)


@pytest.mark.parametrize("name", ISLANDS)
def test_around_islands_too_nothing_is_plunged_and_ramps_are_kept(name: str) -> None:
    found = low(island_run(name))
    assert 3.0 + 0.02 >= steepest(found)
    been: list[Piece] = []
    for p in pieces(island_run(name), 0.1):
        if not p.rapid and p.fall > 0 and p.run < 1e-9 and p.b[2] < TOP - 1e-9:
            deep = [q for q in been if max(q.a[2], q.b[2]) <= p.b[2] + 1e-9 and beside(q, p.b)]
            assert swept(deep, 1.5).covers(shapely.Point(p.b[:2]).buffer(1.5 - 0.01))
        been.append(p)


def test_an_island_s_wall_is_skimmed_in_the_climbing_direction_too() -> None:
    # Around an island the material lies inside: climbing goes clockwise there; from memory.
    found = on_floor(island_run("ring"))
    skim = [p for p in found if math.hypot(*p.a[:2]) == pytest.approx(6.5, abs=2e-3) == math.hypot(*p.b[:2])]
    assert 0 > turning(skim)


def test_a_pocket_that_its_island_fills_is_refused() -> None:
    o = Clear(
        "pocket",
        30,
        "three",
        CUTTING,
        "pockets",
        TOP,
        FLOOR,
        (Area(CHAMBER, (Loop.polygon([(1, 1), (39, 1), (39, 29), (1, 29)]),), "medal"),),
    )
    with pytest.raises(FeatureError, match="medal: the bit does not fit into the pocket"):
        list(clear(o, THREE, ToolpathBuilder(safe=SAFE, z=SAFE)))
