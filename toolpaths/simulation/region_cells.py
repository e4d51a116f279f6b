"""Which cells of a map have their centre inside a region: exact, by crossings, in its bounding box only."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Mask
from toolpaths.simulation.depth_map import DepthMap


def covered(region: BaseGeometry, depth_map: DepthMap) -> tuple[slice, slice, Mask] | None:
    """Rows, columns and mask (rows, cols) of the cells whose centres lie in the region; None where none can."""
    if region.is_empty:
        return None
    shape = depth_map.heights.shape
    bx0, by0, bx1, by1 = region.bounds
    r0, r1 = _range(by0, by1, depth_map.y0, depth_map.pitch, shape[0])
    c0, c1 = _range(bx0, bx1, depth_map.x0, depth_map.pitch, shape[1])
    if r0 >= r1 or c0 >= c1:
        return None
    # Only whether the number of crossings is odd matters, and that survives overflow.
    flips = np.zeros((r1 - r0, c1 - c0 + 1), dtype=np.int8)
    for part in shapely.get_parts(region):
        for ring in (part.exterior, *part.interiors):
            xy = shapely.get_coordinates(ring)
            _mark(flips, xy[:-1], xy[1:], depth_map, r0, c0)
    mask = (np.cumsum(flips[:, :-1], axis=1, dtype=np.int8) & 1).astype(bool)
    return slice(r0, r1), slice(c0, c1), mask


def _range(low: float, high: float, first: float, pitch: float, count: int) -> tuple[int, int]:
    a = max(0, int(np.floor((low - first) / pitch)))
    b = min(count, int(np.ceil((high - first) / pitch)) + 1)
    return a, b


def _mark(
    flips: NDArray[np.int8], a: NDArray[np.float64], b: NDArray[np.float64], m: DepthMap, r0: int, c0: int
) -> None:
    """One flip for each edge and each row that it crosses, at the first column right of the crossing."""
    rows, cols = flips.shape
    ya = (a[:, 1] - m.y0) / m.pitch - r0
    yb = (b[:, 1] - m.y0) / m.pitch - r0
    first = np.clip(np.ceil(np.minimum(ya, yb)), 0, rows).astype(np.int64)
    last = np.clip(np.ceil(np.maximum(ya, yb)), 0, rows).astype(np.int64)
    count = last - first
    edge = np.repeat(np.arange(len(a)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    t = (row - ya[edge]) / (yb[edge] - ya[edge])
    x = (a[edge, 0] + t * (b[edge, 0] - a[edge, 0]) - m.x0) / m.pitch - c0
    col = np.clip(np.ceil(x), 0, cols - 1).astype(np.int64)
    np.add.at(flips, (row, col), 1)
