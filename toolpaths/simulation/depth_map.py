"""A map of heights: what stands above each cell's centre."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array

Heights = NDArray[np.float32]

SHIFT = (0.0137, 0.0071)
"""Fraction of a cell by which the grid is shifted, so that round coordinates do not fall on ties."""
LARGEST = 120_000_000
"""Most cells that a map may have."""


@dataclass(frozen=True, slots=True)
class DepthMap:
    """Heights (rows, cols) float32, mm above the bed; rows along y, columns along x.

    A cell's value is the exact height at its centre. `x0`, `y0`: centre of cell [0, 0] in the setup's
    frame; `pitch`: distance between centres; mm.
    """

    heights: Heights
    x0: float
    y0: float
    pitch: float

    @staticmethod
    def over(box: tuple[float, float, float, float], height: float, pitch: float) -> DepthMap:
        """A level map of the cells whose centres lie in the box x0, y0, x1, y1.

        Raises MemoryError, naming the finest pitch that fits, above LARGEST cells.
        """
        x0, y0, rows, cols = _layout(box, pitch)
        if rows < 1 or cols < 1:
            raise ValueError("the pitch is larger than the stock")
        if rows * cols > LARGEST:
            thousandths = int(np.ceil(np.sqrt((box[2] - box[0]) * (box[3] - box[1]) / LARGEST) * 1000))
            while np.prod(_layout(box, thousandths / 1000)[2:]) > LARGEST:
                thousandths += 1
            raise MemoryError(f"{thousandths / 1000:.3f}")
        heights = np.full((rows, cols), height, dtype=np.float32)
        heights.setflags(write=False)
        return DepthMap(heights, x0, y0, pitch)

    def with_heights(self, heights: Heights) -> DepthMap:
        """The same cells at other heights; the array becomes read-only."""
        heights.setflags(write=False)
        return DepthMap(heights, self.x0, self.y0, self.pitch)

    def opened(self, other: DepthMap, thickness: float, least: float) -> DepthMap:
        """The same cells, 0 high where less than `least` stands between them and what the other side has lost, mm.

        `other`: the map of that side, turned over about x, from whose bed this one's lies `thickness` away. To the
        nearest cell; where the other side is uncut, or was never there, nothing changes.
        """
        rows = np.rint((-self.ys - other.y0) / other.pitch).astype(np.int64)
        cols = np.rint((self.xs - other.x0) / other.pitch).astype(np.int64)
        inside = ((rows >= 0) & (rows < len(other.ys)))[:, None] & ((cols >= 0) & (cols < len(other.xs)))[None, :]
        theirs = other.heights[np.clip(rows, 0, len(other.ys) - 1)][:, np.clip(cols, 0, len(other.xs) - 1)]
        gone = inside & (self.heights + theirs <= np.float32(thickness + least))
        return self.with_heights(np.where(gone & (self.heights > 0), np.float32(0), self.heights))

    def window(self, x0: float, y0: float, x1: float, y1: float) -> tuple[slice, slice]:
        """Rows and columns of the cells whose centres may lie in a box, mm; empty slices where none do."""
        rows, cols = self.heights.shape
        r0 = min(rows, max(0, math.floor((y0 - self.y0) / self.pitch)))
        r1 = max(r0, min(rows, math.ceil((y1 - self.y0) / self.pitch) + 1))
        c0 = min(cols, max(0, math.floor((x0 - self.x0) / self.pitch)))
        c1 = max(c0, min(cols, math.ceil((x1 - self.x0) / self.pitch) + 1))
        return slice(r0, r1), slice(c0, c1)

    @property
    def xs(self) -> Array:
        """Column centres, mm."""
        return np.asarray(self.x0 + self.pitch * np.arange(self.heights.shape[1]))

    @property
    def ys(self) -> Array:
        """Row centres, mm."""
        return np.asarray(self.y0 + self.pitch * np.arange(self.heights.shape[0]))


def _layout(box: tuple[float, float, float, float], pitch: float) -> tuple[float, float, int, int]:
    """First centre x, y (mm), rows and columns of the cells whose centres lie in a box."""
    bx0, by0, bx1, by1 = box
    x0, y0 = bx0 + (0.5 + SHIFT[0]) * pitch, by0 + (0.5 + SHIFT[1]) * pitch
    return x0, y0, int(np.floor((by1 - y0) / pitch)) + 1, int(np.floor((bx1 - x0) / pitch)) + 1
