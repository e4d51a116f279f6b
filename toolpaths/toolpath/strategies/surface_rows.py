"""Passes over a curved surface: layers of its own shape, the finished surface last, each entered on a slope.

Rows that lie side by side are cut there and back, one after the other; a row that stands for itself is cut down to its
floor before the next. No pass is higher than the wood that it was told of, and none is plunged.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Cutting, SurfaceRows
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_HAIR = 1e-6
_NOTHING = 0.01
"""A row that takes no more anywhere is left to the next layer, mm."""


def layers(operation: SurfaceRows) -> list[float]:
    """How much higher than the finished surface each layer lies, mm, the last 0: no deeper, and no steeper where it is
    entered, than the bit bears."""
    most = max((float((row[:, 3] - row[:, 2]).max()) for row in operation.rows), default=0.0)
    shortest = min((_length(row) for row in operation.rows), default=0.0)
    cutting = operation.cutting
    return levels(most, 0.0, min(cutting.pass_depth, shortest * cutting.slope)) or [0.0]


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
                yield pen.section(operation, f"{operation.title}{layer}")
        return
    for row, name in zip(operation.rows, operation.names, strict=True):
        mine = [above for above in raised if _cuts(row, above)] or [0.0]
        for k, above in enumerate(mine):
            _enter(pen, row, (mine[k - 1] if k else math.inf, above), operation.cutting)
            _along(pen, clipped(row, above), operation.cutting.feed)
            pen.retract()
        yield pen.section(operation, f"{name}, {len(mine)} pass{'es' if len(mine) > 1 else ''}")


def clipped(row: Array, above: float) -> Array:
    """(K, 3): a row raised by so much, no higher than the wood; with the places where it comes through that."""
    z, wood = row[:, 2] + above, row[:, 3]
    over = z - wood
    crossing = np.nonzero(over[:-1] * over[1:] < 0)[0]
    part = over[crossing] / (over[crossing] - over[crossing + 1])
    new = row[crossing] + part[:, None] * (row[crossing + 1] - row[crossing])
    way = np.insert(np.column_stack([row[:, :2], np.minimum(z, wood)]), crossing + 1, new[:, [0, 1, 3]], axis=0)
    # What runs along the wood's own surface needs its ends only.
    out = np.insert(over >= 0, crossing + 1, True)
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
    feed, both = operation.cutting.feed, operation.cutting.both_ways
    for n, i in enumerate(run):
        row = operation.rows[i][::-1] if both and i % 2 else operation.rows[i]
        if n == 0:
            _enter(pen, row, raised, operation.cutting)
        else:
            _along(pen, clipped(operation.links[i - 1], raised[1]), feed)
        _along(pen, clipped(row, raised[1]), feed)
    pen.retract()


def _enter(pen: ToolpathBuilder, row: Array, raised: tuple[float, float], cutting: Cutting) -> None:
    """Down on the row itself, on a slope from where the layer before has cut, and back to its beginning."""
    way = clipped(row, raised[1])
    (x, y, z), wood = way[0], float(row[0, 3])
    drop = min(float(row[0, 2]) + raised[0], wood) - z
    pen.travel(float(x), float(y))
    pen.approach(float(z + drop), cutting.descent)
    if drop <= _HAIR:
        pen.cut(float(x), float(y), float(z), cutting.plunge)
        return
    pen.cut(float(x), float(y), float(z + drop), cutting.plunge)
    first = _first(way, drop / cutting.slope)
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(first[:, :2], axis=0).T))])
    slope = first + np.column_stack([0 * gone, 0 * gone, drop * (1 - gone / gone[-1])])
    _along(pen, slope, cutting.ramp)
    _along(pen, first[::-1], cutting.feed)


def _first(way: Array, length: float) -> Array:
    """The first stretch of a way, so long in plan, mm; the whole way where it is shorter."""
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way[:, :2], axis=0).T))])
    if length >= gone[-1]:
        return way
    end = int(np.searchsorted(gone, length))
    part = (length - gone[end - 1]) / (gone[end] - gone[end - 1])
    return np.concatenate([way[:end], [way[end - 1] + part * (way[end] - way[end - 1])]])


def _along(pen: ToolpathBuilder, way: Array, feed: float) -> None:
    for x, y, z in way:
        pen.cut(float(x), float(y), float(z), feed)


def _length(row: Array) -> float:
    return float(np.hypot(*np.diff(row[:, :2], axis=0).T).sum())
