"""What an arc of a toolpath is, seen from where it begins."""

from __future__ import annotations

import math

from toolpaths.core.toolpath import Arc


def bulge_of(start: tuple[float, float], step: Arc) -> float:
    """Bulge of an arc from a start (x, y): the tangent of a quarter of its turn, positive to the left."""
    a0 = math.atan2(start[1] - step.cy, start[0] - step.cx)
    a1 = math.atan2(step.y - step.cy, step.x - step.cx)
    sweep = (a1 - a0) % (2 * math.pi) if step.ccw else -((a0 - a1) % (2 * math.pi))
    return math.tan(sweep / 4)


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
