"""Cut a program into a depth map.

The value of a cell is the exact height at its centre, never an average: then a cell's size bears on no value,
and cuts combine by taking the least, in any order.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.gcode.reader.trace import Moves
from toolpaths.job.bit import Bit
from toolpaths.job.bits.flat import Flat
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.level_sweep import listed, lower_level
from toolpaths.simulation.scanlines import ScanBlock, Strokes, blocks
from toolpaths.simulation.sloped_sweep import Cells, lower_strips

Heights = NDArray[np.float32]

_WORTH_A_SLICE = 4096
"""From so many cells up a level move along an axis is painted on its own, as one rectangle."""
_MOST_OF_IT = 0.6
"""Above this part of the map the window that moves may reach is not worth a copy of its own."""
_ROUNDING = 1e-9
"""A rise smaller than this, mm, is rounding: far below what a map's float32 can hold."""
_STEEP = 3.0
"""Rise a mm above which moves of bits that are not flat are worked out cell by cell."""


def simulate(before: DepthMap, moves: Moves, bits: Mapping[int, Bit]) -> DepthMap:
    """The map after M straight moves, in its frame (mm), made with the bits of their numbers.

    Every cell is the least of what it was and of the exact height that each move leaves at its centre
    (`Bit.swept_height`); computed in float64, kept in float32. Where no move reaches, nothing changes.
    Raises KeyError for a bit's number that is not in `bits`.
    """
    top = float(before.heights.max())
    rows, columns = _window(before, moves, bits, top)
    heights = before.heights.copy()
    heights.setflags(write=True)
    whole = (rows.stop - rows.start) * (columns.stop - columns.start) > _MOST_OF_IT * heights.size
    if whole:
        rows, columns = slice(0, heights.shape[0]), slice(0, heights.shape[1])
    part = heights if whole else heights[rows, columns].copy()
    grid = _Grid(part, before.x0 + columns.start * before.pitch, before.y0 + rows.start * before.pitch, before.pitch)
    level: list[_Level] = []
    for number in np.unique(moves.bit):
        bit = bits[int(number)]
        run = _reaching(grid, bit, _Run(moves.start, moves.end).taken(moves.bit == number), top)
        run = _sliced(grid, bit, run, top)
        if isinstance(bit, Flat):
            level += _lower_flat(grid, bit, run.taken(run.is_level), run.taken(~run.is_level))
        else:
            steep = run.is_steep
            _lower_any(grid, bit, run.taken(steep), top)
            gentle = run.taken(~steep)
            cells = Cells(grid.heights, grid.x0, grid.y0, grid.pitch)
            lower_strips(cells, bit, gentle.start, gentle.end, top)
    if level:
        lower_level(grid.heights, Strokes.joined([p.strokes for p in level]), np.concatenate([p.z for p in level]))
    if not whole:
        heights[rows, columns] = grid.heights
    return before.with_heights(heights)


def _window(before: DepthMap, moves: Moves, bits: Mapping[int, Bit], top: float) -> tuple[slice, slice]:
    """Rows and columns that moves below the top may reach; nothing else is looked at."""
    low = np.minimum(moves.start[:, 2], moves.end[:, 2]) < top
    if not low.any():
        return slice(0, 0), slice(0, 0)
    radius = max(bits[int(number)].radius for number in np.unique(moves.bit)) + 2 * before.pitch
    places = np.concatenate([moves.start[low, :2], moves.end[low, :2]])
    (x0, y0), (x1, y1) = places.min(axis=0) - radius, places.max(axis=0) + radius
    return before.window(float(x0), float(y0), float(x1), float(y1))


@dataclass(frozen=True, slots=True)
class _Grid:
    """A map's cells, to be lowered in place."""

    heights: Heights
    x0: float
    y0: float
    pitch: float

    def cells(self, points: Array) -> Array:
        """Places (N, 2) in cells (column, row) of points (N, 2 or 3) in mm."""
        return np.asarray((points[:, :2] - np.array([self.x0, self.y0])) / self.pitch)

    def strokes(self, start: Array, end: Array, radius: float | Array) -> Strokes:
        """Moves (N, 3) with a disc of that radius, all in mm, as strokes in cells."""
        reach = np.broadcast_to(np.asarray(radius, dtype=np.float64) / self.pitch, (len(start),))
        return Strokes.of(self.cells(start), self.cells(end), reach)

    def blocks(self, strokes: Strokes) -> Iterator[ScanBlock]:
        """The strokes' spans on this grid."""
        rows, columns = self.heights.shape
        return blocks(strokes, (0, rows - 1), columns)


@dataclass(frozen=True, slots=True)
class _Run:
    """Moves of one bit, from `start` to `end` (N, 3), mm."""

    start: Array
    end: Array

    def taken(self, keep: Mask) -> _Run:
        """Some of them."""
        return self if keep.all() else _Run(self.start[keep], self.end[keep])

    @property
    def is_level(self) -> Mask:
        """Whether each keeps its height, but for rounding."""
        return np.asarray(np.abs(self.end[:, 2] - self.start[:, 2]) <= _ROUNDING)

    @property
    def is_steep(self) -> Mask:
        """Whether each goes down or up steeply, but not straight."""
        run = np.hypot(self.end[:, 0] - self.start[:, 0], self.end[:, 1] - self.start[:, 1])
        return np.asarray((np.abs(self.end[:, 2] - self.start[:, 2]) > _STEEP * run) & ~self.is_upright)

    @property
    def low(self) -> Array:
        """Lowest height of the tip (N,), mm."""
        return np.minimum(self.start[:, 2], self.end[:, 2])

    @property
    def lower_end(self) -> Array:
        """Place of the tip (N, 3) at whichever end is lower, mm."""
        return np.where((self.start[:, 2] > self.end[:, 2])[:, None], self.end, self.start)

    @property
    def is_upright(self) -> Mask:
        """Whether each stays over its place."""
        return np.asarray(np.all(self.start[:, :2] == self.end[:, :2], axis=1))


@dataclass(frozen=True, slots=True)
class _Level:
    """Strokes in cells, each at one height z (N,), mm."""

    strokes: Strokes
    z: Heights


def _reaching(grid: _Grid, bit: Bit, run: _Run, top: float) -> _Run:
    """The moves that come below what stands, over the map."""
    rows, columns = grid.heights.shape
    run = run.taken(run.low < top)
    for axis, first, count in ((0, grid.x0, columns), (1, grid.y0, rows)):
        a, b = run.start[:, axis], run.end[:, axis]
        last = first + (count - 1) * grid.pitch
        run = run.taken((np.maximum(a, b) >= first - bit.radius) & (np.minimum(a, b) <= last + bit.radius))
    return run


def _lower_flat(grid: _Grid, bit: Flat, level: _Run, ramps: _Run) -> list[_Level]:
    """Lowers what a flat bit's ramps leave beside level strokes, and returns those, to be painted with others."""
    _lower_crescents(grid, bit, ramps.taken(~ramps.is_upright))
    foot = ramps.lower_end
    return [
        _Level(grid.strokes(run.start, run.end, bit.radius), run.low.astype(np.float32))
        for run in (level, _Run(foot, foot))
    ]


def _lower_crescents(grid: _Grid, bit: Flat, ramps: _Run) -> None:
    """Lowers what ramps leave outside the disc at their lower end: on a ramp each cell has its own height."""
    foot = grid.cells(ramps.lower_end)
    radius = bit.radius / grid.pitch
    for block in grid.blocks(grid.strokes(ramps.start, ramps.end, bit.radius)):
        cx, cy = foot[block.index, 0], foot[block.index, 1]
        square = radius * radius - (block.rows - cy) ** 2
        half = np.sqrt(np.maximum(square, 0.0))
        disc_first = np.maximum(np.ceil(cx - half), block.first).astype(np.int64)
        disc_last = np.minimum(np.floor(cx + half), block.last).astype(np.int64)
        missed = (square < 0) | (disc_first > disc_last)
        disc_first[missed] = block.last[missed] + 1
        disc_last[missed] = block.last[missed]
        _lower_cells(grid, bit, ramps, block, block.first, disc_first - 1)
        _lower_cells(grid, bit, ramps, block, disc_last + 1, block.last)


def _lower_any(grid: _Grid, bit: Bit, run: _Run, top: float) -> None:
    """Lowers what a bit of any shape leaves, cell by cell, only as far out as it can be below what stands."""
    depth, which = np.unique(top - run.low, return_inverse=True)
    reach = np.array([bit.width_at(float(d)) / 2 for d in depth], dtype=np.float64)
    for block in grid.blocks(grid.strokes(run.start, run.end, reach[which.reshape(-1)])):
        _lower_cells(grid, bit, run, block, block.first, block.last)


def _lower_cells(grid: _Grid, bit: Bit, run: _Run, block: ScanBlock, first: Ints, last: Ints) -> None:
    columns = grid.heights.shape[1]
    flat = grid.heights.reshape(-1)
    for move, row, column in listed(block, first, last):
        points = np.stack([grid.x0 + grid.pitch * column, grid.y0 + grid.pitch * row], axis=1)
        height = bit.swept_height(run.start[move], run.end[move], points)
        np.minimum.at(flat, row * columns + column, height.astype(np.float32))


def _sliced(grid: _Grid, bit: Bit, run: _Run, top: float) -> _Run:
    """Paints long level moves along an axis but for their round ends; returns all that is left to do, in its order."""
    span = np.abs(run.end - run.start)[:, :2]
    length = span.max(axis=1, initial=0.0)
    cells = np.minimum(length / grid.pitch, max(grid.heights.shape)) * (2 * bit.radius / grid.pitch)
    apart = (span.min(axis=1, initial=np.inf) == 0) & (length > 2 * bit.radius) & (cells > _WORTH_A_SLICE)
    apart &= run.is_level
    if not apart.any():
        return run
    for start, end in zip(run.start[apart], run.end[apart], strict=True):
        low = min(float(start[2]), float(end[2]))
        along = 0 if start[1] == end[1] else 1
        _lower_rectangle(grid, bit, start[:2], end[:2], along, low, bit.width_at(top - low) / 2)
    keep, ends = run.taken(~apart), run.taken(apart)
    points = np.concatenate([keep.start, ends.start, ends.end])
    return _Run(points, np.concatenate([keep.end, ends.start, ends.end]))


def _lower_rectangle(grid: _Grid, bit: Bit, start: Array, end: Array, along: int, low: float, reach: float) -> None:
    """Paints the straight part of a level move along x (0) or y (1), out to a reach: one profile all the way."""
    heights, first = (grid.heights, (grid.x0, grid.y0)) if along == 0 else (grid.heights.T, (grid.y0, grid.x0))
    rows, columns = heights.shape
    a, b = sorted(((start[along] - first[0]) / grid.pitch, (end[along] - first[0]) / grid.pitch))
    c0, c1 = max(0, int(np.ceil(a))), min(columns, int(np.floor(b)) + 1)
    axis = start[1 - along]
    middle, out = (axis - first[1]) / grid.pitch, reach / grid.pitch
    r0, r1 = max(0, int(np.ceil(middle - out))), min(rows, int(np.floor(middle + out)) + 1)
    if c0 >= c1 or r0 >= r1:
        return
    distance = np.abs(np.arange(r0, r1) * grid.pitch + first[1] - axis)
    profile = (bit.height_at(distance) + low).astype(np.float32)
    part = heights[r0:r1, c0:c1]
    # One height for all is several times as fast as a column of heights.
    np.minimum(part, profile[0] if np.all(profile == profile[0]) else profile[:, None], out=part)
