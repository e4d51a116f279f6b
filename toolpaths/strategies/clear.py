"""Pockets: cleared from the middle outwards in rings, entered on a ramp or helix, the wall skimmed last."""

from __future__ import annotations

import math

import numpy as np
import pyclipper
import shapely
from shapely import LineString, Polygon

from toolpaths.core.bit import Bit
from toolpaths.core.finding import Refusal
from toolpaths.core.geometry import Loop
from toolpaths.core.levels import levels
from toolpaths.core.operation import Clear
from toolpaths.core.toolpath import Pen, Section
from toolpaths.core.track import Track

_SCALE = 1e6
"""Clipper works in whole numbers: millionths of a mm."""
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
            if first and above == operation.top:
                pen.travel(x, y)
                pen.approach(above, cutting.feed)
                pen.cut(x, y, above, cutting.plunge)
            elif not _straight(pen, x, y, reach):
                pen.travel(x, y)
                pen.approach(above, cutting.feed)
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
    for track in wall:
        s = track.nearest(pen.x, pen.y)
        x, y = track.at(s)
        if not _straight(pen, x, y, reach.buffer(cutting.finish_allowance + 2e-3)):
            pen.travel(x, y)
            pen.approach(operation.top, cutting.feed)
            pen.cut(x, y, above, cutting.plunge)
        pen.cut(x, y, above, cutting.feed)
        back = (pen.x, pen.y)
        track.run(pen, s, s + track.length + min(_OVERLAP, track.length / 4), above, above, cutting.feed)
        ring = rough[-1]
        pen.cut(*ring.at(ring.nearest(*back)), above, cutting.feed)
    pen.retract()


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
        if final - allowance < 0.05:
            allowance = 0.0
        if final < 1e-6:
            raise Refusal(
                f"{name}: the bit is as wide as the pocket; it cannot be entered on a helix",
                "take a smaller bit",
                "bit",
            )
        outer = final - allowance
        count = max(1, math.ceil(outer / step - 1e-9))
        rings = [Loop.circle(x, y, outer * (i + 1) / count) for i in range(count)]
        walls = [Loop.circle(x, y, final)] if allowance > 0 else []
    else:
        rings, walls = _offset_rings(loop, bit, allowance, step, name)
    return (
        [Track.along(r, backwards=rough_back) for r in rings],
        [Track.along(w, backwards=wall_back) for w in walls],
    )


def _offset_rings(loop: Loop, bit: Bit, allowance: float, step: float, name: str) -> tuple[list[Loop], list[Loop]]:
    path = loop.flattened(0.001)
    walls = _inset(path, bit.radius)
    if not walls:
        raise Refusal(f"{name}: the bit does not fit into the pocket", "take a smaller bit", "bit")
    rings: list[Loop] = []
    inset = bit.radius + allowance
    while found := _inset(path, inset):
        rings = found + rings
        inset += step
    if not rings:
        return walls, []
    return rings, (walls if allowance > 0 else [])


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
