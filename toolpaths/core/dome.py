"""A wanted floor that follows the rounded top of a board: as much lower at the edges as the top will be."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from toolpaths.core.target import Floor

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Domed:
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

    def mirrored(self) -> Domed:
        """The same dome over the mirrored base, its level ends changed over."""
        return replace(self, base=self.base.mirrored(), level_from=self.level_from[::-1])
