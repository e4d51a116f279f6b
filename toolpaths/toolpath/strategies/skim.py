"""Skimming a board level: rows there and back, broken where something stands, and once round each of those places."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from toolpaths.geometry.arc_fit import arcs_in
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Skim
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

LEAST_SPAN = 2.0
"""Shorter pieces of a row are left to the way round what stands beside them, whose ends both lie on it, mm."""
_CHORD = 2e-4
"""How far chords may stray from a round corner, mm."""
_ARC_WITHIN = 1e-3
"""How far a found arc may stray, mm."""
_HAIR = 1e-3

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of a row that nothing stands in: the row's number, its place across, from and to along it; mm."""

    row: int
    across: float
    start: float
    end: float

    def beside(self, other: Span) -> bool:
        """Whether it lies in the next row and beside the other, at least in part."""
        return self.row == other.row + 1 and min(self.end, other.end) > max(self.start, other.start)


def skim(operation: Skim, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a level. The bit goes down on ramps alone: the board may be larger than what is skimmed."""
    spans = spans_of(operation, bit)
    room = _room(operation)
    rings = _rings(operation, room)
    heights = levels(operation.top, operation.floor, operation.cutting.pass_depth)
    above = operation.top
    for k, z in enumerate(heights, 1):
        _rows(operation, pen, spans, room.buffer(_HAIR), (above, z))
        for ring in rings:
            s = ring.nearest(pen.x, pen.y)
            pen.enter(*ring.at(s), above, operation.top, operation.cutting)
            ring.ramp_and_round(pen, s, above, z, operation.cutting)
        pen.retract()
        above = z
        level = f", level {k} of {len(heights)}" if len(heights) > 1 else ""
        yield pen.section(operation, operation.title + level, f"level {k}")


def spans_of(operation: Skim, bit: Bit) -> list[Span]:
    """The pieces of all rows, row after row: rows at most a step-over apart, the outer ones on the box's sides.

    Beside a box the bit's middle keeps a distance d: a row that passes its corner at v < d from the box ends
    sqrt(d^2 - v^2) before it. Elementary geometry.
    """
    (u0, v0), (u1, v1) = _seen(operation, operation.box[:2]), _seen(operation, operation.box[2:])
    step = operation.cutting.step_over * bit.cut_diameter
    count = max(1, math.ceil((v1 - v0) / step - 1e-9))
    rows = [v0 + (v1 - v0) * i / count for i in range(count + 1)] if v1 - v0 > _HAIR else [(v0 + v1) / 2]
    out: list[Span] = []
    for i, v in enumerate(rows):
        pieces = [(u0, u1)]
        for kept in operation.clear:
            (a0, b0), (a1, b1) = _seen(operation, kept.box[:2]), _seen(operation, kept.box[2:])
            aside = max(b0 - v, v - b1, 0.0)
            if aside < kept.by:
                off = math.sqrt(kept.by**2 - aside**2)
                pieces = [p for q in pieces for p in ((q[0], min(q[1], a0 - off)), (max(q[0], a1 + off), q[1]))]
        out += [Span(i, v, a, b) for a, b in sorted(pieces) if b - a >= LEAST_SPAN]
    return out


# Private


def _seen(operation: Skim, place: tuple[float, ...]) -> Place:
    """(along, across) of a place x, y, and the other way round."""
    return (place[0], place[1]) if operation.along == "x" else (place[1], place[0])


def _room(operation: Skim) -> BaseGeometry:
    """Where the bit's middle may be."""
    kept = []
    for one in operation.clear:
        # A chord over the angle 2 a strays from its circle by (1 - cos a) of the radius.
        chords = math.ceil(math.pi / 4 / math.acos(1 - min(_CHORD / one.by, 1.0)))
        kept.append(box(*one.box).buffer(one.by, quad_segs=chords))
    return box(*operation.box).difference(shapely.union_all(kept))


def _rings(operation: Skim, room: BaseGeometry) -> list[ArcLengthPath]:
    """The edges of where the bit's middle may be, without that of a plain box, which its rows reach by themselves."""
    out: list[ArcLengthPath] = []
    for part in shapely.get_parts(room):
        if part.area < _HAIR:
            continue
        for ring in (part.exterior, *part.interiors):
            if abs(Polygon(ring).area - box(*operation.box).area) > _HAIR:
                points = np.asarray(orient(Polygon(ring)).exterior.coords)[:-1]
                out.append(ArcLengthPath.along(arcs_in(points, _ARC_WITHIN)))
    return out


def _rows(
    operation: Skim, pen: ToolpathBuilder, spans: list[Span], room: BaseGeometry, heights: tuple[float, float]
) -> None:
    """All rows of one level, from (above, z); in one go as far as nothing stands between those beside each other."""
    above, z = heights
    cutting = operation.cutting
    left = list(spans)
    last: Span | None = None
    while left:
        beside = [s for s in left if last is not None and s.beside(last)]
        span = (beside or left)[0]
        left.remove(span)
        ends = _seen(operation, (span.start, span.across)), _seen(operation, (span.end, span.across))
        if last is not None and math.dist((pen.x, pen.y), ends[1]) < math.dist((pen.x, pen.y), ends[0]):
            ends = ends[1], ends[0]
        start, end = ends
        way = _over(operation, (pen.x, pen.y), start, room) if beside else ()
        for place in way:
            pen.cut(*place, z, cutting.feed)
        if not way:
            _down(operation, pen, ends, (above, z))
        pen.cut(*end, z, cutting.feed)
        last = span


def _over(operation: Skim, here: Place, there: Place, room: BaseGeometry) -> tuple[Place, ...]:
    """Places on the way to the next row at the level's height, straight or along one of both rows first; none where
    something stands between."""
    (u0, v0), (u1, v1) = _seen(operation, here), _seen(operation, there)
    for way in ((there,), (_seen(operation, (u1, v0)), there), (_seen(operation, (u0, v1)), there)):
        if room.covers(LineString([here, *way])):
            return way
    return ()


def _down(operation: Skim, pen: ToolpathBuilder, ends: tuple[Place, Place], heights: tuple[float, float]) -> None:
    """To the start of a piece of a row, at the level's height, on ramps along it there and back."""
    (above, z), (start, end), cutting = heights, ends, operation.cutting
    pen.enter(*start, above, operation.top, cutting)
    length, ramp = math.dist(start, end), (above - z) / cutting.slope
    legs = 2 * math.ceil(ramp / (2 * length) - 1e-9)
    part = ramp / legs / length
    turn = (start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part)
    for k in range(1, legs + 1):
        pen.cut(*(turn if k % 2 else start), above + (z - above) * k / legs, cutting.ramp)
