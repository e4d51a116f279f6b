"""A closed path that a bit follows, by distance along it: straight edges and arcs alike."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import Loop, arc_centre, edge_length, on_edge
from toolpaths.operations.operation import Cutting
from toolpaths.toolpath.toolpath import ToolpathBuilder


@dataclass(frozen=True, slots=True)
class ArcLengthPath:
    """A closed outline with the distance of each vertex from the first. `ends` (N + 1,) mm."""

    loop: Loop
    ends: Array

    @staticmethod
    def along(loop: Loop, *, backwards: bool = False) -> ArcLengthPath:
        """The track of an outline in its own direction, or backwards."""
        if backwards:
            loop = Loop(loop.points[::-1].copy(), -np.roll(loop.bulges[::-1], -1))
        lengths = [edge_length(a, b, bulge) for a, b, bulge in loop.edges()]
        return ArcLengthPath(loop, np.concatenate([[0.0], np.cumsum(lengths)]))

    @property
    def length(self) -> float:
        """Length once around, mm."""
        return float(self.ends[-1])

    def at(self, s: float) -> tuple[float, float]:
        """The point at a distance along the track (any real number; it goes round)."""
        s = s % self.length
        i = min(int(np.searchsorted(self.ends, s, side="right")) - 1, len(self.loop.points) - 1)
        return self._on_edge(i, s - float(self.ends[i]))

    def nearest(self, x: float, y: float) -> float:
        """Distance along the track of its point nearest to (x, y), mm."""
        best, where = math.inf, 0.0
        for i, (a, b, bulge) in enumerate(self.loop.edges()):
            span = float(self.ends[i + 1] - self.ends[i])
            u = _nearest_on_edge(a, b, bulge, x, y) * span
            px, py = self._on_edge(i, u)
            d = math.hypot(px - x, py - y)
            if d < best - 1e-12:
                best, where = d, float(self.ends[i]) + u
        return where

    def run(self, pen: ToolpathBuilder, s0: float, s1: float, z0: float, z1: float, feed: float) -> None:
        """Cut from s0 on to s1 (mm along, s1 >= s0, around as often as it takes), z going evenly from z0 to z1."""
        total = s1 - s0
        s = s0
        while s < s1 - 1e-9:
            lap = math.floor(s / self.length + 1e-12) * self.length
            local = min(max(s - lap, 0.0), self.length)
            i = min(int(np.searchsorted(self.ends, local + 1e-9, side="right")) - 1, len(self.loop.points) - 1)
            stop = min(s1, lap + float(self.ends[i + 1]))
            if stop <= s:
                stop = min(s1, s + 1e-9)
            z = z1 if stop >= s1 - 1e-9 else z0 + (z1 - z0) * (stop - s0) / total
            x, y = self._on_edge(i, stop - lap - float(self.ends[i]))
            bulge = float(self.loop.bulges[i])
            if bulge == 0.0:
                pen.cut(x, y, z, feed)
            else:
                a, b = self.loop.points[i], self.loop.points[(i + 1) % len(self.loop.points)]
                cx, cy, _ = arc_centre(a, b, bulge)
                pen.arc(x, y, z, (cx, cy), bulge > 0, feed)
            s = stop

    def ramp_and_round(self, pen: ToolpathBuilder, s: float, above: float, z: float, cutting: Cutting) -> float:
        """Down a ramp from s, then once around level. Returns the distance along at which the ramp ended, mm."""
        down = s + max((above - z) / cutting.slope, 1e-6)
        self.run(pen, s, down, above, z, cutting.ramp)
        self.run(pen, down, down + self.length, z, z, cutting.feed)
        return down

    def _on_edge(self, i: int, u: float) -> tuple[float, float]:
        a, b = self.loop.points[i], self.loop.points[(i + 1) % len(self.loop.points)]
        return on_edge(a, b, float(self.loop.bulges[i]), u, float(self.ends[i + 1] - self.ends[i]))


def _nearest_on_edge(a: Array, b: Array, bulge: float, x: float, y: float) -> float:
    """Fraction along an edge of its point nearest to (x, y)."""
    if bulge == 0.0:
        dx, dy = float(b[0] - a[0]), float(b[1] - a[1])
        square = dx * dx + dy * dy
        return 0.0 if square == 0 else min(1.0, max(0.0, ((x - a[0]) * dx + (y - a[1]) * dy) / square))
    cx, cy, _ = arc_centre(a, b, bulge)
    sweep = 4 * math.atan(bulge)
    turn = math.atan2(y - cy, x - cx) - math.atan2(a[1] - cy, a[0] - cx)
    turn = turn % (2 * math.pi) if sweep > 0 else -((-turn) % (2 * math.pi))
    u = turn / sweep
    if u <= 1:
        return u
    return 1.0 if u - 1 < (2 * math.pi / abs(sweep) - 1) / 2 else 0.0
