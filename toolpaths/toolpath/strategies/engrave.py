"""Lines at one depth along any path: every pass comes down along the path itself, nothing is plunged."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.arc_fit import arcs_along
from toolpaths.geometry.loop import Loop, arc_centre, edge_length, on_edge
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Engrave
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_ARC = 0.001
"""How far a found arc may stray from the path's chords, mm."""
_MEET = 1e-6
"""A path whose ends lie no further apart is closed, mm."""


def engrave(operation: Engrave, bit: Bit, pen: ToolpathBuilder) -> list[Section]:
    """Sections, one a path, the nearest next. A closed path is followed round and round, an open one to and fro."""
    cutting = operation.cutting
    heights = levels(operation.top, operation.floor, cutting.pass_depth)
    out: list[Section] = []
    for path, name in _in_turn(operation, pen):
        pen.travel(float(path[0, 0]), float(path[0, 1]))
        pen.approach(operation.top, cutting.descent)
        pen.cut(pen.x, pen.y, operation.top, cutting.plunge)
        points, bulges = arcs_along(path, _ARC)
        if _is_closed(path) and len(points) > 2:
            _round(operation, pen, ArcLengthPath.along(Loop(points[:-1], bulges)), heights)
        else:
            _to_and_fro(operation, pen, _Way.along(points, bulges), heights)
        pen.retract()
        title = f"{name}, {len(heights)} pass{'es' if len(heights) > 1 else ''}"
        out.append(Section(operation.feature, operation.bit, title, pen.taken(), cutting.rpm))
    return out


def _in_turn(operation: Engrave, pen: ToolpathBuilder) -> list[tuple[Array, str]]:
    """Paths in the order of the shortest way between them, open ones begun at the nearer end."""
    left = list(zip(operation.paths, operation.names, strict=True))
    starts = np.array([path[0] for path, _ in left])
    ends = np.array([path[-1] for path, _ in left])
    waiting = np.ones(len(left), dtype=bool)
    x, y = pen.x, pen.y
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


def _is_closed(path: Array) -> bool:
    return math.dist(path[0], path[-1]) <= _MEET


def _round(operation: Engrave, pen: ToolpathBuilder, track: ArcLengthPath, heights: list[float]) -> None:
    """Down along the path, then once around at the depth; the next pass goes on from there."""
    cutting, s, above = operation.cutting, 0.0, operation.top
    for z in heights:
        run = (above - z) / math.tan(math.radians(cutting.ramp_angle))
        track.run(pen, s, s + run, above, z, cutting.ramp)
        track.run(pen, s + run, s + run + track.length, z, z, cutting.feed)
        s, above = (s + run) % track.length, z


def _to_and_fro(operation: Engrave, pen: ToolpathBuilder, way: _Way, heights: list[float]) -> None:
    """Down along the path near one end, back to that end, then level to the other, where the next pass begins."""
    cutting, above, at_end = operation.cutting, operation.top, False
    for z in heights:
        here = way.backwards() if at_end else way
        run = (above - z) / math.tan(math.radians(cutting.ramp_angle))
        leg = min(run, way.length)
        count = max(1, math.ceil(run / leg - 1e-9))
        for k in range(count):
            z0, z1 = above + (z - above) * k / count, above + (z - above) * (k + 1) / count
            a, b = (0.0, leg) if k % 2 == 0 else (leg, 0.0)
            here.run(pen, a, b, z0, z1, cutting.ramp)
        if count % 2:
            here.run(pen, leg, 0.0, z, z, cutting.feed)
        if count % 2 == 0 or leg < way.length:
            here.run(pen, 0.0, way.length, z, z, cutting.feed)
            at_end = not at_end
        above = z


@dataclass(frozen=True, slots=True)
class _Way:
    """An open path of straight edges and arcs by distance along it: `marks` (K,) at its vertices (K, 2). mm."""

    points: Array
    bulges: Array
    marks: Array

    @staticmethod
    def along(points: Array, bulges: Array) -> _Way:
        lengths = [edge_length(points[i], points[i + 1], float(b)) for i, b in enumerate(bulges)]
        return _Way(points, bulges, np.concatenate([[0.0], np.cumsum(lengths)]))

    @property
    def length(self) -> float:
        return float(self.marks[-1])

    def backwards(self) -> _Way:
        return _Way(self.points[::-1], -self.bulges[::-1], self.marks[-1] - self.marks[::-1])

    def run(self, pen: ToolpathBuilder, s0: float, s1: float, z0: float, z1: float, feed: float) -> None:
        """Cut from s0 to s1 (mm along, either way), z going evenly from z0 to z1."""
        if s1 < s0:
            self.backwards().run(pen, self.length - s0, self.length - s1, z0, z1, feed)
            return
        i = min(max(int(np.searchsorted(self.marks, s0 + 1e-9, side="right")) - 1, 0), len(self.bulges) - 1)
        s = s0
        while s < s1 - 1e-9:
            stop = min(s1, float(self.marks[i + 1]))
            last = stop >= s1 - 1e-9
            z = z1 if last else z0 + (z1 - z0) * (stop - s0) / (s1 - s0)
            x, y = self._on_edge(i, stop)
            bulge = float(self.bulges[i])
            if bulge == 0.0:
                pen.cut(x, y, z, feed)
            else:
                cx, cy, _ = arc_centre(self.points[i], self.points[i + 1], bulge)
                pen.arc(x, y, z, (cx, cy), bulge > 0, feed)
            s, i = stop, i + 1

    def _on_edge(self, i: int, s: float) -> tuple[float, float]:
        length = float(self.marks[i + 1] - self.marks[i])
        along = s - float(self.marks[i])
        a, b = self.points[i], self.points[i + 1]
        return on_edge(a, b, float(self.bulges[i]), along if along < length - 1e-12 else length, length)
