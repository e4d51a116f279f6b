"""Engraved lines: followed end to end at the depth, entered along themselves, nothing plunged."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, along, pieces, rapids_are_safe, steepest
from toolpaths.operations.operation import Cutting, Engrave
from toolpaths.toolpath.strategies.engrave import engrave
from toolpaths.toolpath.toolpath import Arc, Section, ToolpathBuilder

TOP, FLOOR = 6.0, 3.5
T = np.linspace(0, 2 * math.pi, 400)

PATHS = {
    "long line": np.array([[0.0, 0.0], [120.0, 40.0]]),
    # A ramp of 3 degrees needs 24 mm for a pass of 1.25: this line is followed to and fro several times.
    "short line": np.array([[5.0, 5.0], [8.0, 9.0]]),
    "zigzag": np.array([[0.0, 0.0], [10.0, 10.0], [20.0, 0.0], [30.0, 10.0], [31.0, 0.0]]),
    "wave": np.stack([T * 10, 6 * np.sin(T)], axis=1),
    "square": np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 30.0], [0.0, 30.0], [0.0, 0.0]]),
    "small ring": np.concatenate([c := np.stack([2 * np.cos(T), 2 * np.sin(T)], axis=1)[:-1], c[:1]]),
}


def run(*paths: np.ndarray, cutting: Cutting = CUTTING) -> list[Section]:
    names = tuple(f"line {i}" for i in range(len(paths)))
    o = Engrave("engraving", 30, "one", cutting, "lines", TOP, FLOOR, paths, names)
    return list(engrave(o, flat(1.0), ToolpathBuilder(safe=SAFE, z=SAFE)))


def low(sections: list[Section]) -> list[Piece]:
    return [p for p in pieces(sections, 0.02) if min(p.a[2], p.b[2]) < TOP - 1e-9 and not p.rapid]


def plan(some: list[Piece]) -> shapely.Geometry:
    return shapely.union_all([shapely.LineString([p.a[:2], p.b[:2]]) for p in some if p.run > 0])


@pytest.mark.parametrize("name", PATHS)
def test_the_whole_line_is_followed_at_the_depth_and_nothing_beside_it(name: str) -> None:
    found, line = low(run(PATHS[name])), shapely.LineString(PATHS[name])
    floor = plan([p for p in found if p.a[2] == p.b[2] == FLOOR])
    # A thousandth for arcs found in chords, and half of one for the chords of this test.
    assert 0.0015 >= shapely.hausdorff_distance(floor, line, densify=0.05)
    assert 0.0015 >= max(line.distance(shapely.Point(p.b[:2])) for p in found)


@pytest.mark.parametrize("name", PATHS)
def test_passes_are_no_deeper_than_asked_and_entered_no_steeper_than_the_ramp(name: str) -> None:
    found = low(run(PATHS[name]))
    # 2.5 deep in passes of at most 2: two of 1.25.
    level = [p.a[2] for p in found if p.a[2] == p.b[2]]
    assert [4.75, 3.5] == sorted({round(z, 6) for z in level}, reverse=True)
    assert 3.0 + 0.02 >= steepest(found)


@pytest.mark.parametrize("name", PATHS)
def test_nothing_is_plunged_into_wood(name: str) -> None:
    for p in pieces(run(PATHS[name]), 0.02):
        assert p.rapid or p.fall <= 0 or p.run > 0 or p.b[2] >= TOP - 1e-9


@pytest.mark.parametrize("name", PATHS)
def test_no_pass_meets_wood_higher_than_the_pass_before_left(name: str) -> None:
    # At each place of the line the bit comes down by steps of at most a pass.
    line = shapely.LineString(PATHS[name])
    seen: dict[int, float] = {}
    for p in low(run(PATHS[name])):
        for end in along(p):
            at = round(line.project(shapely.Point(end[:2])) / 0.5)
            assert 2.0 + 0.05 >= seen.get(at, TOP) - end[2]
            seen[at] = min(seen.get(at, TOP), end[2])
    assert FLOOR == pytest.approx(max(seen.values()), abs=0.05)


def test_rapids_stay_at_the_safe_height() -> None:
    assert rapids_are_safe(pieces(run(*PATHS.values())))


def test_what_is_round_is_cut_in_arcs() -> None:
    steps = [s for section in run(PATHS["small ring"]) for s in section.steps]
    arcs = [s for s in steps if isinstance(s, Arc)]
    assert 30 > len(steps)  # of a path of 400 chords
    assert all(2.0 == pytest.approx(math.hypot(a.x - a.cx, a.y - a.cy), abs=0.002) for a in arcs)


def test_lines_are_taken_in_the_order_of_the_shortest_way_from_their_nearer_ends() -> None:
    far, near, middle = (np.array([[x, 0.0], [x + 5.0, 0.0]]) for x in (60.0, 2.0, 30.0))
    sections = run(far, near[::-1], middle)
    assert ["line 1, 2 passes", "line 2, 2 passes", "line 0, 2 passes"] == [s.title for s in sections]
    assert (2.0, 0.0) == (sections[0].steps[0].x, sections[0].steps[0].y)


def test_the_order_hangs_on_the_lines_alone_not_on_where_the_bit_was() -> None:
    lines = tuple(np.array([[x, y], [x + 5.0, y]]) for x, y in ((60.0, 0.0), (2.0, 8.0), (30.0, -4.0)))
    o = Engrave("engraving", 30, "one", CUTTING, "lines", TOP, FLOOR, lines, ("far", "near", "middle"))
    orders = []
    for at in ((0.0, 0.0), (70.0, 3.0)):
        pen = ToolpathBuilder(safe=SAFE, z=SAFE)
        pen.travel(*at)
        orders.append([s.piece for s in engrave(o, flat(1.0), pen)])
    assert [["near", "middle", "far"]] * 2 == orders


def test_a_shallow_line_takes_one_pass_and_still_comes_down_along_itself() -> None:
    shallow = replace(CUTTING, pass_depth=5.0)
    found = low(run(PATHS["long line"], cutting=shallow))
    assert {TOP, FLOOR} == {round(z, 6) for p in found for z in (p.a[2], p.b[2])}
    # 2.5 / tan 3 degrees = 47.70 mm down, the same back, then the whole 126.49; by hand.
    assert 2 * 47.703 + 126.491 == pytest.approx(sum(p.run for p in found), abs=0.01)


def test_feeds_are_the_ramp_s_on_the_way_down_and_the_feed_on_the_level() -> None:
    for p in low(run(PATHS["zigzag"])):
        if p.run > 0:
            assert (CUTTING.ramp if abs(p.fall) > 1e-9 else CUTTING.feed) == p.feed


def test_levels_fall() -> None:
    heights = [p.b[2] for p in low(run(PATHS["square"]))]
    assert all(b <= a + 1e-9 for a, b in pairwise(heights[:-1]))
