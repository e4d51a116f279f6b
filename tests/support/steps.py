"""Toolpaths taken apart for tests: every step as straight pieces, arcs as short chords."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.toolpath.toolpath import Arc, Rapid, Section

SAFE = 15.0
_LONGEST = 40
"""Pieces of a line that is grown at once."""
Point = tuple[float, float, float]


@dataclass(frozen=True)
class Piece:
    """A straight piece of a step, mm; feed 0 for a rapid."""

    a: Point
    b: Point
    feed: float
    section: int

    @property
    def run(self) -> float:
        return math.hypot(self.b[0] - self.a[0], self.b[1] - self.a[1])

    @property
    def fall(self) -> float:
        return self.a[2] - self.b[2]

    @property
    def rapid(self) -> bool:
        return self.feed == 0.0


def pieces(sections: Sequence[Section], chord: float = 0.2) -> list[Piece]:
    """All pieces, from the first step's end on."""
    out: list[Piece] = []
    at: Point | None = None
    for k, section in enumerate(sections):
        for step in section.steps:
            end = (step.x, step.y, step.z)
            if at is not None:
                feed = 0.0 if isinstance(step, Rapid) else step.feed
                points = _arc(at, step, chord) if isinstance(step, Arc) else [end]
                for point in points:
                    out.append(Piece(at, point, feed, k))
                    at = point
            at = end
    return out


def _arc(at: Point, step: Arc, chord: float) -> list[Point]:
    r = math.hypot(at[0] - step.cx, at[1] - step.cy)
    first = math.atan2(at[1] - step.cy, at[0] - step.cx)
    turn = math.atan2(step.y - step.cy, step.x - step.cx) - first
    turn = turn % (2 * math.pi) if step.ccw else -((-turn) % (2 * math.pi))
    n = max(8, math.ceil(r * abs(turn) / chord))
    return [
        (
            step.cx + r * math.cos(first + turn * i / n),
            step.cy + r * math.sin(first + turn * i / n),
            at[2] + (step.z - at[2]) * i / n,
        )
        for i in range(1, n)
    ] + [(step.x, step.y, step.z)]


def swept(some: Sequence[Piece], radius: float) -> BaseGeometry:
    """What a round bit of that radius covers on those pieces; each run of pieces is grown as one line."""
    lines: list[list[tuple[float, float]]] = []
    for p in some:
        if not lines or lines[-1][-1] != p.a[:2] or len(lines[-1]) > _LONGEST:
            lines.append([p.a[:2]])
        lines[-1].append(p.b[:2])
    return shapely.union_all([shapely.LineString(line).buffer(radius, 64) for line in lines])


def turning(some: Sequence[Piece]) -> float:
    """Area that the pieces go around, mm2: positive counter-clockwise."""
    return sum(p.a[0] * p.b[1] - p.b[0] * p.a[1] for p in some) / 2


def along(p: Piece, step: float = 0.1) -> list[Point]:
    """Points of a piece, both ends among them."""
    n = max(1, math.ceil(p.run / step))
    return [
        (p.a[0] + (p.b[0] - p.a[0]) * i / n, p.a[1] + (p.b[1] - p.a[1]) * i / n, p.a[2] + (p.b[2] - p.a[2]) * i / n)
        for i in range(n + 1)
    ]


def rapids_are_safe(some: Sequence[Piece]) -> bool:
    """Whether rapids go sideways at the safe height only, and never down."""
    return all(p.fall <= 1e-9 and (p.run == 0 or p.a[2] == p.b[2] == SAFE) for p in some if p.rapid)


def steepest(some: Sequence[Piece]) -> float:
    """The steepest slope down of all cuts that also go sideways, degrees."""
    return max((math.degrees(math.atan2(p.fall, p.run)) for p in some if not p.rapid and p.run > 1e-9), default=0.0)
