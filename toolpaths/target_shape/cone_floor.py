"""The floor of a drilled hole, as a demand's floor (see `target_shape/demand.py`)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from toolpaths.common.arrays import Array


@dataclass(frozen=True, slots=True)
class ConeFloor:
    """The floor of a drilled hole: a cone about (x, y), lowest at `z`, rising by `rise` mm a mm as far as `radius`."""

    x: float
    y: float
    z: float
    rise: float
    radius: float

    def height(self, x: Array, y: Array) -> Array:
        """z + rise * the distance from its middle; level from the radius on."""
        away = np.hypot(np.asarray(x) - self.x, np.asarray(y) - self.y)
        return np.asarray(self.z + self.rise * np.minimum(away, self.radius))

    def slope(self, x: Array, y: Array) -> Array:
        """The rise, beyond the radius too: a tolerance aside reaches the cone from there."""
        return np.full(np.broadcast(x, y).shape, self.rise)

    def mirrored(self) -> ConeFloor:
        """The same with y changed in sign."""
        return replace(self, y=-self.y)
