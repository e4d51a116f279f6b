"""Grooves: every line approached from the same side in x, cut in passes that the bit can bear.

A groove whose floor follows a rounded top is cut in passes of the same shape, each that much higher, and no higher
than the wood's top.
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

_HAIR = 1e-6


def passes(operation: Lines, length: float, floor: float | None = None) -> list[float]:
    """Heights at the ends of the passes of a line so long, mm: no deeper, and no steeper, than the bit bears.

    `floor`: the line's own lowest, where that is not the operation's.
    """
    slope = operation.cutting.slope
    lowest = operation.floor if floor is None else floor
    return levels(operation.top, lowest, min(operation.cutting.pass_depth, length * slope))


def lines(operation: Lines, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a line. Each pass slopes down over the whole line and comes back level; nothing is plunged."""
    cutting = operation.cutting
    for i, ((a, b), name) in enumerate(zip(operation.lines, operation.names, strict=True)):
        (ax, ay), (bx, by) = (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))
        floor = operation.floors[i] if operation.floors else None
        lowest = operation.floor if floor is None else float(floor[:, 1].min())
        heights = passes(operation, math.hypot(bx - ax, by - ay), lowest)
        pen.travel(min(ax, bx) - FROM_LOWER_X, ay)
        pen.enter(ax, ay, operation.top, operation.top, cutting)
        if floor is not None:
            _follow(operation, pen, (a, b), floor, [z - lowest for z in heights])
        else:
            for z in heights:
                pen.cut(bx, by, z, cutting.feed)
                pen.cut(ax, ay, z, cutting.feed)
        pen.retract()
        title = f"{name}, {len(heights)} pass{'es' if len(heights) > 1 else ''}"
        yield pen.section(operation, title, name)


def _follow(
    operation: Lines, pen: ToolpathBuilder, line: tuple[Array, Array], floor: Array, raises: list[float]
) -> None:
    """Passes of the floor's own shape, so much higher, mm; each side from its own end while the crown is in the air."""
    backwards = np.stack([floor[-1, 0] - floor[::-1, 0], floor[::-1, 1]], axis=1)
    raised = [operation.top - float(floor[:, 1].min()), *raises]
    crown = operation.top - float(floor[:, 1].max())
    apart = sum(r >= crown - _HAIR for r in raised[1:])
    a, b = line
    for start, end, way in ((a, b, floor), (b, a, backwards)) if apart else ():
        if start is b:
            pen.enter(float(b[0]), float(b[1]), operation.top, operation.top, operation.cutting)
        for above, below in pairwise(raised[: apart + 1]):
            _there_and_back(operation, pen, (start, end), _first_side(way, below, operation.top), (above, below))
    start, end, way = (b, a, backwards) if apart else (a, b, floor)
    for above, below in pairwise(raised[apart:]):
        _there_and_back(operation, pen, (start, end), way, (above, below))


def _there_and_back(
    operation: Lines, pen: ToolpathBuilder, line: tuple[Array, Array], floor: Array, raised: tuple[float, float]
) -> None:
    """Down from one raised floor to the next on the way there, and even with it on the way back."""
    (a, b), (above, below), top = line, raised, operation.top
    unit = (b - a) / float(np.hypot(*(b - a)))
    down = floor[:, 1] + above + (below - above) * floor[:, 0] / floor[-1, 0]
    there, back = _under(floor[:, 0], down, top), _under(floor[:, 0], floor[:, 1] + below, top)
    for way in (there, back[::-1]):
        for s, height in way:
            x, y = a + unit * s
            pen.cut(float(x), float(y), float(height), operation.cutting.feed)


def _first_side(floor: Array, raised: float, top: float) -> Array:
    """The raised floor's part from its beginning to where it comes through the top."""
    out = max(1, int(np.argmax(floor[:, 1] + raised >= top)))
    (s0, z0), (s1, z1) = floor[out - 1], floor[out]
    at = s0 + (top - raised - z0) / (z1 - z0) * (s1 - s0)
    return np.concatenate([floor[:out], [[at, top - raised]]])


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
