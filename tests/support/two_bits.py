"""A pocket cleared by a first bit, and what a second does after it: the promises of the second, to be judged.

The margin: where wood stood, the second bit's middle may be as far from that wood as its radius, OVERLAP (0.3 mm) and
two looks (0.05 mm) along its path. Everywhere else it stays where the first bit has left no wood within its radius.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from tests.support.setup_builder import CUTTING, flat
from tests.support.steps import SAFE, Piece, pieces, rapids_are_safe, swept
from toolpaths.geometry.loop import Area, Loop
from toolpaths.operations.operation import Clear, Corners, Cutting
from toolpaths.operations.rest_material import OVERLAP, left_standing
from toolpaths.target_shape.demand import opened
from toolpaths.toolpath.strategies.clear import clear
from toolpaths.toolpath.strategies.corners import corners
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

TOP, FLOOR = 6.0, 4.5
FIRST, SECOND = 3.0, 1.5
SKIM = replace(CUTTING, pass_depth=0.5, finish_allowance=0.0)
_MARGIN = OVERLAP + 2 * 0.05


def second(
    loop: Loop, islands: tuple[Loop, ...] = (), first: float = FIRST, then: float = SECOND, cutting: Cutting = SKIM
) -> list[Section]:
    """What a bit of diameter `then` does after one of `first`, mm."""
    o = Corners("pocket", 30, "small", cutting, "left", TOP, FLOOR, (Area(loop, islands, "star"),), first / 2)
    return list(corners(o, flat(then), ToolpathBuilder(safe=SAFE, z=SAFE)))


def by_the_first(loop: Loop, diameter: float = FIRST) -> BaseGeometry:
    """What the first bit's own path covers on the floor."""
    o = Clear("pocket", 30, "large", CUTTING, "pocket", TOP, FLOOR, (Area(loop, (), "star"),))
    return swept(on_floor(list(clear(o, flat(diameter), ToolpathBuilder(safe=SAFE, z=SAFE)))), diameter / 2)


def low(sections: list[Section]) -> list[Piece]:
    return [p for p in pieces(sections, 0.05) if min(p.a[2], p.b[2]) < TOP - 1e-9]


def on_floor(sections: list[Section]) -> list[Piece]:
    return [p for p in low(sections) if p.b[2] == pytest.approx(FLOOR) and p.run > 0]


def judge(loop: Loop, islands: tuple[Loop, ...], first: float, then: float, cutting: Cutting) -> None:
    """Every promise, on one pocket."""
    area = loop.shape().difference(shapely.union_all([i.shape() for i in islands]))
    sections = second(loop, islands, first, then, cutting)
    left = left_standing(area, first / 2, then / 2)
    if left.is_empty:
        assert [] == sections
        return
    cut = low(sections)
    # Nothing beside the pocket: arcs that are found again stray at most 0.001 mm, the chords of this test as much.
    assert 1e-5 >= swept(cut, then / 2).difference(area.buffer(2.5e-3)).area
    # All of it: a hundredth of a millimetre is the least that counts as a corner.
    assert 1e-5 >= left.buffer(-5e-3).difference(swept(on_floor(sections), then / 2).buffer(1e-2)).area
    # Only there: beside the wood that is left, or over the floor that is cleared.
    free = opened(area, first / 2).buffer(-then / 2).buffer(6e-3)
    near = left.buffer(then / 2 + _MARGIN)
    way = shapely.union_all([shapely.LineString([p.a[:2], p.b[:2]]) for p in cut if p.run > 0])
    assert 1e-6 > way.difference(free.union(near)).length
    for i, p in enumerate(cut):
        assert p.rapid or p.fall <= 1e-9 or _gently_down(p, cut[:i], free, cutting)
    assert rapids_are_safe(pieces(sections))


def _gently_down(p: Piece, before: Sequence[Piece], free: BaseGeometry, cutting: Cutting) -> bool:
    """Down over the cleared floor, on a ramp's slope, or straight down to where it has been before; never into wood."""
    if free.covers(shapely.LineString([p.a[:2], p.b[:2]])):
        return True
    if p.run > 1e-9:
        return math.degrees(math.atan2(p.fall, p.run)) <= cutting.ramp_angle + 0.05
    x, y, z = p.b
    return any(math.hypot(q.b[0] - x, q.b[1] - y) < 2e-3 and q.b[2] <= z + 1e-9 for q in before)
