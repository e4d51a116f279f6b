"""Grooves: one traverse a level, entered on a short ramp over the line's own beginning, never plunged.

The ramp goes there and back before the level is cut, so that the traverse takes its wedge away. One way, every line and
every level is approached from the same side in x, and the bit goes back in the air; both ways, each level begins where
the last one ended. A groove whose floor follows a rounded top is cut in levels of the same shape, each that much
higher, and just above the wood where the level leaves it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Lines
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

FROM_LOWER_X = 3.0
"""How far below a line's x the bit stops before it goes there, so that screw backlash has one sign, mm."""
OVER = 0.1
"""How high above the wood a level runs where its floor has left it, mm."""
_SHORT = 0.5
"""Pieces of a ramp are longer, mm: on shorter ones the machine would not reach its feed. Near the ramp's far end the
floor lies lower than the bit goes there, so that a chord across a bend cuts nothing away."""


def passes(operation: Lines, floor: float | None = None) -> list[float]:
    """Heights of the levels of a line at its lowest, mm: no deeper than the bit bears.

    `floor`: the line's own lowest, where that is not the operation's.
    """
    return levels(operation.top, operation.floor if floor is None else floor, operation.cutting.pass_depth)


def lines(operation: Lines, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a line."""
    cutting = operation.cutting
    both = cutting.lines == "both" and not cutting.twice
    for i, (ends, name) in enumerate(zip(operation.lines, operation.names, strict=True)):
        way = _Way.of(operation, ends, operation.floors[i] if operation.floors else None)
        heights = passes(operation, way.lowest)
        begun = False
        for above, below in pairwise([operation.top - way.lowest, *(z - way.lowest for z in heights)]):
            if not begun or not (both or cutting.twice):
                way.come_to_start(pen, above, begun)
            begun = True
            way.go_down(pen, above, below)
            way.traverse(pen, below)
            if cutting.twice:
                way.reversed().traverse(pen, below)
            elif both:
                way = way.reversed()
        pen.retract()
        words = f"{len(heights)} level{'s' if len(heights) > 1 else ''}"
        if len(heights) > 1 or cutting.twice:
            words += ", each cut twice" if cutting.twice else ", there and back" if both else ", one way"
        yield pen.section(operation, f"{name}, {words}", name)


class _Way:
    """One line from where it is begun: its floor as (K, 2): distance, height; mm."""

    def __init__(self, operation: Lines, start: Array, end: Array, floor: Array) -> None:
        self._operation, self._start, self._end, self._floor = operation, start, end, floor
        self._length = float(floor[-1, 0])
        self._unit = (end - start) / self._length

    @staticmethod
    def of(operation: Lines, ends: Array, floor: Array | None) -> _Way:
        """A line between two ends (2, 2), with its own floor or the operation's."""
        if floor is None:
            floor = np.array([[0.0, operation.floor], [float(np.hypot(*(ends[1] - ends[0]))), operation.floor]])
        return _Way(operation, ends[0], ends[1], floor)

    @property
    def lowest(self) -> float:
        """The lowest of its floor, mm."""
        return float(self._floor[:, 1].min())

    def reversed(self) -> _Way:
        """The same line from its other end."""
        floor = np.stack([self._length - self._floor[::-1, 0], self._floor[::-1, 1]], axis=1)
        return _Way(self._operation, self._end, self._start, floor)

    def come_to_start(self, pen: ToolpathBuilder, raised: float, begun: bool) -> None:
        """Down over the start to the floor that a level before has left there, by way of a lower x."""
        cutting, (x, y) = self._operation.cutting, self._start.tolist()
        pen.retract()
        # Back along a line square to the centreline x does not change, and slack stays on its side.
        if not begun or abs(self._unit[0]) > 0.0:
            pen.travel(x - FROM_LOWER_X, y)
        height = float(self._height(np.zeros(1), np.full(1, raised))[0])
        pen.enter(x, y, height, self._operation.top, cutting)

    def go_down(self, pen: ToolpathBuilder, above: float, below: float) -> None:
        """From one raised floor to the next over the line's beginning, there and back, until it is down."""
        cutting = self._operation.cutting
        reach = cutting.ramp_reach(above - below)
        legs = 2 * max(1, math.ceil(reach / self._length - 1e-9))
        reach = min(reach * 2 / legs, self._length)
        inner = self._floor[(self._floor[:, 0] > 0.0) & (self._floor[:, 0] < reach - _SHORT), 0]
        s = np.concatenate([[0.0], inner, [reach]])
        for leg in range(legs):
            part = s / reach if leg % 2 == 0 else 1.0 - s / reach
            raised = above + (below - above) * (leg + part) / legs
            way = np.stack([s, self._height(s, raised)], axis=1)
            self._cut(pen, way if leg % 2 == 0 else way[::-1], cutting.ramp)

    def traverse(self, pen: ToolpathBuilder, raised: float) -> None:
        """Along the whole line at its floor, so much raised; just above the wood where that has left it."""
        over = self._operation.top + OVER
        self._cut(pen, _under(self._floor[:, 0], self._floor[:, 1] + raised, over), self._operation.cutting.feed)

    def _height(self, s: Array, raised: Array) -> Array:
        """Heights (K,) of the raised floor at distances (K,), no higher than just above the wood."""
        height = np.interp(s, self._floor[:, 0], self._floor[:, 1]) + raised
        return np.asarray(np.minimum(height, self._operation.top + OVER))

    def _cut(self, pen: ToolpathBuilder, way: Array, feed: float) -> None:
        for s, height in way:
            x, y = self._start + self._unit * s
            pen.cut(float(x), float(y), float(height), feed)


def _under(s: Array, height: Array, top: float) -> Array:
    """The way (K, 2) of (distance, height), no higher than the top: corners added where it comes through."""
    crossing = np.nonzero((height[:-1] - top) * (height[1:] - top) < 0)[0]
    part = (top - height[crossing]) / (height[crossing + 1] - height[crossing])
    at = s[crossing] + part * (s[crossing + 1] - s[crossing])
    where, high = np.concatenate([s, at]), np.concatenate([height, np.full(len(at), top)])
    order = np.argsort(where, kind="stable")
    way = np.stack([where[order], np.minimum(high[order], top)], axis=1)
    # What runs along the top in one line needs its ends only.
    flat = way[:, 1] >= top
    between = np.zeros(len(way), dtype=bool)
    between[1:-1] = flat[:-2] & flat[1:-1] & flat[2:]
    return way[~between]
