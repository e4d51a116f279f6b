"""Wanted floors that follow the rounded top of a board: as much lower at the edges as the top will be."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.target_shape.demand import Floor

_HAIR = 1e-4
_ROUNDS = 3


@dataclass(frozen=True, slots=True)
class CrownFloor:
    """A floor lowered by the sagitta R - sqrt(R^2 - y^2) of the top at each place.

    R(x) = nut + (end - nut) x / length: the radius is linear along the board, and the crown is level. Lengths mm;
    `base` is the floor as it would be under a flat top. From `level_from` mm off the centreline on (towards lower y,
    towards higher y) it goes no lower: a blind groove's end is level. Source: elementary geometry.
    """

    base: Floor
    nut: float
    end: float
    length: float
    level_from: tuple[float, float] = (math.inf, math.inf)

    def radius(self, x: Array) -> Array:
        """R at x, mm."""
        return self.nut + (self.end - self.nut) * np.asarray(x, dtype=np.float64) / self.length

    def drop(self, x: Array, y: Array) -> Array:
        """How much lower than the crown the top lies, mm: y^2 / (R + sqrt(R^2 - y^2)), which keeps its digits."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
        r, y = self.radius(x), np.clip(y, -self.level_from[0], self.level_from[1])
        root = np.sqrt(np.maximum(r * r - y * y, 0.0))
        return np.asarray(y * y / (r + root))

    def height(self, x: Array, y: Array) -> Array:
        """The base less the drop."""
        return np.asarray(self.base.height(x, y) - self.drop(x, y))

    def slope(self, x: Array, y: Array) -> Array:
        """The base's slope and the dome's: |y| / sqrt(R^2 - y^2) across; along, drop / sqrt(R^2 - y^2) R'."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
        r = self.radius(x)
        root = np.sqrt(np.maximum(r * r - y * y, 1e-9))
        along = self.drop(x, y) / root * (self.end - self.nut) / self.length
        return np.asarray(self.base.slope(x, y) + np.hypot(y / root, along))

    def mirrored(self) -> CrownFloor:
        """The same dome over the mirrored base, its level ends changed over."""
        return replace(self, base=self.base.mirrored(), level_from=self.level_from[::-1])


@dataclass(frozen=True, slots=True)
class ConeGroove:
    """The floor that a pointed bit leaves when its tip goes straight from `start` to `end` (x, y). mm.

    `under`: the level or rounded floor that the inner side of the tip's flat follows; `flat`: that flat's radius;
    `rise`: of the cone, mm a mm; `rim`: the bit's radius. At (x, y) the floor is the least of
    tip(s) + rise * max(0, rho - flat) over all places s of the tip, rho being the distance from there. On a way that
    falls by m the least lies t m / sqrt(rise^2 - m^2) past the foot of the point, t beside it. Derived here (the
    envelope of cones); each round takes the fall where the last one ended.
    """

    under: Floor
    start: tuple[float, float]
    end: tuple[float, float]
    flat: float
    rise: float
    rim: float

    def height(self, x: Array, y: Array) -> Array:
        """The lowest that the cone comes over each point."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
        (ax, ay), (ux, uy), length = self._along()
        foot = (x - ax) * ux + (y - ay) * uy
        aside = np.abs((y - ay) * ux - (x - ax) * uy)
        most = np.sqrt(np.maximum(self.rim**2 - aside * aside, 0.0))
        least = np.sqrt(np.maximum(self.flat**2 - aside * aside, 0.0))
        at = np.clip(foot, 0.0, length)
        for _ in range(_ROUNDS):
            fall = (self._tip(at - _HAIR) - self._tip(at + _HAIR)) / (2 * _HAIR)
            past = np.abs(fall) * aside / np.sqrt(np.maximum(self.rise**2 - fall * fall, _HAIR**2))
            at = np.clip(foot + np.sign(fall) * np.minimum(np.maximum(past, least), most), 0.0, length)
        away = np.hypot(at - foot, aside)
        return np.asarray(self._tip(at) + self.rise * np.maximum(away - self.flat, 0.0))

    def slope(self, x: Array, y: Array) -> Array:
        """The rise, on the flat bottom too: a tolerance aside reaches the walls from there; and the slope under it."""
        return np.asarray(self.rise + self.under.slope(x, y))

    def mirrored(self) -> ConeGroove:
        """The groove along the line with y changed in sign."""
        (ax, ay), (bx, by) = self.start, self.end
        return replace(self, under=self.under.mirrored(), start=(ax, -ay), end=(bx, -by))

    def _along(self) -> tuple[tuple[float, float], tuple[float, float], float]:
        """Start, unit and length of the tip's way, mm."""
        (ax, ay), (bx, by) = self.start, self.end
        length = math.hypot(bx - ax, by - ay)
        return self.start, ((bx - ax) / length, (by - ay) / length), length

    def _tip(self, s: Array) -> Array:
        (ax, ay), (ux, uy), _ = self._along()
        return self.under.height(ax + ux * s, np.maximum(np.abs(ay + uy * s) - self.flat, 0.0))
