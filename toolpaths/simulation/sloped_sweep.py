"""Lower a grid by straight moves of bits that are not flat: strips beside the moves, and discs at their ends.

Over a point the bit is lowest where `Bit.past` says; from the first to the last point for which that place lies on
the move, a strip of two factors is left: one falls along the move, the other depends on the distance from its line
alone. Beyond the strip the bit at the move's end is lowest: a disc. Where one move goes straight on into another
that is no less steep downwards, their strips meet or overlap, and the disc between them is nobody's lowest.
So a pass in many chords over a crowned top costs little more than its area.

All lengths mm. Strips and discs are worked on in patches of cells, as many at once as stay in the processor's cache,
in float64; the map's cells are float32.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.job.bit import Bit

Heights = NDArray[np.float32]

_CELLS = 100_000
"""Cells that are worked on at once."""
_ROUNDED = 2
"""Patches are taken as one size up to a multiple of so many cells."""
_LONGEST = 512
"""Longest strip in one patch, cells."""
_SPARE = 1e-7
"""How far a strip goes on past its ends, mm, so that no cell falls between two; over so little it stays exact."""
_NO_RUN = 1e-9
"""A move shorter than this in plan, mm, stands still."""
_STRAIGHT = 1e-9
"""Radians that a move may turn and still go straight on."""


@dataclass(frozen=True, slots=True)
class Cells:
    """A map's cells, to be lowered in place: `heights` (rows, cols), centre of the first, and the pitch, mm."""

    heights: Heights
    x0: float
    y0: float
    pitch: float


def lower_strips(cells: Cells, bit: Bit, start: Array, end: Array, top: float) -> None:
    """Lowers cells to what N straight moves, `start` to `end` (N, 3), leave, where that is below `top`.

    Exact (`Bit.swept_height`) but for the rounding of the cells. Moves straight up and down are taken at their lower
    end. The others should not be steep: the two factors of their strips then cancel.
    """
    stand = np.hypot(end[:, 0] - start[:, 0], end[:, 1] - start[:, 1]) < _NO_RUN
    lower = np.where((start[:, 2] <= end[:, 2])[:, None], start, end)
    goes = _Strips.of(start[~stand], end[~stand])
    discs = np.concatenate([lower[stand], _ends(goes, end[~stand])])
    _lower_discs(cells, bit, discs, top)
    pieces = goes.pieces(bit, top, cells.pitch, _LONGEST * cells.pitch)
    for axis in (0, 1, None):
        way = np.count_nonzero(pieces.way, axis=1) == 2 if axis is None else pieces.way[:, 1 - axis] == 0
        _lower_strips(cells, bit, pieces.where(way), axis)


@dataclass(frozen=True, slots=True)
class _Strips:
    """Moves that go somewhere in plan: from `start` (N, 3), `way` (N, 2) a mm, `run` (N,) in plan, `rise` (N,) a mm.

    `reach` (N,): how far aside they are below what stands.
    """

    start: Array
    way: Array
    run: Array
    rise: Array
    reach: Array

    @staticmethod
    def of(start: Array, end: Array) -> _Strips:
        """Moves as they are, their reach unknown."""
        run = np.hypot(end[:, 0] - start[:, 0], end[:, 1] - start[:, 1])
        way = (end[:, :2] - start[:, :2]) / run[:, None]
        return _Strips(start, way, run, (end[:, 2] - start[:, 2]) / run, np.zeros(len(run)))

    def where(self, keep: Mask | Ints) -> _Strips:
        """Some of them."""
        return _Strips(self.start[keep], self.way[keep], self.run[keep], self.rise[keep], self.reach[keep])

    @property
    def low(self) -> Array:
        """Lowest height of the tip (N,)."""
        return np.minimum(self.start[:, 2], self.start[:, 2] + self.run * self.rise)

    def pieces(self, bit: Bit, top: float, shortest: float, longest: float) -> _Strips:
        """The same moves cut up so that the box around each is mostly strip; each with its reach below `top`.

        None is cut shorter than `shortest`, however narrow: a pointed bit may be below the top by next to nothing.
        """
        width = 2 * _reach(bit, top - self.low)
        small, large = np.min(np.abs(self.way), axis=1), np.max(np.abs(self.way), axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            length = np.minimum(width * large / small, longest)
        length = np.where(small > 0, np.maximum(length, np.maximum(width, shortest)), longest)
        count = np.where(width > 0, np.ceil(self.run / length - 1e-9), 0).astype(np.int64)
        which = np.repeat(np.arange(len(count)), count)
        number = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
        some, run = self.where(which), (self.run / np.maximum(count, 1))[which]
        along = number * run
        start = some.start + np.concatenate([some.way, some.rise[:, None]], axis=1) * along[:, None]
        out = _Strips(start, some.way, run, some.rise, some.reach)
        return _Strips(start, some.way, run, some.rise, _reach(bit, top - out.low))

    def past(self, bit: Bit, aside: Array, index: Ints | slice = slice(None)) -> Array:
        """How far past its foot, and with which sign along the move, the axis is lowest; aside (K, ...), 0 and more."""
        rise = self.rise[index].reshape(-1, *([1] * (aside.ndim - 1)))
        aside = np.minimum(aside, bit.radius)
        rim = np.sqrt((bit.radius - aside) * (bit.radius + aside))
        return np.asarray(-np.sign(rise) * np.minimum(bit.past(aside, np.abs(rise)), rim))


def _ends(moves: _Strips, end: Array) -> Array:
    """Ends of moves (K, 3) at which the bit itself may be lowest over a point; `end` (N, 3)."""
    if not len(end):
        return end
    joined = np.all(end[:-1] == moves.start[1:], axis=1)
    a, b = moves.way[:-1], moves.way[1:]
    straight = joined & (np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) < _STRAIGHT)
    straight &= (np.einsum("ij,ij->i", a, b) > 0) & (moves.rise[1:] <= moves.rise[:-1] + 1e-12)
    return np.concatenate([moves.start[np.append(True, ~joined)], end[np.append(~straight, True)]])


def _reach(bit: Bit, depth: Array) -> Array:
    """How far from its axis (N,) a bit is below the top when its tip is so deep (N,) below it, mm; 0 above it."""
    depths, which = np.unique(depth, return_inverse=True)
    return np.array([bit.width_at(float(d)) / 2 for d in depths], dtype=np.float64)[which.reshape(-1)]


# What is left in patches


def _lower_discs(cells: Cells, bit: Bit, places: Array, top: float) -> None:
    """The bit set down at places (N, 3)."""
    reach = _reach(bit, top - places[:, 2])[:, None]
    keep = reach[:, 0] > 0
    places, reach = places[keep], reach[keep]
    for p in _grouped(cells, places[:, :2] - reach, places[:, :2] + reach):
        x, y = p.centres(cells)
        at = places[p.index]
        rho = np.hypot((x - at[:, :1])[:, None, :], (y - at[:, 1:2])[:, :, None])
        _lower(cells, p, bit.height_at(rho) + at[:, 2][:, None, None])


def _lower_strips(cells: Cells, bit: Bit, s: _Strips, axis: int | None) -> None:
    """Strips along x (0), along y (1), or in any direction."""
    if not len(s.run):
        return
    # Between the line and the reach the way past the foot first falls, then rises, or does only one of the two.
    both = np.stack([np.zeros_like(s.reach), s.reach], axis=1)
    past = -np.sign(s.rise) * np.minimum(bit.past(both, np.abs(s.rise)[:, None]).max(axis=1), bit.radius)
    far = np.stack([-np.maximum(past, 0.0) - _SPARE, s.run + np.maximum(-past, 0.0) + _SPARE], axis=1)
    ends = s.start[:, None, :2] + far[:, :, None] * s.way[:, None, :]
    across = np.abs(s.way[:, ::-1]) * s.reach[:, None]
    for p in _grouped(cells, ends.min(axis=1) - across, ends.max(axis=1) + across):
        heights = _slanted(cells, bit, s, p) if axis is None else _square(cells, bit, s, p, axis)
        _lower(cells, p, heights)


def _square(cells: Cells, bit: Bit, s: _Strips, p: _Patches, along: int) -> Array:
    """Heights (K, h, w) of strips along x (0) or y (1): each the sum of a row and a column."""
    place = p.centres(cells)
    at, run, rise = s.start[p.index], s.run[p.index][:, None], s.rise[p.index][:, None]
    foot = (place[along] - at[:, along][:, None]) * s.way[p.index, along][:, None]
    aside = np.abs(place[1 - along] - at[:, 1 - along][:, None])
    past = s.past(bit, aside, p.index)
    profile = bit.profile(np.hypot(past, np.minimum(aside, bit.radius))) + rise * past
    slope = at[:, 2][:, None] + rise * foot

    heights: Array = _sum(slope, profile, along, np.float32)
    if rise.any():
        # The middle of the strip is 0 here; beyond half the run the bit's end is lowest, and that is a disc's.
        edge = int(np.abs(past).max() / cells.pitch) + 2
        most = foot.shape[1]
        foot -= run / 2
        parts = [slice(0, edge), slice(most - edge - _ROUNDED, most)]
        for part in parts if 2 * edge + _ROUNDED < most else [slice(0, most)]:
            off = _sum(foot[:, part], past, along)
            np.abs(off, out=off)
            here = heights[:, :, part] if along == 0 else heights[:, part, :]
            np.copyto(here, np.inf, where=off > (run / 2 + _SPARE)[:, :, None])
    return heights


def _sum(a: Array, b: Array, along: int, kind: Any = np.float64) -> Any:
    """(K, h, w) of what runs along the strip (K, N) and what runs across it (K, M); added in float64."""
    u, v = (a[:, None, :], b[:, :, None]) if along == 0 else (a[:, :, None], b[:, None, :])
    out = np.empty(np.broadcast_shapes(u.shape, v.shape), dtype=kind)
    return np.add(u, v, out=out, dtype=np.float64, casting="same_kind")


def _slanted(cells: Cells, bit: Bit, s: _Strips, p: _Patches) -> Array:
    """Heights (K, h, w) of strips in any direction."""
    x, y = p.centres(cells)
    at, way = s.start[p.index], s.way[p.index]
    x, y = (x - at[:, :1])[:, None, :], (y - at[:, 1:2])[:, :, None]
    ex, ey = way[:, 0][:, None, None], way[:, 1][:, None, None]
    run, rise = s.run[p.index][:, None, None], s.rise[p.index][:, None, None]
    foot, aside = x * ex + y * ey, x * ey - y * ex
    np.abs(aside, out=aside)
    out = aside > bit.radius
    np.minimum(aside, bit.radius, out=aside)
    if rise.any():
        past = s.past(bit, aside, p.index)
        heights = bit.profile(np.hypot(past, aside)) + rise * (past + foot)
        foot += past
    else:
        heights = bit.profile(aside)
    heights += at[:, 2][:, None, None]
    foot -= run / 2
    np.abs(foot, out=foot)
    out |= foot > run / 2 + _SPARE
    np.copyto(heights, np.inf, where=out)
    return heights


@dataclass(frozen=True, slots=True)
class _Patches:
    """K patches of one size: which strip or disc each is of (K,), first row and column (K,), and how many (K,)."""

    index: Ints
    row: Ints
    column: Ints
    rows: Ints
    columns: Ints

    def where(self, keep: Mask) -> _Patches:
        """Some of them."""
        return _Patches(self.index[keep], self.row[keep], self.column[keep], self.rows[keep], self.columns[keep])

    def centres(self, cells: Cells) -> tuple[Array, Array]:
        """x (K, w) of the columns and y (K, h) of the rows of all as large as the largest, mm."""
        x = cells.x0 + cells.pitch * (self.column[:, None] + np.arange(int(self.columns.max())))
        y = cells.y0 + cells.pitch * (self.row[:, None] + np.arange(int(self.rows.max())))
        return np.asarray(x), np.asarray(y)


def _grouped(cells: Cells, low: Array, high: Array) -> Iterator[_Patches]:
    """Patches of the cells whose centres lie in boxes from `low` to `high` (N, 2), mm; those of a size together."""
    rows, columns = cells.heights.shape
    column, w = _span((low[:, 0] - cells.x0) / cells.pitch, (high[:, 0] - cells.x0) / cells.pitch, columns)
    row, h = _span((low[:, 1] - cells.y0) / cells.pitch, (high[:, 1] - cells.y0) / cells.pitch, rows)
    here = np.nonzero((w > 0) & (h > 0))[0]
    size = (-(-h // _ROUNDED) << 32) + -(-w // _ROUNDED)
    here = here[np.argsort(size[here], kind="stable")]
    starts = np.append(np.nonzero(np.diff(size[here], prepend=-1))[0], len(here))
    for first, last in zip(starts[:-1].tolist(), starts[1:].tolist(), strict=True):
        most = here[first]
        step = max(1, _CELLS // int((h[most] + _ROUNDED) * (w[most] + _ROUNDED)))
        for place in range(first, last, step):
            i = here[place : min(place + step, last)]
            yield _Patches(i, row[i], column[i], h[i], w[i])


def _span(a: Array, b: Array, count: int) -> tuple[Ints, Ints]:
    """First of the cells 0 .. count - 1 from a to b (N,), and how many; in cells."""
    first = np.clip(np.ceil(a), 0, count).astype(np.int64)
    last = np.clip(np.floor(b), -1, count - 1).astype(np.int64)
    return first, np.maximum(last - first + 1, 0)


def _lower(cells: Cells, p: _Patches, heights: Array) -> None:
    """Lowers the cells of patches to heights (K, h, w), each to its own part of them."""
    left = heights.astype(np.float32, copy=False)
    places = (p.row, p.row + p.rows, p.column, p.column + p.columns)
    for k, (r0, r1, c0, c1) in enumerate(zip(*(a.tolist() for a in places), strict=True)):
        part = cells.heights[r0:r1, c0:c1]
        np.minimum(part, left[k, : r1 - r0, : c1 - c0], out=part)
