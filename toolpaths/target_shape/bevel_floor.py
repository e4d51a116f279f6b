"""Floors with slopes: of a shape carved by a pointed bit as deep as its walls allow, and of a drilled hole."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import edge_tree


@dataclass(frozen=True, slots=True)
class BevelFloor:
    """Slopes that fall inwards from the outline of an area (polygons of shapely, mm), level at `lowest`.

    `top`: height of the outline, mm above the bed; `rise`: mm of height a mm of distance, 1 / tan(half the angle).
    Beyond the outline it is level at the top.
    """

    area: BaseGeometry
    top: float
    rise: float
    lowest: float

    def height(self, x: Array, y: Array) -> Array:
        """max(top - rise * d, lowest) at the distance d from the nearest wall."""
        x, y = np.broadcast_arrays(x, y)
        xy = np.stack([x.ravel(), y.ravel()], axis=1)
        shapely.prepare(self.area)
        inside = np.nonzero(shapely.contains_xy(self.area, xy[:, 0], xy[:, 1]))[0]
        out = np.full(len(xy), self.top)
        _, away = edge_tree(self.area.boundary).query_nearest(
            np.asarray(shapely.points(xy[inside])), return_distance=True, all_matches=False
        )
        out[inside] = np.maximum(self.top - self.rise * away, self.lowest)
        return np.asarray(out.reshape(x.shape))

    def slope(self, x: Array, y: Array) -> Array:
        """The rise, on a level part too: a tolerance aside reaches the slopes from there."""
        return np.full(np.broadcast(x, y).shape, self.rise)

    def mirrored(self) -> BevelFloor:
        """The same in the area with y changed in sign."""
        return replace(self, area=scale(self.area, yfact=-1.0, origin=(0, 0)))


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
