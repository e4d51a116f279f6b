"""Exact heights of the wood before any move, from an index over all earlier moves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Ints
from toolpaths.gcode.reader.trace import Moves
from toolpaths.geometry.blank_top import BlankTop
from toolpaths.job.bit import Bit

_TOGETHER = 32
"""Consecutive moves that are looked up together: they mostly lie side by side, and at one depth."""
_PAIRS = 65_536
"""Pairs of a point and a move that are tried at once."""
_SPARE = 1e-6


@dataclass(frozen=True, slots=True)
class _Piece:
    """A few consecutive moves of one bit: (K, 3) ends, (K,) numbers, and what each may reach in plan, mm.

    `low`, `high` (K, 2): the corners of each move's reach; `box`: x0, y0, x1, y1 of them all; `least`: the lowest
    height among them all.
    """

    bit: Bit
    start: Array
    end: Array
    index: Ints
    low: Array
    high: Array
    box: tuple[float, float, float, float]
    least: float


class StandingWood:
    """Blank and moves of a sequence of programs. Moves are numbered through, from 0, in cutting order.

    Heights outside the blank's box are minus infinity: nothing stands there.
    """

    __slots__ = ("_box", "_count", "_measured", "_pieces", "_top")

    def __init__(
        self, box: tuple[float, float, float, float], top: float, measured_top: BlankTop | None = None
    ) -> None:
        """Uncut. `measured_top`: its surface where that was measured, nowhere above `top`."""
        self._box, self._top, self._measured, self._count = box, top, measured_top, 0
        self._pieces: tuple[_Piece, ...] = ()

    @property
    def count(self) -> int:
        """How many moves have been taken in."""
        return self._count

    @property
    def top(self) -> float:
        """Height of the blank where it is highest, mm."""
        return self._top

    @property
    def box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of the blank, mm."""
        return self._box

    def after(self, moves: Moves, bits: dict[int, Bit]) -> StandingWood:
        """The wood once these moves were made too, with the bits of their numbers."""
        grown = StandingWood(self._box, self._top, self._measured)
        pieces = list(self._pieces)
        below = np.minimum(moves.start[:, 2], moves.end[:, 2]) < self._top
        for number in np.unique(moves.bit[below]):
            own = np.nonzero(below & (moves.bit == number))[0]
            for i in range(0, len(own), _TOGETHER):
                keep = own[i : i + _TOGETHER]
                pieces.append(_piece(bits[int(number)], moves.start[keep], moves.end[keep], self._count + keep))
        grown._pieces, grown._count = tuple(pieces), self._count + len(moves)
        return grown

    def heights(self, points: Array, before: Ints | None = None, since: int = 0) -> Array:
        """Exact heights (N,) at points (N, 2), mm; of the wood before the moves numbered `before` (N,) if given.

        `since`: leave out what only moves of lower numbers did; the caller knows those heights already.
        A few of those moves may still count.
        """
        points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        out = self.uncut(points)
        # Deepest first: a point that is already as low as a piece ever goes need not look at that piece.
        pieces = [p for p in self._pieces if p.index[-1] >= since]
        for piece, near in _near(points, sorted(pieces, key=lambda p: p.least)):
            near = near[out[near] > piece.least]
            if before is not None:
                near = near[before[near] > piece.index[0]]
            for i, j in _pairs(piece, points, near, before):
                h = piece.bit.swept_height(piece.start[j], piece.end[j], points[i])
                np.minimum.at(out, i, h)
        return out

    def around(self, box: tuple[float, float, float, float]) -> Iterator[tuple[Bit, Array, Array]]:
        """The moves, start and end (K, 3) mm, that may have cut within a box x0, y0, x1, y1; with their bit."""
        x0, y0, x1, y1 = box
        for p in self._pieces:
            meet = np.all((p.low <= [x1, y1]) & (p.high >= [x0, y0]), axis=1)
            if meet.any():
                yield p.bit, p.start[meet], p.end[meet]

    def made_before(self, number: int) -> Iterator[tuple[Bit, Array, Array]]:
        """The moves below the blank's top that were taken in before a program's first, `number`; with their bit.

        Start and end (K, 3) mm. Programs are taken in one after another, so no piece holds moves of two.
        """
        for p in self._pieces:
            if p.index[-1] < number:
                yield p.bit, p.start, p.end

    def uncut(self, points: Array) -> Array:
        """The blank's height at points (N, 2): its top, or minus infinity beside it."""
        x0, y0, x1, y1 = self._box
        x, y = points[:, 0], points[:, 1]
        top = self._top if self._measured is None else self._measured.at(x, y)
        return np.where((x >= x0) & (x <= x1) & (y >= y0) & (y <= y1), top, -np.inf)

    def first_below(self, points: Array, limits: Array) -> Ints:
        """Number of the first move that went below the limit (N,) at each point (N, 2); -1 where none did."""
        points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        never = np.iinfo(np.int64).max
        best = np.full(len(points), never)
        # Earliest first: once a point has its move, later pieces have nothing to add.
        for piece, near in _near(points, sorted(self._pieces, key=lambda p: int(p.index[0]))):
            near = near[(limits[near] > piece.least) & (best[near] > piece.index[0])]
            for i, j in _pairs(piece, points, near, None):
                h = piece.bit.swept_height(piece.start[j], piece.end[j], points[i])
                hit = h < limits[i]
                np.minimum.at(best, i[hit], piece.index[j[hit]])
        return np.where(best == never, -1, best)


def _piece(bit: Bit, start: Array, end: Array, index: Ints) -> _Piece:
    reach = bit.radius + _SPARE
    lowest = np.minimum(start, end)
    low, high = lowest[:, :2] - reach, np.maximum(start, end)[:, :2] + reach
    (x0, y0), (x1, y1) = low.min(axis=0).tolist(), high.max(axis=0).tolist()
    return _Piece(bit, start, end, index, low, high, (x0, y0, x1, y1), float(lowest[:, 2].min()))


def _near(points: Array, pieces: Sequence[_Piece]) -> Iterator[tuple[_Piece, Ints]]:
    """Each piece with the points (indices) in the box of its reach; pieces without any are passed over."""
    if not len(points) or not pieces:
        return
    order = np.argsort(points[:, 0], kind="stable")
    x, y = points[order, 0], points[order, 1]
    x0, y0, x1, y1 = np.array([p.box for p in pieces]).T
    first, last = np.searchsorted(x, x0, side="left"), np.searchsorted(x, x1, side="right")
    for n in np.nonzero(first < last)[0].tolist():
        across = y[first[n] : last[n]]
        near = order[first[n] : last[n]][(across >= y0[n]) & (across <= y1[n])]
        if len(near):
            yield pieces[n], near


def _pairs(piece: _Piece, points: Array, near: Ints, before: Ints | None) -> Iterator[tuple[Ints, Ints]]:
    """Points and moves (of the piece) that may meet, as equally long lists of indices; some at a time."""
    step = _PAIRS // len(piece.index)
    for place in range(0, len(near), step):
        some = near[place : place + step]
        x, y = points[some, 0][:, None], points[some, 1][:, None]
        meet = (x >= piece.low[:, 0]) & (x <= piece.high[:, 0]) & (y >= piece.low[:, 1]) & (y <= piece.high[:, 1])
        if before is not None:
            meet &= piece.index < before[some][:, None]
        i, j = np.nonzero(meet)
        if len(i):
            yield some[i], j
