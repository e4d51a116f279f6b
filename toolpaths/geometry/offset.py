"""Outlines moved: outwards, exactly for convex ones of straight edges, with arcs found again for any other; inwards
with their islands, arcs found again."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pyclipper
from shapely import Polygon

from toolpaths.common.arrays import Array
from toolpaths.geometry.arc_fit import arcs_in
from toolpaths.geometry.loop import Area, Loop

_SCALE = 1e6
"""Clipper works in whole numbers: millionths of a mm."""
_CHORD = 2e-4
"""How far chords may stray while an outline is moved, mm."""
_ARC = 1.5e-3
"""How far a found arc may stray, mm."""
_ARC_WITHIN = 1e-3
"""The same within a pocket, mm."""


def grown(loop: Loop, by: float) -> Loop:
    """The outline `by` mm outside, its outward corners rounded, counter-clockwise.

    Raises ValueError where the grown outline is not one piece.
    """
    if not loop.bulges.any() and _is_convex(loop.points):
        return _grown_convex(loop.points, by)
    offset = pyclipper.PyclipperOffset(2.0, _CHORD * _SCALE)
    path = np.round(loop.flattened(_CHORD) * _SCALE).astype(np.int64).tolist()
    offset.AddPath(path, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    found = [np.asarray(p, dtype=np.float64) / _SCALE for p in offset.Execute(by * _SCALE)]
    outer = [p for p in found if Polygon(p).exterior.is_ccw]
    if len(outer) != 1:
        raise ValueError("the outline falls into pieces")
    return arcs_in(outer[0], _ARC)


def outline_and_islands(area: Area) -> list[Array]:
    """Vertices (N, 2) of a pocket's outline and of its islands, which run the other way round: for `drawn_in`."""
    return [area.outer.flattened(_CHORD), *(island.flattened(_CHORD)[::-1] for island in area.islands)]


def drawn_in(paths: Sequence[Array], by: float) -> list[Loop]:
    """A pocket `by` mm smaller all round, none where it is gone: outer rings counter-clockwise, rings around islands
    clockwise."""
    offset = pyclipper.PyclipperOffset(2.0, _CHORD * _SCALE)
    for path in paths:
        whole = np.round(path * _SCALE).astype(np.int64).tolist()
        offset.AddPath(whole, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    out: list[Loop] = []
    for found in offset.Execute(-by * _SCALE):
        points = np.asarray(found, dtype=np.float64) / _SCALE
        if len(points) >= 3 and Polygon(points).area > 1e-6:
            out.append(arcs_in(points, _ARC_WITHIN))
    return out


def _is_convex(points: Array) -> bool:
    a = np.roll(points, -1, axis=0) - points
    b = np.roll(a, -1, axis=0)
    return bool(np.all(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] > 0))


def _grown_convex(points: Array, by: float) -> Loop:
    n = len(points)
    out: list[Array] = []
    bulges: list[float] = []
    for i in range(n):
        before, here, after = points[i - 1], points[i], points[(i + 1) % n]
        n0, n1 = _outward(before, here), _outward(here, after)
        turn = math.atan2(n0[0] * n1[1] - n0[1] * n1[0], float(n0 @ n1))
        out += [here + by * n0, here + by * n1]
        bulges += [math.tan(turn / 4), 0.0]
    return Loop(np.asarray(out), np.asarray(bulges))


def _outward(a: Array, b: Array) -> Array:
    d = b - a
    return np.asarray([d[1], -d[0]]) / math.hypot(d[0], d[1])
