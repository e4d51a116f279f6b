"""Which cells of each grid row a moving disc covers, in closed form, for many moves and rows at once.

Everything is in cells: x counts columns, y counts rows, and a cell's centre lies at whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask

_PAIRS = 24_000
"""Pairs of a move and a row that are worked on at once: their arrays stay in the processor's cache."""
_LEVEL = 1e-12
"""A rise across the rows smaller than this, in cells, is rounding."""


@dataclass(frozen=True, slots=True)
class Strokes:
    """N straight moves of discs in plan, all (N,), in cells: from x0, y0 to x1, y1, never downward in y."""

    x0: Array
    y0: Array
    x1: Array
    y1: Array
    radius: Array

    @staticmethod
    def of(start: Array, end: Array, radius: Array) -> Strokes:
        """Strokes from `start` to `end` (N, 2) cells; the direction is forgotten."""
        turn = (start[:, 1] > end[:, 1]) | ((start[:, 1] == end[:, 1]) & (start[:, 0] > end[:, 0]))
        x0, x1 = np.where(turn, end[:, 0], start[:, 0]), np.where(turn, start[:, 0], end[:, 0])
        y0, y1 = np.where(turn, end[:, 1], start[:, 1]), np.where(turn, start[:, 1], end[:, 1])
        return Strokes(x0, y0, x1, y1, radius)

    @staticmethod
    def joined(parts: list[Strokes]) -> Strokes:
        """All strokes of several sets."""
        names = ("x0", "y0", "x1", "y1", "radius")
        return Strokes(*(np.concatenate([getattr(p, name) for p in parts]) for name in names))

    def __len__(self) -> int:
        return len(self.radius)

    def taken(self, keep: Ints | Mask | slice) -> Strokes:
        """Some of them."""
        return Strokes(self.x0[keep], self.y0[keep], self.x1[keep], self.y1[keep], self.radius[keep])

    def rows(self, first: int, last: int) -> tuple[Ints, Ints]:
        """First and last row (N,) that each can cover, of the rows first..last; last < first where none."""
        a = np.ceil(np.maximum(self.y0 - self.radius, first))
        b = np.floor(np.minimum(self.y1 + self.radius, last))
        return a.astype(np.int64), b.astype(np.int64)


@dataclass(frozen=True, slots=True)
class ScanBlock:
    """Spans of K strokes over H rows: arrays (H, K). `index` (K,) numbers the strokes among those given.

    The cells of row `rows` that a stroke covers are columns `first` to `last`; none where last < first.
    """

    index: Ints
    rows: Ints
    first: Ints
    last: Ints


def blocks(strokes: Strokes, rows: tuple[int, int], columns: int, pairs: int = _PAIRS) -> Iterator[ScanBlock]:
    """The spans of all strokes within the rows (first, last) and the columns 0 .. columns - 1, some at a time."""
    top, bottom = strokes.rows(*rows)
    height = bottom - top + 1
    here = np.nonzero((height > 0) & (_right(strokes) >= 0) & (_left(strokes) <= columns - 1))[0]
    # Strokes of like height share a block, so that few of its places stand empty.
    here = here[np.argsort(-height[here], kind="stable")]
    place = 0
    while place < len(here):
        tall = int(height[here[place]])
        index = here[place : place + max(1, pairs // tall)]
        place += len(index)
        yield _block(strokes.taken(index), index, top[index], bottom[index], tall, columns)


def _left(s: Strokes) -> Array:
    return np.minimum(s.x0, s.x1) - s.radius


def _right(s: Strokes) -> Array:
    return np.maximum(s.x0, s.x1) + s.radius


def _block(s: Strokes, index: Ints, top: Ints, bottom: Ints, tall: int, columns: int) -> ScanBlock:
    """One block.

    The left end of a row's span is the least of cx(t) - sqrt(r^2 - (y - cy(t))^2) over the move. That is
    convex in t, and least where y - cy(t) = r dx / length, or at the end of the move that is nearer to it;
    the right end mirrors it.
    """
    dx, dy = s.x1 - s.x0, s.y1 - s.y0
    across = dy < _LEVEL
    inverse = 1.0 / np.where(across, np.inf, dy)
    length = np.hypot(dx, dy)
    touch = s.radius * dx / np.where(length > 0, length, 1.0) * inverse
    # Along a row the left end belongs to one end of the move and the right end to the other.
    early, late = np.where(dx < 0, 1.0, 0.0), np.where(dx < 0, 0.0, 1.0)
    rows = top + np.arange(tall)[:, None]
    y = rows - s.y0
    share = y * inverse
    square = s.radius * s.radius
    time, reach, room = np.empty_like(y), np.empty_like(y), np.empty_like(y)

    def edge(offset: Array) -> None:
        """Centre's column into `time` and half the chord into `reach`."""
        np.add(share, offset, out=time)
        np.maximum(time, 0.0, out=time)
        np.minimum(time, 1.0, out=time)
        np.multiply(time, dy, out=reach)
        np.subtract(y, reach, out=reach)
        np.multiply(reach, reach, out=reach)
        np.subtract(square, reach, out=reach)
        np.maximum(reach, 0.0, out=reach)
        np.sqrt(reach, out=reach)
        np.multiply(time, dx, out=time)
        np.add(time, s.x0, out=time)

    edge(np.where(across, early, -touch))
    np.subtract(time, reach, out=room)
    np.ceil(room, out=room)
    np.maximum(room, 0.0, out=room)
    np.minimum(room, float(columns), out=room)
    first = room.astype(np.int64)
    edge(np.where(across, late, touch))
    np.add(time, reach, out=room)
    np.floor(room, out=room)
    np.minimum(room, columns - 1.0, out=room)
    np.maximum(room, -1.0, out=room)
    last = room.astype(np.int64)
    if int((bottom - top).min()) + 1 < tall:
        np.putmask(last, rows > bottom, -1)
        np.minimum(rows, bottom, out=rows)
    return ScanBlock(index, rows, first, last)
