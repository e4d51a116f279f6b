"""Pockets: cleared from the middle outwards in rings, entered on a ramp or helix, the wall skimmed last."""

from __future__ import annotations

import math

import numpy as np
import pyclipper
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from toolpaths.core.bit import Bit
from toolpaths.core.finding import Refusal
from toolpaths.core.geometry import Loop
from toolpaths.core.levels import levels
from toolpaths.core.operation import Clear
from toolpaths.core.toolpath import Pen, Section
from toolpaths.core.track import Track

_SCALE = 1e6
"""Clipper works in whole numbers: millionths of a mm."""
_LEAST_HELIX = 0.05
"""A pocket that gives the bit's middle less room than this radius cannot be entered on a helix, mm."""
_NO_POST = 0.95
"""The innermost ring's radius stays below this part of the bit's."""
_LEAST_MISSED = 1e-3
"""Wood between rings that is nobody's concern, mm2."""
_OVERLAP = 1.0
"""How far the wall's skim runs on past its start, mm."""


def clear(operation: Clear, bit: Bit, pen: Pen) -> list[Section]:
    """Sections, one a pocket. Raises Refusal where the bit does not fit in."""
    out: list[Section] = []
    for loop, name in zip(operation.loops, operation.names, strict=True):
        rough, wall = _rings(loop, bit, operation, name)
        heights = levels(operation.top, operation.floor, operation.cutting.pass_depth)
        _pocket(operation, pen, rough, wall, heights)
        title = f"{name}, {len(heights)} level{'s' if len(heights) > 1 else ''}"
        out.append(Section(operation.feature, operation.bit, title, pen.taken(), operation.cutting.rpm))
    return out


def _pocket(operation: Clear, pen: Pen, rough: list[Track], wall: list[Track], heights: list[float]) -> None:
    cutting = operation.cutting
    inside = [shapely.Polygon(t.loop.flattened(0.001)) for t in rough]
    reach = shapely.union_all(inside).buffer(1e-3)
    above = operation.top
    for z in heights:
        for i, track in enumerate(rough):
            x, y = track.at(0.0)
            first = i == 0
            if (first and above == operation.top) or not _straight(pen, x, y, reach):
                pen.travel(x, y)
                pen.approach(above, cutting.descent)
                pen.cut(x, y, above, cutting.plunge)
                first = True
            elif first:
                # Across the floor already cut, to the start of the next ramp.
                pen.cut(x, y, above, cutting.feed)
            else:
                pen.cut(x, y, z, cutting.feed)
            if first:
                run = max((above - z) / math.tan(math.radians(cutting.ramp_angle)), 1e-6)
                track.run(pen, 0.0, run, above, z, cutting.ramp)
                track.run(pen, run, run + track.length, z, z, cutting.feed)
            else:
                track.run(pen, 0.0, track.length, z, z, cutting.feed)
        above = z
    grown = reach.buffer(cutting.finish_allowance + 2e-3)
    for track in wall:
        s = track.nearest(pen.x, pen.y)
        if not _straight(pen, *track.at(s), grown):
            # Down on the floor already cut, never on the wood that the skim is to take.
            s = 0.0
            pen.travel(*_beside(rough, *track.at(s)))
            pen.approach(operation.top, cutting.descent)
            pen.cut(pen.x, pen.y, above, cutting.plunge)
        pen.cut(*track.at(s), above, cutting.feed)
        track.run(pen, s, s + track.length + min(_OVERLAP, track.length / 4), above, above, cutting.feed)
        pen.cut(*_beside(rough, pen.x, pen.y), above, cutting.feed)
    pen.retract()


def _beside(rough: list[Track], x: float, y: float) -> tuple[float, float]:
    """The nearest place on a rough ring."""
    places = [t.at(t.nearest(x, y)) for t in rough]
    return min(places, key=lambda p: math.hypot(p[0] - x, p[1] - y))


def _straight(pen: Pen, x: float, y: float, reach: Polygon) -> bool:
    """Whether the bit may go straight there without leaving what the rings have covered."""
    return pen.z < pen.safe and bool(reach.covers(LineString([(pen.x, pen.y), (x, y)])))


def _rings(loop: Loop, bit: Bit, operation: Clear, name: str) -> tuple[list[Track], list[Track]]:
    """Rough rings from the middle outwards, and the rings that skim the wall (none without an allowance)."""
    cutting = operation.cutting
    allowance, step = cutting.finish_allowance, cutting.step_over * bit.cut_diameter
    rough_back, wall_back = cutting.rough == "conventional", cutting.finish == "conventional"
    circle = loop.as_circle()
    if circle is not None:
        x, y, radius = circle
        final = radius - bit.radius
        if final < _LEAST_HELIX:
            raise Refusal(
                f"{name}: the bit is about as wide as the pocket; it cannot be entered on a helix",
                "take a smaller bit",
                "bit",
            )
        if final - allowance < _LEAST_HELIX:
            allowance = 0.0
        outer = final - allowance
        rings = [Loop.circle(x, y, r) for r in _radii(outer, step, bit.radius)]
        walls = [Loop.circle(x, y, final)] if allowance > 0 else []
    else:
        rings, walls = _offset_rings(loop, bit, allowance, step, name)
    return (
        [Track.along(r, backwards=rough_back) for r in rings],
        [Track.along(w, backwards=wall_back) for w in walls],
    )


def _radii(outer: float, step: float, reach: float) -> list[float]:
    """Radii of rings from the middle outwards, mm, at most `step` apart; the innermost leaves no post standing."""
    count = max(1, math.ceil(outer / step - 1e-9))
    radii = [outer * (i + 1) / count for i in range(count)]
    return radii if radii[0] < reach * _NO_POST else [radii[0] / 2, *radii]


def _offset_rings(loop: Loop, bit: Bit, allowance: float, step: float, name: str) -> tuple[list[Loop], list[Loop]]:
    path = loop.flattened(0.001)
    walls = _inset(path, bit.radius)
    if not walls:
        raise Refusal(f"{name}: the bit does not fit into the pocket", "take a smaller bit", "bit")
    rings = _all_insets(path, bit.radius + allowance, step)
    if not rings:
        return walls, []
    # A wide step-over can leave wood standing in corners and in the middle: then the rings lie closer.
    while _missed(rings, bit.radius).area > _LEAST_MISSED:
        step /= 2
        rings = _all_insets(path, bit.radius + allowance, step)
    # Where the pocket is hardly wider than the bit, only the wall's own path goes through.
    rest = _filled(walls).buffer(bit.radius).difference(_filled(rings).buffer(bit.radius))
    if not rest.buffer(-bit.radius / 2).is_empty:
        return [*rings, *walls], (walls if allowance > 0 else [])
    return rings, (walls if allowance > 0 else [])


def _all_insets(path: np.ndarray, first: float, step: float) -> list[Loop]:
    """The outline moved inwards again and again, the innermost rings first."""
    rings: list[Loop] = []
    inset = first
    while found := _inset(path, inset):
        rings = found + rings
        inset += step
    return rings


def _missed(rings: list[Loop], reach: float) -> BaseGeometry:
    """What a bit of that radius leaves standing between the rings."""
    cut = shapely.union_all([shapely.LinearRing(r.points) for r in rings]).buffer(reach)
    return _filled(rings).buffer(reach - 1e-3).difference(cut)


def _filled(rings: list[Loop]) -> BaseGeometry:
    return shapely.union_all([Polygon(r.points) for r in rings])


def _inset(path: np.ndarray, by: float) -> list[Loop]:
    """The outline moved inwards by `by` mm, as outlines of straight edges."""
    offset = pyclipper.PyclipperOffset(2.0, 0.001 * _SCALE)
    offset.AddPath(np.round(path * _SCALE).astype(np.int64).tolist(), pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    out: list[Loop] = []
    for found in offset.Execute(-by * _SCALE):
        points = np.asarray(found, dtype=np.float64) / _SCALE
        if len(points) >= 3 and Polygon(points).area > 1e-6:
            if not Polygon(points).exterior.is_ccw:
                points = points[::-1]
            out.append(Loop(points, np.zeros(len(points))))
    return out
