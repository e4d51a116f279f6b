"""Geometry of an arc move, seen from where it begins."""

from __future__ import annotations

import math
from dataclasses import replace

from toolpaths.toolpath.toolpath import Arc

_NO_WAY = 1e-6
"""An arc whose ends lie nearer to each other is no way at all, mm: no strategy asks for a whole turn in one arc."""


def bulge_of(start: tuple[float, float], step: Arc) -> float:
    """Bulge of an arc from a start (x, y) as it was meant, not rounded: the tangent of a quarter of its turn.

    Positive to the left; 0 where the end is the start, by the digits that a number has.
    """
    if math.hypot(step.x - start[0], step.y - start[1]) < _NO_WAY:
        return 0.0
    a0 = math.atan2(start[1] - step.cy, start[0] - step.cx)
    a1 = math.atan2(step.y - step.cy, step.x - step.cx)
    sweep = (a1 - a0) % (2 * math.pi) if step.ccw else -((a0 - a1) % (2 * math.pi))
    return math.tan(sweep / 4)


def halves(start: tuple[float, float, float], arc: Arc) -> tuple[Arc, Arc]:
    """The same arc as two of half its turn each."""
    half = math.atan(bulge_of(start[:2], arc)) * 2
    dx, dy = start[0] - arc.cx, start[1] - arc.cy
    x = arc.cx + dx * math.cos(half) - dy * math.sin(half)
    y = arc.cy + dx * math.sin(half) + dy * math.cos(half)
    return replace(arc, x=x, y=y, z=(start[2] + arc.z) / 2), arc


def extremes(start: tuple[float, float, float], arc: Arc) -> list[tuple[float, float, float]]:
    """The points of an arc farthest in x and y between its ends, mm."""
    first = math.atan2(start[1] - arc.cy, start[0] - arc.cx)
    radius, sweep = math.hypot(arc.x - arc.cx, arc.y - arc.cy), 4 * math.atan(bulge_of(start[:2], arc))
    low, high = sorted((first, first + sweep))
    quarters = range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1)
    return [
        (arc.cx + radius * math.cos(q * math.pi / 2), arc.cy + radius * math.sin(q * math.pi / 2), arc.z)
        for q in quarters
    ]
