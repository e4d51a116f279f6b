"""Shapes cut by a pointed bit along their middle, as deep as both walls allow; wide places level, in rings.

Each pass follows what the one before has not reached, and begins where that one ended: nothing is plunged where a
shape has a sharp corner to begin in, else the bit comes down on a ramp along its way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from shapely import LineString, Polygon

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import Loop
from toolpaths.geometry.offset import drawn_in, outline_and_islands
from toolpaths.geometry.way import distances, length_of
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Carve
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder
from toolpaths.toolpath.vcarve_paths import NOTHING, VcarvePaths

_DOT = 0.5
"""A way shorter than this is a dot, mm."""
_PLUNGE = math.tan(math.radians(30.0))
"""A way that falls more steeply is a plunge. Common practice, no source."""


def carve(operation: Carve, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a shape."""
    for area in operation.areas:
        paths = outline_and_islands(area)
        net = VcarvePaths.of(Polygon(paths[0], paths[1:]), operation)
        deepest = float(net.depth.max(initial=0.0))
        heights = levels(operation.top, operation.top - deepest, operation.cutting.pass_depth)
        rings = list(_rings(paths, operation)) if deepest >= operation.top - operation.floor - NOTHING else []
        before = 0.0
        for z in heights:
            reached = operation.top - z
            for way in net.ways(before, reached):
                _follow(operation, pen, way, before, reached)
            _level(operation, pen, rings, before, reached)
            before = reached
        pen.retract()
        title = f"{area.name}, {len(heights)} pass{'es' if len(heights) > 1 else ''}"
        if heights:
            yield pen.section(operation, title, area.name)


def _follow(operation: Carve, pen: ToolpathBuilder, way: Array, before: float, upto: float) -> None:
    """Cut one way from its start; where it starts in wood, on a ramp whose stretch is cut to full depth at the end."""
    cutting, top = operation.cutting, operation.top
    start = float(way[0, 2])
    # A dot has no length to come down along: there a point goes straight down.
    ramped = start > before + NOTHING and length_of(way) >= _DOT
    x, y = float(way[0, 0]), float(way[0, 1])
    pen.enter(x, y, top - (before if ramped else start), top - before, cutting)
    if not ramped:
        _run(operation, pen, way)
        return
    fall = cutting.slope
    done = before
    for _ in range(1 + math.ceil((upto - before) / fall / max(length_of(way), NOTHING))):
        slope, done = _eased(way, done, fall)
        _run(operation, pen, slope)
        if done >= upto - NOTHING:
            break
    # Once more over what the ramp has not cut to its depth.
    gone = distances(way)
    need = min((upto - before) / fall, float(gone[-1]))
    last = int(np.searchsorted(gone, need))
    _run(operation, pen, way[: last + 1])


def _eased(way: Array, start: float, fall: float) -> tuple[Array, float]:
    """The way with its depth held above a ramp that begins at `start`; and how deep the ramp has come at its end."""
    out: list[Array] = []
    gone = 0.0
    for a, b in pairwise(way):
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        ra, rb = start + fall * gone, start + fall * (gone + length)
        if not out:
            out.append(np.array([a[0], a[1], min(a[2], ra)]))
        over_a, over_b = a[2] - ra, b[2] - rb
        if over_a * over_b < 0:
            t = over_a / (over_a - over_b)
            out.append(np.array([*(a + t * (b - a))[:2], ra + t * (rb - ra)]))
        out.append(np.array([b[0], b[1], min(b[2], rb)]))
        gone += length
    return np.asarray(out), start + fall * gone


def _run(operation: Carve, pen: ToolpathBuilder, way: Array) -> None:
    """Cut along a way: at the feed where it is level or rises, else at the ramp feed, the plunge feed where steep."""
    cutting = operation.cutting
    for x, y, depth in way:
        z = operation.top - float(depth)
        run, down = math.hypot(float(x) - pen.x, float(y) - pen.y), pen.z - z
        feed = cutting.feed if down <= NOTHING else cutting.plunge if down > _PLUNGE * run else cutting.ramp
        pen.cut(float(x), float(y), z, feed)


# Wide places


def _rings(paths: list[Array], operation: Carve) -> Iterator[list[Loop]]:
    """Rings at the greatest depth, the outermost first: it cuts the foot of the walls."""
    deep = operation.top - operation.floor
    inset = deep * operation.spread + operation.tip / 2
    while found := drawn_in(paths, inset):
        yield found
        inset += operation.step


def _level(operation: Carve, pen: ToolpathBuilder, rings: list[list[Loop]], before: float, upto: float) -> None:
    """A wide place at one depth, from its middle outwards, along all rings."""
    cutting = operation.cutting
    if not rings:
        return
    room = [Polygon(ring.flattened(1e-3)).buffer(2e-3) for ring in rings[0]]
    z, above = operation.top - upto, operation.top - before
    for level in reversed(rings):
        for ring in level:
            track = ArcLengthPath.along(ring, backwards=cutting.rough == "conventional")
            s = track.nearest(pen.x, pen.y)
            line = LineString([(pen.x, pen.y), track.at(s)])
            near = line.length <= 2.5 * operation.step
            if near and abs(pen.z - z) < NOTHING and any(r.covers(line) for r in room):
                pen.cut(*track.at(s), z, cutting.feed)
                track.run(pen, s, s + track.length, z, z, cutting.feed)
            else:
                pen.enter(*track.at(s), above, above, cutting)
                track.ramp_and_round(pen, s, above, z, cutting)
