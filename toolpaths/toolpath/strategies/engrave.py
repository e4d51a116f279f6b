"""Lines at one depth along any path: every pass comes down along the path itself, nothing is plunged."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.arc_fit import arcs_along
from toolpaths.geometry.loop import Loop
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Engrave
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_ARC = 0.001
"""How far a found arc may stray from the path's chords, mm."""
_MEET = 1e-6
"""A path whose ends lie no further apart is closed, mm."""


def engrave(operation: Engrave, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a path, the nearest next. A closed path is followed around, an open one back and forth.

    Their order hangs on the paths alone, not on what was cut before: so it is known which are left after a broken bit.
    """
    heights = levels(operation.top, operation.floor, operation.cutting.pass_depth)
    for path, name in _in_turn(operation):
        pen.enter(float(path[0, 0]), float(path[0, 1]), operation.top, operation.top, operation.cutting)
        points, bulges = arcs_along(path, _ARC)
        if math.dist(path[0], path[-1]) <= _MEET and len(points) > 2:
            _round(operation, pen, ArcLengthPath.along(Loop(points[:-1], bulges)), heights)
        else:
            _to_and_fro(operation, pen, points, bulges, heights)
        pen.retract()
        title = f"{name}, {len(heights)} pass{'es' if len(heights) > 1 else ''}"
        yield pen.section(operation, title, name)


def _in_turn(operation: Engrave) -> list[tuple[Array, str]]:
    """Paths in the order of the shortest way between them from (0, 0) on, open ones begun at the nearer end."""
    left = list(zip(operation.paths, operation.names, strict=True))
    starts = np.array([path[0] for path, _ in left])
    ends = np.array([path[-1] for path, _ in left])
    waiting = np.ones(len(left), dtype=bool)
    x, y = 0.0, 0.0
    out: list[tuple[Array, str]] = []
    for _ in left:
        to_start = np.where(waiting, np.hypot(starts[:, 0] - x, starts[:, 1] - y), np.inf)
        to_end = np.where(waiting, np.hypot(ends[:, 0] - x, ends[:, 1] - y), np.inf)
        i = int(np.argmin(np.minimum(to_start, to_end)))
        path, name = left[i]
        path = path if to_start[i] <= to_end[i] else path[::-1]
        waiting[i] = False
        out.append((path, name))
        x, y = float(path[-1, 0]), float(path[-1, 1])
    return out


def _round(operation: Engrave, pen: ToolpathBuilder, track: ArcLengthPath, heights: list[float]) -> None:
    """Down along the path, then once around at the depth; the next pass goes on from there."""
    s, above = 0.0, operation.top
    for z in heights:
        s, above = track.ramp_and_round(pen, s, above, z, operation.cutting) % track.length, z


def _to_and_fro(operation: Engrave, pen: ToolpathBuilder, points: Array, bulges: Array, heights: list[float]) -> None:
    """Down along the path near one end, back to that end, then level to the other, where the next pass begins."""
    cutting, above = operation.cutting, operation.top
    there, back = _open(points, bulges), _open(points[::-1], -bulges[::-1])
    length = float(there.ends[-2])
    for z in heights:
        run = (above - z) / cutting.slope
        leg = min(run, length)
        count = max(1, math.ceil(run / leg - 1e-9))
        for k in range(count):
            z0, z1 = above + (z - above) * k / count, above + (z - above) * (k + 1) / count
            if k % 2 == 0:
                there.run(pen, 0.0, leg, z0, z1, cutting.ramp)
            else:
                back.run(pen, length - leg, length, z0, z1, cutting.ramp)
        if count % 2:
            back.run(pen, length - leg, length, z, z, cutting.feed)
        if count % 2 == 0 or leg < length:
            there.run(pen, 0.0, length, z, z, cutting.feed)
            there, back = back, there
        above = z


def _open(points: Array, bulges: Array) -> ArcLengthPath:
    """An open path (K, 2) with bulges (K - 1,), closed by a straight edge that is never cut."""
    return ArcLengthPath.along(Loop(points, np.append(bulges, 0.0)))
