"""Passes over a curved surface: layers of its own shape, the finished surface last, each entered on a slope.

Rows that lie side by side are cut there and back, one after the other; a row that stands for itself is cut down to its
floor before the next. No pass is higher than the wood that it was told of, and none is plunged.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.way import SHORTEST, distances, length_of
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Cutting, SurfaceRows
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_HAIR = 1e-6
_MORE = 0.15
"""Part of the pass depth that a layer may meet beside its rows, beyond what was reckoned."""
_NOTHING = 0.01
"""A row that takes no more anywhere is left to the next layer, mm."""


def layers(operation: SurfaceRows) -> list[float]:
    """How much higher than the finished surface each layer lies, mm, the last 0: no deeper, and no steeper where it is
    entered, than the bit bears."""
    most = max((float((row[:, 3] - row[:, 2]).max()) for row in operation.rows), default=0.0)
    shortest = min((length_of(row) for row in operation.rows), default=0.0)
    cutting = operation.cutting
    # Each layer meets the ridges of the one before too, and on a flank lies closer to it than straight above.
    step = max((1.0 - _MORE) * cutting.pass_depth - operation.ridge, cutting.pass_depth / 2)
    return levels(most, 0.0, min(step, shortest * cutting.slope)) or [0.0]


def surface_rows(operation: SurfaceRows, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections: one a layer of rows side by side, else one a row."""
    raised = layers(operation)
    if operation.links:
        for k, above in enumerate(raised):
            before = raised[k - 1] if k else math.inf
            for run in _runs(operation, above):
                _side_by_side(operation, pen, run, (before, above))
            if pen.steps:
                layer = "" if len(raised) == 1 else f", layer {k + 1} of {len(raised)}"
                yield pen.section(operation, f"{operation.title}{layer}", f"layer {k + 1}")
        return
    for row, name in zip(operation.rows, operation.names, strict=True):
        mine = [above for above in raised if _cuts(row, above)] or [0.0]
        for k, above in enumerate(mine):
            _enter(pen, row, (mine[k - 1] if k else math.inf, above), operation.cutting)
            _along(pen, clipped(row, above), operation.cutting)
            pen.retract()
        yield pen.section(operation, f"{name}, {len(mine)} pass{'es' if len(mine) > 1 else ''}", name)


def clipped(row: Array, above: float) -> Array:
    """(K, 4): a row raised by so much, no higher than the wood; with the places where it comes through that.

    The last column is 1 where it runs along the wood's own surface, which it does not cut.
    """
    z, wood = row[:, 2] + above, row[:, 3]
    over = z - wood
    crossing = np.nonzero(over[:-1] * over[1:] < 0)[0]
    part = over[crossing] / (over[crossing] - over[crossing + 1])
    # One that all but coincides with a place of the row would make a move too short to be driven.
    long = np.hypot(*np.diff(row[:, :2], axis=0).T)[crossing]
    crossing, part = (a[np.minimum(part, 1 - part) * long > SHORTEST] for a in (crossing, part))
    new = row[crossing] + part[:, None] * (row[crossing + 1] - row[crossing])
    way = np.insert(np.column_stack([row[:, :2], np.minimum(z, wood)]), crossing + 1, new[:, [0, 1, 3]], axis=0)
    out = np.insert(over >= 0, crossing + 1, True)
    way = np.column_stack([way, out])
    # What runs along the wood's own surface needs its ends only.
    between = np.zeros(len(way), dtype=bool)
    between[1:-1] = out[:-2] & out[1:-1] & out[2:]
    bends = np.zeros(len(way), dtype=bool)
    bends[1:-1] = np.abs(np.diff(way[:, 2], 2)) > _HAIR
    return way[~(between & ~bends)]


# Private


def _cuts(row: Array, above: float) -> bool:
    return bool(np.any(row[:, 3] - row[:, 2] - above > _NOTHING)) or above == 0.0


def _runs(operation: SurfaceRows, above: float) -> Iterator[list[int]]:
    """Numbers of rows that cut anything in a layer, those side by side together; each alone where all go one way."""
    run: list[int] = []
    for i, row in enumerate(operation.rows):
        if _cuts(row, above):
            run.append(i)
        if run and (not _cuts(row, above) or not operation.cutting.both_ways):
            yield run
            run = []
    if run:
        yield run


def _side_by_side(
    operation: SurfaceRows, pen: ToolpathBuilder, run: Sequence[int], raised: tuple[float, float]
) -> None:
    """A run of rows in one layer, `raised` = (layer before, this one)."""
    cutting, both = operation.cutting, operation.cutting.both_ways
    for n, i in enumerate(run):
        pen.row()
        row = operation.rows[i][::-1] if both and i % 2 else operation.rows[i]
        if n == 0:
            _enter(pen, row, raised, cutting)
        else:
            _along(pen, clipped(operation.links[i - 1], raised[1]), cutting)
        _along(pen, clipped(row, raised[1]), cutting)
    pen.retract()


def _enter(pen: ToolpathBuilder, row: Array, raised: tuple[float, float], cutting: Cutting) -> None:
    """Down on the row itself, on a slope from where the layer before has cut, and back to its beginning."""
    way = clipped(row, raised[1])
    (x, y, z, _), wood = way[0], float(row[0, 3])
    drop = min(float(row[0, 2]) + raised[0], wood) - z
    pen.travel(float(x), float(y))
    pen.approach(float(z + drop), cutting.descent)
    if drop <= _HAIR:
        pen.cut(float(x), float(y), float(z), cutting.plunge)
        return
    pen.cut(float(x), float(y), float(z + drop), cutting.plunge)
    first = _first(way, drop / cutting.slope)
    gone = distances(first)
    slope = first + np.column_stack([0 * gone, 0 * gone, drop * (1 - gone / gone[-1]), 0 * gone])
    slope[:, 3] = 0.0
    _along(pen, slope, cutting, cutting.ramp)
    _along(pen, first[::-1], cutting)


def _first(way: Array, length: float) -> Array:
    """The first stretch of a way, so long in plan, mm; the whole way where it is shorter."""
    gone = distances(way)
    if length >= gone[-1]:
        return way
    end = int(np.searchsorted(gone, length))
    length = max(length, float(gone[end - 1]) + SHORTEST)
    if gone[end] - length < SHORTEST:
        return way[: end + 1]
    part = (length - gone[end - 1]) / (gone[end] - gone[end - 1])
    return np.concatenate([way[:end], [way[end - 1] + part * (way[end] - way[end - 1])]])


def _along(pen: ToolpathBuilder, way: Array, cutting: Cutting, most: float = math.inf) -> None:
    """Cut along places (K, 4): downhill at the feed of a ramp or a plunge, so that the bit goes down no faster."""
    in_air = False
    for x, y, z, out in way.tolist():
        fall, run = pen.z - z, math.hypot(x - pen.x, y - pen.y)
        steep = cutting.plunge * math.hypot(run, fall) / fall if fall > _HAIR and not (in_air and out) else math.inf
        in_air = bool(out)
        feeds = [f for f in (cutting.feed, cutting.ramp) if f <= min(most, steep)]
        pen.cut(x, y, z, max(feeds, default=cutting.plunge))
