"""Lower a grid of heights by many level spans at once, and list the cells of spans that are not level.

A level span is a run of cells in a row that all come down to one height. Painting each on its own would touch
every cell once a span. Instead a span of n cells marks two places in a table of runs as long as the greatest
power of two that fits in n; then every table hands its runs down to the next, half as long, until runs of one
cell are left. (A sparse table for range minima, read backwards.)
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Ints
from toolpaths.simulation.scanlines import ScanBlock, Strokes, blocks

Heights = NDArray[np.float32]

_BAND = 64
"""Rows for which tables are held at once: memory stays flat, however fine the map."""
_LONGEST = 512
"""Spans longer than this are painted as slices: a slice costs little against so many cells."""
_SHIFT = 5
_STRETCH = 1 << _SHIFT
"""Columns that share a mark of use."""
_CELLS = 32_768
"""Cells that are listed at once."""


def lower_level(heights: Heights, strokes: Strokes, z: Heights) -> None:
    """Lowers `heights` (rows, cols), in place, to z (N,) wherever the discs of N strokes (in cells) pass."""
    if not len(strokes):
        return
    rows, columns = heights.shape
    top, bottom = strokes.rows(0, rows - 1)
    width = np.abs(strokes.x1 - strokes.x0) + 2 * strokes.radius + 1
    longest = int(min(float(width.max()), columns, _LONGEST))
    tables = _Tables(longest, min(_BAND, rows), columns)
    for r0 in range(int(top.min()), int(bottom.max()) + 1, _BAND):
        r1 = min(r0 + _BAND, rows) - 1
        here = np.nonzero((top <= r1) & (bottom >= r0))[0]
        if len(here):
            part, level = strokes.taken(here), z[here]
            for block in blocks(part, (r0, r1), columns):
                tables.mark(block, level, r0, heights)
            tables.settle(heights[r0 : r1 + 1])


def listed(block: ScanBlock, first: Ints, last: Ints) -> Iterator[tuple[Ints, Ints, Ints]]:
    """The cells of spans (H, K) laid over a block's: index of the stroke, row and column, each (M,); some at a time."""
    count = np.maximum(last - first + 1, 0).ravel()
    pairs = np.nonzero(count)[0]
    count = count[pairs]
    ends = np.cumsum(count)
    rows, begin = block.rows.ravel()[pairs], first.ravel()[pairs]
    stroke = block.index[pairs % len(block.index)]
    place = 0
    while place < len(pairs):
        done = int(ends[place - 1]) if place else 0
        stop = max(place + 1, int(np.searchsorted(ends, done + _CELLS, side="right")))
        n, part = count[place:stop], slice(place, stop)
        column = np.arange(int(ends[stop - 1]) - done) + np.repeat(begin[part] - (ends[part] - n - done), n)
        yield np.repeat(stroke[part], n), np.repeat(rows[part], n), column
        place = stop


class _Tables:
    """Runs of 1, 2, 4, ... cells over a band of rows, and a last table for spans that hold no cell.

    `_used` says for each run length in which stretches of columns spans begin: only there is anything to hand down.
    """

    def __init__(self, longest: int, rows: int, columns: int) -> None:
        self._columns, self._longest = columns, longest
        levels = longest.bit_length()
        size = rows * columns
        # An empty span may begin just past the last column.
        self._flat = np.empty((levels + 1) * size + 1, dtype=np.float32)
        self._flat[levels * size :] = np.inf
        self._runs = self._flat[: levels * size].reshape(levels, rows, columns)
        self._used = np.zeros((levels + 1, columns // _STRETCH + 1), dtype=np.bool_)
        length = np.arange(longest + 1)
        level = np.frexp(length)[1].astype(np.int64) - 1
        level[0] = levels
        self._early = level * size
        self._late = self._early + np.where(length > 0, length - (1 << level), 0)
        self._stretch = level * self._used.shape[1]
        self._ready = 0

    def mark(self, block: ScanBlock, z: Heights, r0: int, heights: Heights) -> None:
        """Marks the spans of a block, at heights z (N,) by the block's index; long ones at once in `heights`."""
        length = block.last - block.first
        length += 1
        if int(length.max()) > self._longest:
            long = length > self._longest
            level = np.broadcast_to(z[block.index], long.shape)[long]
            where = (block.rows[long], block.first[long], block.last[long] + 1)
            for row, begin, stop, low in zip(*(a.tolist() for a in where), level, strict=True):
                cells = heights[row, begin:stop]
                np.minimum(cells, low, out=cells)
            length[long] = 0
        self._open(int(length.max()))
        at = block.rows - r0
        at *= self._columns
        at += block.first
        level = np.broadcast_to(z[block.index], length.shape).ravel()
        for offset in (self._early, self._late):
            np.minimum.at(self._flat, (np.take(offset, length, mode="clip") + at).ravel(), level)
        stretch = np.take(self._stretch, length, mode="clip")
        stretch += block.first >> _SHIFT
        self._used.reshape(-1)[stretch] = True

    def _open(self, longest: int) -> None:
        """Blanks the tables that spans of that length need, once: memory never touched costs nothing."""
        levels = longest.bit_length() if longest > 0 else 0
        if levels > self._ready:
            self._runs[self._ready : levels].fill(np.inf)
            self._ready = levels

    def settle(self, heights: Heights) -> None:
        """Hands all runs down and lowers the band's heights; the tables are blank again afterwards."""
        rows = len(heights)
        handed: list[tuple[int, int]] = []
        for k in range(self._ready - 1, -1, -1):
            half = (1 << k) >> 1
            here = _united(handed + self._begun(k))
            handed = []
            for c0, c1 in here:
                marked = self._runs[k, :rows, c0:c1]
                if k == 0:
                    np.minimum(heights[:, c0:c1], marked, out=heights[:, c0:c1])
                else:
                    stop = min(c1 + half, self._columns)
                    early, late = self._runs[k - 1, :rows, c0:c1], self._runs[k - 1, :rows, c0 + half : stop]
                    np.minimum(early, marked, out=early)
                    np.minimum(late, marked[:, : late.shape[1]], out=late)
                    handed.append((c0, stop))
                marked.fill(np.inf)
        self._used[:] = False

    def _begun(self, level: int) -> list[tuple[int, int]]:
        """Columns from and up to (without) which spans of a level's length have left their two marks."""
        edges = np.flatnonzero(np.diff(self._used[level].astype(np.int8), prepend=0, append=0))
        # A span's second mark stands less than a run's length behind the first.
        far = (1 << level) - 1
        return [(int(a) * _STRETCH, min(int(b) * _STRETCH + far, self._columns)) for a, b in edges.reshape(-1, 2)]


def _united(ranges: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The same columns without overlaps; ranges that nearly touch become one, since each costs something."""
    out: list[tuple[int, int]] = []
    for a, b in sorted(ranges):
        if out and a <= out[-1][1] + _STRETCH:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return out
