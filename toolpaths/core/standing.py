"""The wood as it stands before any move: exact heights from an index over all earlier moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from toolpaths.core.bit import Bit
from toolpaths.core.trace import Moves

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

_CHUNK = 200_000


@dataclass(frozen=True, slots=True)
class _Run:
    bit: Bit
    start: Array
    end: Array
    index: Ints
    tree: shapely.STRtree


class StandingWood:
    """Blank and moves of a sequence of programs. Moves are numbered through, from 0, in cutting order.

    Heights outside the blank's box are minus infinity: nothing stands there.
    """

    __slots__ = ("_box", "_count", "_runs", "_top")

    def __init__(self, box: tuple[float, float, float, float], top: float) -> None:
        self._box, self._top, self._count = box, top, 0
        self._runs: tuple[_Run, ...] = ()

    @property
    def count(self) -> int:
        """How many moves have been taken in."""
        return self._count

    @property
    def top(self) -> float:
        """Height of the blank, mm."""
        return self._top

    @property
    def box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of the blank, mm."""
        return self._box

    def after(self, moves: Moves, bits: dict[int, Bit]) -> StandingWood:
        """The wood once these moves were made too, with the bits of their numbers."""
        grown = StandingWood(self._box, self._top)
        runs = list(self._runs)
        low = np.minimum(moves.start[:, 2], moves.end[:, 2]) < self._top
        for number in np.unique(moves.bit[low]) if len(moves) else ():
            bit = bits[int(number)]
            keep = np.nonzero(low & (moves.bit == number))[0]
            start, end = moves.start[keep], moves.end[keep]
            r = bit.radius + 1e-6
            lo = np.minimum(start[:, :2], end[:, :2]) - r
            hi = np.maximum(start[:, :2], end[:, :2]) + r
            boxes = shapely.box(lo[:, 0], lo[:, 1], hi[:, 0], hi[:, 1])
            runs.append(_Run(bit, start, end, self._count + keep, shapely.STRtree(boxes)))
        grown._runs, grown._count = tuple(runs), self._count + len(moves)
        return grown

    def heights(self, points: Array, before: Ints | None = None) -> Array:
        """Exact heights (N,) at points (N, 2), mm; of the wood before the moves numbered `before` (N,) if given."""
        points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        out = self.uncut(points)
        for lo in range(0, len(points), _CHUNK):
            part = slice(lo, lo + _CHUNK)
            limit = None if before is None else before[part]
            for run in self._runs:
                i, j = _pairs(run, points[part], limit)
                if len(i):
                    h = run.bit.swept_height(run.start[j], run.end[j], points[part][i])
                    np.minimum.at(out[part], i, h)
        return out

    def uncut(self, points: Array) -> Array:
        """The blank's height at points (N, 2): its top, or minus infinity beside it."""
        x0, y0, x1, y1 = self._box
        x, y = points[:, 0], points[:, 1]
        return np.where((x >= x0) & (x <= x1) & (y >= y0) & (y <= y1), self._top, -np.inf)

    def first_below(self, points: Array, limits: Array) -> Ints:
        """Number of the first move that went below the limit (N,) at each point (N, 2); -1 where none did."""
        best = np.full(len(points), np.iinfo(np.int64).max)
        for run in self._runs:
            i, j = _pairs(run, points, None)
            h = run.bit.swept_height(run.start[j], run.end[j], points[i])
            hit = h < limits[i]
            np.minimum.at(best, i[hit], run.index[j[hit]])
        return np.where(best == np.iinfo(np.int64).max, -1, best)


def _pairs(run: _Run, points: Array, before: Ints | None) -> tuple[Ints, Ints]:
    i, j = run.tree.query(shapely.points(points))
    if before is not None:
        keep = run.index[j] < before[i]
        i, j = i[keep], j[keep]
    return i, j
