"""Closed outlines of straight edges and arcs, and exact queries on them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array

_LEAST_STEP = 1e-7
"""Radians of one chord, where rounding leaves nothing of the right step."""


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed outline: `points` (N, 2) mm, counter-clockwise, and `bulges` (N,).

    The edge from point i to the next is an arc where bulges[i] is not 0: the bulge is the tangent of a
    quarter of its included angle, positive to the left (the convention of DXF polylines).
    """

    points: Array
    bulges: Array

    @staticmethod
    def polygon(points: list[tuple[float, float]]) -> Loop:
        """An outline of straight edges."""
        array = np.asarray(points, dtype=np.float64)
        return Loop(array, np.zeros(len(array)))

    @staticmethod
    def circle(x: float, y: float, radius: float) -> Loop:
        """A full circle, as two half turns."""
        return Loop(np.array([[x - radius, y], [x + radius, y]]), np.array([1.0, 1.0]))

    def as_circle(self) -> tuple[float, float, float] | None:
        """Centre x, y and radius where the outline is one circle, else None. mm."""
        if len(self.points) == 2 and np.all(self.bulges == 1.0):
            (ax, ay), (bx, by) = self.points
            return ((ax + bx) / 2, (ay + by) / 2, math.hypot(bx - ax, by - ay) / 2)
        return None

    def mirrored(self) -> Loop:
        """The outline mirrored about the centreline (y changes sign), counter-clockwise again."""
        points = self.points[::-1] * np.array([1.0, -1.0])
        # The edge that starts at the new point i is the old edge that ended there, run backwards
        # and mirrored: both change the sign of its bulge, so it keeps it.
        return Loop(points, np.roll(self.bulges[::-1], -1))

    def edges(self) -> Iterator[tuple[Array, Array, float]]:
        """Start (2,), end (2,) and bulge of every edge."""
        return zip(self.points, np.roll(self.points, -1, axis=0), self.bulges.tolist(), strict=True)

    def flattened(self, error: float) -> Array:
        """Vertices (M, 2) of the outline with arcs as chords that stray at most `error` mm."""
        return np.concatenate([arc_chords(a, b, bulge, error) for a, b, bulge in self.edges()])

    def shape(self, error: float = 2e-4) -> Polygon:
        """The outline as a polygon."""
        return Polygon(self.flattened(error))


@dataclass(frozen=True, slots=True)
class Area:
    """The inside of one outline, less what stands within it. `islands` are counter-clockwise too."""

    outer: Loop
    islands: tuple[Loop, ...]
    name: str

    def mirrored(self) -> Area:
        """The area mirrored about the centreline."""
        return replace(self, outer=self.outer.mirrored(), islands=tuple(i.mirrored() for i in self.islands))

    def shape(self) -> Polygon:
        """The area as a polygon with holes."""
        holes = [island.flattened(2e-4) for island in self.islands]
        return Polygon(self.outer.flattened(2e-4), holes)


def arc_chords(a: Array, b: Array, bulge: float, error: float) -> Array:
    """Points from a (with) to b (without) along the arc of that bulge, chord error at most `error` mm."""
    if bulge == 0.0:
        return a[None, :].copy()
    cx, cy, radius = arc_centre(a, b, bulge)
    sweep = 4 * math.atan(bulge)
    # However small beside the error, a circle keeps four corners; however large, it comes to an end.
    step = min(2 * math.acos(max(-1.0, 1 - min(error / radius, 1.0))), math.pi / 2) or _LEAST_STEP
    n = max(1, math.ceil(abs(sweep) / step))
    t = math.atan2(a[1] - cy, a[0] - cx) + sweep * np.arange(n) / n
    return np.stack([cx + radius * np.cos(t), cy + radius * np.sin(t)], axis=1)


def arc_centre(a: Array, b: Array, bulge: float) -> tuple[float, float, float]:
    """Centre x, y and radius of the arc from a to b with that bulge, mm."""
    dx, dy = float(b[0] - a[0]), float(b[1] - a[1])
    chord = math.hypot(dx, dy)
    half_angle = 2 * math.atan(bulge)
    radius = chord / (2 * math.sin(abs(half_angle)))
    offset = (chord / 2) / math.tan(half_angle)
    return (
        float(a[0]) + dx / 2 - dy / chord * offset,
        float(a[1]) + dy / 2 + dx / chord * offset,
        radius,
    )


def edge_length(a: Array, b: Array, bulge: float) -> float:
    """Length of the edge from a to b with that bulge, mm."""
    if bulge == 0.0:
        return math.hypot(b[0] - a[0], b[1] - a[1])
    _, _, radius = arc_centre(a, b, bulge)
    return radius * abs(4 * math.atan(bulge))


def on_edge(a: Array, b: Array, bulge: float, along: float, length: float) -> tuple[float, float]:
    """The point so far along the edge from a to b with that bulge and length, mm; b from its end on."""
    if length <= 0 or along >= length:
        return float(b[0]), float(b[1])
    if bulge == 0.0:
        t = along / length
        return float(a[0] + t * (b[0] - a[0])), float(a[1] + t * (b[1] - a[1]))
    cx, cy, r = arc_centre(a, b, bulge)
    angle = math.atan2(a[1] - cy, a[0] - cx) + math.copysign(along / r, bulge)
    return cx + r * math.cos(angle), cy + r * math.sin(angle)


def edge_tree(lines: BaseGeometry) -> shapely.STRtree:
    """A search tree of the straight pieces of lines, such as an area's boundary, to find the nearest quickly."""
    xy, line = shapely.get_coordinates(shapely.get_parts(lines), return_index=True)
    pieces = np.stack([xy[:-1], xy[1:]], axis=1)[line[1:] == line[:-1]]
    return shapely.STRtree(np.asarray(shapely.linestrings(pieces)))


def box_polygon(x0: float, y0: float, x1: float, y1: float) -> Polygon:
    """A rectangle, mm."""
    return Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
