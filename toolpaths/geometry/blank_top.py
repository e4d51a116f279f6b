"""The top of a blank as it was measured at six places: both long edges, at both ends and in the middle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array

INSIDE = 5.0
"""From the blank's edges to where it is measured, mm: a caliper's jaw reaches there."""
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class BlankTop:
    """Thickness at six places, mm: at three `xs` (left end, middle, right end) along both `ys` (operator's edge first).

    `heights`: three along the first edge, then three along the second. Between the places it is straight along x and
    across, and goes on so to the blank's edges: the least that six places can say of a surface.
    """

    xs: tuple[float, float, float]
    ys: tuple[float, float]
    heights: tuple[float, float, float, float, float, float]

    def at(self, x: Array, y: Array) -> Array:
        """Heights at places, mm; `x` and `y` broadcast together."""
        x, y = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
        (x0, x1, x2), (y0, y1) = self.xs, self.ys
        near, far = self.heights[:3], self.heights[3:]
        across = (y - y0) / (y1 - y0)
        left = x <= x1
        part = np.where(left, (x - x0) / (x1 - x0), (x - x1) / (x2 - x1))

        def along(row: tuple[float, ...]) -> Array:
            first, last = np.where(left, row[0], row[1]), np.where(left, row[1], row[2])
            return np.asarray(first + part * (last - first))

        return np.asarray((1 - across) * along(near) + across * along(far))

    @property
    def highest(self) -> tuple[Place, float]:
        """Where it was measured thickest, and how thick, mm."""
        best = max(range(6), key=lambda i: self.heights[i])
        return (self.xs[best % 3], self.ys[best // 3]), self.heights[best]

    def extremes(self, box: tuple[float, float, float, float]) -> tuple[float, float]:
        """Least and greatest height over a box x0, y0, x1, y1, mm: reached at its corners or above its middle."""
        x0, y0, x1, y1 = box
        found = self.at(np.array([x0, self.xs[1], x1, x0, self.xs[1], x1]), np.array([y0] * 3 + [y1] * 3))
        return float(found.min()), float(found.max())


def places_of(box: tuple[float, float, float, float]) -> tuple[Place, ...]:
    """The six places of a blank x0, y0, x1, y1 at which it is measured, mm: along the operator's edge first."""
    x0, y0, x1, y1 = box
    xs, ys = (x0 + INSIDE, (x0 + x1) / 2, x1 - INSIDE), (y0 + INSIDE, y1 - INSIDE)
    return tuple((x, y) for y in ys for x in xs)


def blank_top(box: tuple[float, float, float, float], heights: tuple[float, ...]) -> BlankTop:
    """The top of a blank from its thickness at `places_of` it, mm. Raises ValueError for another number of values."""
    if len(heights) != 6:
        raise ValueError("a blank's top is measured at six places")
    places = places_of(box)
    (x0, _), (x1, _), (x2, _) = places[:3]
    a, b, c, d, e, f = heights
    return BlankTop((x0, x1, x2), (places[0][1], places[3][1]), (a, b, c, d, e, f))
