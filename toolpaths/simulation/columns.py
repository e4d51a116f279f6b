"""Wood as columns on a coarse grid, each with an underside and a top, and which of them hang together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.simulation.depth_map import DepthMap, Heights
from toolpaths.simulation.region_cells import covered

LEAST = 1.0
"""Height in mm from which wood between two cells counts as joining them. Common practice: the least tab."""
_TOUCH = 1e-6
"""Part of a cell up to which two cells only touch."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Wood as columns on a grid, each from `low` to `high`, (rows, cols) float32, mm above the bed.

    There is no wood where high <= low. `x0`, `y0`: centre of cell [0, 0]; `pitch`: distance between centres, mm.
    """

    low: Heights
    high: Heights
    x0: float
    y0: float
    pitch: float

    @staticmethod
    def of(top: DepthMap, beneath: DepthMap | None = None, glue: float = 0.0, pitch: float = 0.4) -> Columns:
        """The wood of a map, folded to about `pitch` mm: whole cells together; a coarser map stays as it is.

        `beneath`: the map of the other side, cut before; the work is turned over about x, and the bed of that side
        lies `glue` mm above this one. A column's underside is then glue - H, at least 0, with H the least of the
        other map's cells that meet the column's own cell, mirrored; 0 where none does.
        Tops are folded by the least and undersides by the greatest, so a cell never holds more wood than what it is
        made of. Cells at the far edges that do not fill a folded one are left out.
        """
        rows, cols = top.heights.shape
        n = min(max(1, round(pitch / top.pitch)), rows, cols)
        shift, size = (n - 1) / 2 * top.pitch, n * top.pitch
        down, right = np.arange(rows // n) * n, np.arange(cols // n) * n
        high = _least(top.heights, (down, down + n), (right, right + n))
        x0, y0 = top.x0 + shift, top.y0 + shift
        low = np.zeros_like(high)
        if beneath is not None:
            across = _meeting(-(y0 + size * np.arange(len(down))), size, beneath.y0, beneath.pitch)
            along = _meeting(x0 + size * np.arange(len(right)), size, beneath.x0, beneath.pitch)
            np.maximum(np.float32(glue) - _least(beneath.heights, across, along), 0, out=low)
        for array in (low, high):
            array.setflags(write=False)
        return Columns(low, high, x0, y0, size)

    @property
    def wood(self) -> Mask:
        """(rows, cols) whether there is any wood."""
        return self.high > self.low

    @property
    def xs(self) -> Array:
        """Column centres, mm."""
        return np.asarray(self.x0 + self.pitch * np.arange(self.high.shape[1]))

    @property
    def ys(self) -> Array:
        """Row centres, mm."""
        return np.asarray(self.y0 + self.pitch * np.arange(self.high.shape[0]))

    def cells(self, region: BaseGeometry) -> Mask:
        """(rows, cols) whether a cell's centre lies in the region."""
        out = np.zeros(self.high.shape, dtype=bool)
        found = covered(region, DepthMap(self.high, self.x0, self.y0, self.pitch))
        if found is not None:
            rows, cols, mask = found
            out[rows, cols] = mask
        return out


def bonds(columns: Columns) -> tuple[Heights, Heights]:
    """Height of the wood between neighbours, mm: along x (rows, cols - 1) and along y (rows - 1, cols).

    The overlap of two columns, min(high) - max(low); 0 or less where nothing joins them.
    """
    low, high = columns.low, columns.high
    return (
        np.minimum(high[:, 1:], high[:, :-1]) - np.maximum(low[:, 1:], low[:, :-1]),
        np.minimum(high[1:], high[:-1]) - np.maximum(low[1:], low[:-1]),
    )


def bodies(columns: Columns, least: float = LEAST) -> tuple[NDArray[np.int32], int]:
    """Number (rows, cols) of the body that a cell belongs to, from 1, and their count; 0 where there is no wood.

    A body is what hangs together by bonds at least `least` mm high.
    """
    along, across = bonds(columns)
    return joined(columns.wood, along >= np.float32(least), across >= np.float32(least))


def joined(cells: Mask, along: Mask, across: Mask) -> tuple[NDArray[np.int32], int]:
    """Numbers (rows, cols) from 1 of what hangs together, and their count; 0 outside `cells` (rows, cols).

    `along` (rows, cols - 1), `across` (rows - 1, cols): whether a cell is joined to the next of its row, of its
    column; only what joins two of the cells counts. Runs in rows first, then runs of neighbouring rows.
    """
    if cells.all() and along.all() and across.all():
        return np.ones(cells.shape, dtype=np.int32), 1  # an uncut blank, mostly: no library need be loaded
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    begins = cells.copy()
    begins[:, 1:] &= ~(along & cells[:, :-1])
    run = np.cumsum(begins.ravel(), dtype=np.int32).reshape(cells.shape)
    meets = across & cells[:-1] & cells[1:]
    one, other = run[:-1][meets], run[1:][meets]
    new = np.ones(len(one), dtype=bool)
    new[1:] = (one[1:] != one[:-1]) | (other[1:] != other[:-1])
    one, other = one[new] - 1, other[new] - 1
    runs = int(run[-1, -1]) if run.size else 0
    if not runs:
        return np.zeros(cells.shape, dtype=np.int32), 0
    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(runs, runs))
    count, number = connected_components(graph, directed=False)
    labels = np.where(cells, np.concatenate([[0], number + 1])[run], 0)
    return labels.astype(np.int32), int(count)


def _meeting(centres: Array, size: float, first: float, pitch: float) -> tuple[Ints, Ints]:
    """First and past-last index (N,) of the cells of an axis that overlap cells of `size` mm at the centres (N,)."""
    start = np.floor((centres - size / 2 - first) / pitch + 0.5 + _TOUCH).astype(np.int64)
    stop = np.ceil((centres + size / 2 - first) / pitch + 0.5 - _TOUCH).astype(np.int64)
    return start, stop


def _least(heights: Heights, rows: tuple[Ints, Ints], cols: tuple[Ints, Ints]) -> Heights:
    """Least height (R, C) among the rows and columns from first to past-last; infinite where there is no such cell."""
    out = heights
    for axis, (start, stop) in enumerate((rows, cols)):
        count = heights.shape[axis]
        inside = (start < count) & (stop > 0)
        start, stop = np.clip(start, 0, count - 1), np.clip(stop, 1, count)
        least = np.take(out, start, axis=axis)
        for step in range(1, int((stop - start).max(initial=0))):
            np.minimum(least, np.take(out, np.minimum(start + step, stop - 1), axis=axis), out=least)
        if not inside.all():
            least[(slice(None),) * axis + (~inside,)] = np.inf
        out = least
    return out
