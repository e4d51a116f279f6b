"""Which of a long blank's places cuts what: pieces that lie whole in one, and long cuts that are divided at a seam."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import assert_never

import numpy as np

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, show
from toolpaths.geometry.loop import Area
from toolpaths.job.bit import Bit
from toolpaths.job.placed import OVERLAP, Lie, seams
from toolpaths.operations.operation import (
    Bore,
    Carve,
    Channel,
    Clear,
    Contour,
    Corners,
    Engrave,
    Lines,
    Operation,
    Raster,
    Rebate,
    Rulings,
    Skim,
    SurfaceRows,
)

Span = tuple[float, float]
_WHOLE = (Lines, Bore, Corners, Carve, Engrave)
"""What must lie whole in one place: a step in it would be seen, or heard."""


def parts_along(operation: Operation, bit: Bit, lies: Sequence[Lie], units: Units) -> list[Operation | None]:
    """What each of a blank's places cuts of an operation, None where nothing.

    A piece that lies whole in a place is cut there, in the first that has it. A longer one is divided: each place cuts
    its part and half the overlap past each seam. Raises FeatureError for a piece across a seam that must stay whole.
    """
    spans = list(_spans(operation, bit))
    chosen = [next((k for k, lie in enumerate(lies) if _holds(lie, span)), None) for span in spans]
    pieces = [[i for i, at in enumerate(chosen) if at == k] for k in range(len(lies))]
    out = [_of(operation, mine) if mine else None for mine in pieces]
    across = [i for i, at in enumerate(chosen) if at is None]
    if isinstance(operation, _WHOLE) or not across:
        # What is whole in a place may reach past a seam, but the seam's step must not be in it.
        across = across or [
            i
            for i, (low, high) in enumerate(spans)
            if isinstance(operation, (*_WHOLE, Clear)) and any(low < seam < high for seam in seams(lies))
        ]
    if not across:
        return out
    if isinstance(operation, _WHOLE) or chosen[across[0]] is not None:
        low, high = spans[across[0]]
        seam = next(s for s in seams(lies) if low < s + OVERLAP / 2 and high > s - OVERLAP / 2)
        raise FeatureError(
            f"{_name(operation, across[0])} lies across the seam at x {show(seam, units)}, from {show(low, units)} to "
            f"{show(high, units)}, and is not divided",
            "move the seam (`to` and `from` in `placed`) past it",
            "",
        )
    low, high = min(a for a, _ in spans), max(b for _, b in spans)
    return [replace(operation, within=lie.within) if low < lie.high and high > lie.low else None for lie in lies]


def _holds(lie: Lie, span: Span) -> bool:
    """Whether all of a span lies in a place, or no further past its seams than half the overlap."""
    low, high = lie.within
    return low <= span[0] and span[1] <= high


def _spans(operation: Operation, bit: Bit) -> Iterator[Span]:
    """From where to where along x each piece of an operation cuts, mm."""
    r = bit.radius
    match operation:
        case Raster() | Skim():
            yield -math.inf, math.inf
        case Rebate():
            yield -math.inf, operation.box[2]
        case Lines():
            for line in operation.lines:
                yield float(line[:, 0].min()) - r, float(line[:, 0].max()) + r
        case Clear() | Corners() | Carve():
            for area in operation.areas:
                yield _span_of(area)
        case Contour():
            x0, _, x1, _ = operation.loop.shape().bounds
            yield x0 - operation.kerf, x1 + operation.kerf
        case Bore():
            for (x, _), d in zip(operation.centres, operation.diameters, strict=True):
                yield float(x) - float(d) / 2, float(x) + float(d) / 2
        case Channel():
            for ends in operation.ends:
                yield float(ends[:, 0].min()), float(ends[:, 0].max())
        case Rulings():
            every = np.concatenate([line[..., 0].ravel() for _, sides in operation.layers for line in sides])
            yield float(every.min()) - r, float(every.max()) + r
        case SurfaceRows():
            every = np.concatenate([row[:, 0] for row in operation.rows])
            yield float(every.min()) - r, float(every.max()) + r
        case Engrave():
            for path in operation.paths:
                yield float(path[:, 0].min()) - r, float(path[:, 0].max()) + r
        case _:
            assert_never(operation)


def _span_of(area: Area) -> Span:
    x0, _, x1, _ = area.shape().bounds
    return float(x0), float(x1)


def _of(operation: Operation, mine: Sequence[int]) -> Operation:
    """The same of some of its pieces, by number."""
    match operation:
        case Lines():
            floors = tuple(operation.floors[i] for i in mine) if operation.floors else ()
            names = tuple(operation.names[i] for i in mine)
            return replace(operation, lines=operation.lines[list(mine)], names=names, floors=floors)
        case Clear() | Corners() | Carve():
            return replace(operation, areas=tuple(operation.areas[i] for i in mine))
        case Bore():
            names = tuple(operation.names[i] for i in mine)
            own = list(mine)
            return replace(operation, centres=operation.centres[own], diameters=operation.diameters[own], names=names)
        case Channel():
            names = tuple(operation.names[i] for i in mine)
            return replace(operation, ends=operation.ends[list(mine)], names=names)
        case Engrave():
            names = tuple(operation.names[i] for i in mine)
            return replace(operation, paths=tuple(operation.paths[i] for i in mine), names=names)
        case _:
            return operation


def _name(operation: Operation, i: int) -> str:
    match operation:
        case Lines() | Bore() | Engrave():
            return operation.names[i] or operation.title
        case Clear() | Corners() | Carve():
            return operation.areas[i].name or operation.title
        case _:
            return operation.title
