"""Find the arcs in a closed outline of many short chords, so that round shapes are written as arcs."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import Loop

_FEWEST = 4
"""An arc must explain at least so many chords."""
_WIDEST = math.radians(170)
"""Most that one arc turns; a full circle becomes three."""
_LARGEST = 2000.0
"""A larger radius is written as straight cuts, mm."""


def arcs_in(points: Array, tolerance: float) -> Loop:
    """A closed outline (N, 2) mm, counter-clockwise, as straight edges and arcs that stray at most `tolerance` mm.

    Vertices are a choice of the given ones; chords and arcs are judged at the vertices and at the middles of chords.
    """
    points = _rotated(_without_repeats(np.asarray(points, dtype=np.float64)))
    if len(points) < 3:
        raise ValueError("an outline needs three points")
    found, bulges = _fitted(np.concatenate([points, points[:1]]), tolerance)
    return Loop(found[:-1], bulges)


def arcs_along(points: Array, tolerance: float) -> tuple[Array, Array]:
    """The same for an open line (N, 2) mm: its vertices (K, 2) and the bulges (K - 1,) of the edges between them."""
    points = np.asarray(points, dtype=np.float64)
    apart = np.hypot(*np.diff(points, axis=0).T) > 1e-7
    line = points[np.concatenate([[True], apart])]
    if len(line) < 2:
        return points[[0, -1]], np.zeros(1)
    return _fitted(np.concatenate([line[:-1], points[-1:]]), tolerance)


def _fitted(line: Array, tolerance: float) -> tuple[Array, Array]:
    """Vertices (K, 2) and bulges (K - 1,) of the fewest edges found along a line (N, 2), from its first point on."""
    kept: list[int] = [0]
    bulges: list[float] = []
    while kept[-1] < len(line) - 1:
        j, bulge = _longest(line, kept[-1], tolerance)
        kept.append(j)
        bulges.append(bulge)
    return line[kept], np.asarray(bulges)


def _longest(ring: Array, i: int, tolerance: float) -> tuple[int, float]:
    """(last vertex, bulge) of the longest edge from vertex i: straight (0) or an arc."""
    straight = _reach(ring, i, lambda j: 0.0 if _is_straight(ring[i : j + 1], tolerance) else None)
    arc = _reach(ring, i, lambda j: _arc_bulge(ring[i : j + 1], tolerance))
    if arc[0] - i >= _FEWEST and arc[0] > straight[0]:
        return arc
    return straight


def _reach(ring: Array, i: int, fits: Callable[[int], float | None]) -> tuple[int, float]:
    """The furthest j for which `fits` holds, by doubling and halving; one chord always does."""
    last = len(ring) - 1
    good, bulge, step = i + 1, 0.0, 2
    while good < last:
        j = min(last, i + step)
        found = fits(j) if j - i >= 2 else 0.0
        if found is None:
            break
        good, bulge, step = j, found, step * 2
        if j == last:
            return good, bulge
    bad = min(last, i + step)
    while bad - good > 1:
        j = (good + bad) // 2
        found = fits(j)
        if found is None:
            bad = j
        else:
            good, bulge = j, found
    return good, bulge


def _is_straight(part: Array, tolerance: float) -> bool:
    a, b = part[0], part[-1]
    d = b - a
    length = math.hypot(d[0], d[1])
    if length == 0:
        return False
    off = np.abs((part[:, 0] - a[0]) * d[1] - (part[:, 1] - a[1]) * d[0]) / length
    near = min(tolerance, 5e-4)
    # A line that runs on past its end and comes back is not straight.
    along = ((part[:, 0] - a[0]) * d[0] + (part[:, 1] - a[1]) * d[1]) / length
    return bool(off.max() <= near and along.min() >= -near and along.max() <= length + near)


def _arc_bulge(part: Array, tolerance: float) -> float | None:
    """The bulge of the arc through the first, middle and last point, or None where the rest strays from it."""
    if len(part) < 3:
        return None
    a, m, b = part[0], part[len(part) // 2], part[-1]
    ax, ay, bx, by = m[0] - a[0], m[1] - a[1], b[0] - a[0], b[1] - a[1]
    cross = ax * by - ay * bx
    if abs(cross) < 1e-12:
        return None
    sa, sb = ax * ax + ay * ay, bx * bx + by * by
    cx, cy = a[0] + (by * sa - ay * sb) / (2 * cross), a[1] + (ax * sb - bx * sa) / (2 * cross)
    radius = math.hypot(a[0] - cx, a[1] - cy)
    if radius > _LARGEST:
        return None
    middles = (part[1:] + part[:-1]) / 2
    every = np.concatenate([part, middles])
    off = np.abs(np.hypot(every[:, 0] - cx, every[:, 1] - cy) - radius)
    if off.max() > tolerance:
        return None
    angles = np.unwrap(np.arctan2(part[:, 1] - cy, part[:, 0] - cx))
    turns = np.diff(angles)
    sweep = float(angles[-1] - angles[0])
    if abs(sweep) > _WIDEST or not (np.all(turns > 0) or np.all(turns < 0)):
        return None
    return math.tan(sweep / 4)


def _without_repeats(points: Array) -> Array:
    if len(points) > 1 and np.allclose(points[0], points[-1], atol=1e-9):
        points = points[:-1]
    keep = np.hypot(*(points - np.roll(points, 1, axis=0)).T) > 1e-7
    return np.asarray(points[keep])


def _rotated(points: Array) -> Array:
    """Begin at the sharpest corner, so that no arc is cut in two by where the outline happened to start."""
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    dot = np.sum(before * after, axis=1)
    start = int(np.argmax(np.abs(np.arctan2(cross, dot))))
    return np.concatenate([points[start:], points[:start]])
