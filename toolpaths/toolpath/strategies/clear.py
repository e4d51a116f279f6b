"""Pockets: cleared from the middle outwards in rings, entered on a ramp or helix, the wall skimmed last."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.geometry.loop import Area, Loop
from toolpaths.geometry.offset import drawn_in, outline_and_islands
from toolpaths.job.bit import Bit
from toolpaths.operations.depth_of_cut import SKIM_PART
from toolpaths.operations.operation import Clear
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels, skimmed
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_CHORD = 2e-4
"""How far chords may stray while an outline is moved, mm."""
_CLOSEST = 0.02
"""Rings never lie closer, mm."""
_LEAST_HELIX = 0.05
"""A pocket that gives the bit's middle less room than this radius cannot be entered on a helix, mm."""
_NO_POST = 0.95
"""The innermost ring's radius stays below this part of the bit's."""
_LEAST_MISSED = 1e-3
"""Smaller areas of wood between rings are ignored, mm2."""
_OVERLAP = 1.0
"""How far the wall's skim runs on past its start, mm."""


def clear(operation: Clear, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a pocket. Raises FeatureError where the bit does not fit in."""
    for area in operation.areas:
        plan = _rings(area, bit, operation)
        even = operation.skim == 0.0
        heights = levels(operation.top, operation.floor, operation.cutting.pass_depth) if even else skimmed(operation)
        _pocket(operation, bit, pen, plan, heights)
        title = f"{area.name}, {len(heights)} level{'s' if len(heights) > 1 else ''}"
        yield pen.section(operation, title, area.name)


@dataclass(frozen=True, slots=True)
class _Plan:
    """Rough rings from the middle outwards, and the rings that skim the walls (none without an allowance).

    `room`: where the bit's middle may go on its way between rough rings; `lane`: how far from a ring that is cut
    already the bit's middle meets no more wood than on a ring, mm.
    """

    rough: list[ArcLengthPath]
    wall: list[ArcLengthPath]
    room: BaseGeometry
    lane: float


def _pocket(operation: Clear, bit: Bit, pen: ToolpathBuilder, plan: _Plan, heights: list[float]) -> None:
    cutting, rough = operation.cutting, plan.rough
    reach = plan.room.buffer(1e-3)
    cleared = _cleared(plan, reach)
    above = operation.top
    for z in heights:
        for i, track in enumerate(rough):
            x, y = track.at(0.0)
            first = i == 0
            if (first and above == operation.top) or not _straight(pen, x, y, reach if first else cleared[i - 1]):
                pen.enter(x, y, above, above, cutting)
                first = True
            elif first:
                # Across the floor already cut, to the start of the next ramp.
                pen.cut(x, y, above, cutting.feed)
            else:
                pen.cut(x, y, z, cutting.feed)
            if first:
                track.ramp_and_round(pen, 0.0, above, z, cutting)
            else:
                track.run(pen, 0.0, track.length, z, z, cutting.feed)
        above = z
    grown = reach.buffer(cutting.finish_allowance + 2e-3)
    along = cutting.along_wall(operation.top - above, bit.diameter)
    for track in plan.wall:
        s = track.nearest(pen.x, pen.y)
        if not _straight(pen, *track.at(s), grown):
            # Down on the floor already cut, never on the wood that the skim is to take.
            s = 0.0
            pen.enter(*_beside(rough, *track.at(s)), above, operation.top, cutting)
        pen.cut(*track.at(s), above, along)
        track.run(pen, s, s + track.length + min(_OVERLAP, track.length / 4), above, above, along)
        pen.cut(*_beside(rough, pen.x, pen.y), above, cutting.feed)
    pen.retract()


def _cleared(plan: _Plan, reach: BaseGeometry) -> list[BaseGeometry]:
    """Where the bit may go straight once each rough ring is cut: beside it and those before it, within the pocket."""
    out: list[BaseGeometry] = []
    so_far: BaseGeometry = Polygon()
    for track in plan.rough:
        line = shapely.LinearRing(track.loop.flattened(_CHORD))
        so_far = so_far.union(line.buffer(plan.lane + 1e-3, quad_segs=16).intersection(reach))
        out.append(so_far)
    return out


def _beside(rough: list[ArcLengthPath], x: float, y: float) -> tuple[float, float]:
    """The nearest place on a rough ring."""
    places = [t.at(t.nearest(x, y)) for t in rough]
    return min(places, key=lambda p: math.hypot(p[0] - x, p[1] - y))


def _straight(pen: ToolpathBuilder, x: float, y: float, reach: BaseGeometry) -> bool:
    """Whether the bit may go straight there without leaving a region."""
    return pen.z < pen.safe and bool(reach.covers(LineString([(pen.x, pen.y), (x, y)])))


def _rings(area: Area, bit: Bit, operation: Clear) -> _Plan:
    """The rings of one pocket."""
    cutting = operation.cutting
    allowance, step = cutting.finish_allowance, cutting.step_over * bit.cut_diameter
    rough_back, wall_back = cutting.rough == "conventional", cutting.finish == "conventional"
    circle = area.outer.as_circle()
    if circle is not None and not area.islands:
        x, y, radius = circle
        final = radius - bit.radius
        if final < _LEAST_HELIX:
            raise FeatureError(
                f"{area.name}: the bit is about as wide as the pocket and cannot enter on a helix",
                "take a smaller bit",
                "bit",
            )
        if final - allowance < _LEAST_HELIX:
            allowance = 0.0
        outer = final - allowance
        rings = [Loop.circle(x, y, r) for r in _radii(outer, step, bit.radius)]
        walls = [Loop.circle(x, y, final)] if allowance > 0 else []
        room: BaseGeometry = _area(rings[-1:])
    else:
        rings, walls, room = _offset_rings(area, bit, allowance, step)
    return _Plan(
        [ArcLengthPath.along(r, backwards=rough_back) for r in rings],
        [ArcLengthPath.along(w, backwards=wall_back) for w in walls],
        room,
        max(step, bit.radius),
    )


def _radii(outer: float, step: float, reach: float) -> list[float]:
    """Radii of rings from the middle outwards, mm, at most `step` apart; the innermost leaves no post standing."""
    count = max(1, math.ceil(outer / step - 1e-9))
    radii = [outer * (i + 1) / count for i in range(count)]
    return radii if radii[0] < reach * _NO_POST else [radii[0] / 2, *radii]


def _offset_rings(area: Area, bit: Bit, allowance: float, step: float) -> tuple[list[Loop], list[Loop], BaseGeometry]:
    """(rough rings, wall rings, room) of a pocket's outline and its islands."""
    paths = outline_and_islands(area)
    walls = drawn_in(paths, bit.radius)
    if not walls:
        raise FeatureError(f"{area.name}: the bit does not fit into the pocket", "take a smaller bit", "bit")
    rings = _all_insets(paths, bit.radius + allowance, step)
    if not rings:
        return walls, [], _area(walls)
    # A wide step-over can leave wood standing in corners and in the middle: then the rings lie closer.
    while step > _CLOSEST and _missed(rings, bit.radius).area > _LEAST_MISSED:
        step /= 2
        rings = _all_insets(paths, bit.radius + allowance, step)
    every = [ring for level in rings for ring in level]
    # Where the pocket is hardly wider than the bit, only the wall's own path goes through; and in a sharp corner the
    # skim, at full depth, would meet much more than the allowance. There the wall's path is cut level by level too.
    rest = _area(walls).buffer(bit.radius).difference(_area(rings[-1]).buffer(bit.radius))
    if not rest.buffer(-bit.radius / 2).is_empty or _furthest(walls, rings[-1]) > SKIM_PART * bit.radius:
        return [*every, *walls], (walls if allowance > 0 else []), _area(walls)
    return every, (walls if allowance > 0 else []), _area(rings[-1])


def _furthest(walls: Sequence[Loop], rough: Sequence[Loop]) -> float:
    """How far the walls' path comes from the outermost rough rings: a / sin(h) in a corner of 2 h, a elsewhere. mm."""
    lines = shapely.union_all([shapely.LinearRing(ring.flattened(_CHORD)) for ring in rough])
    places = np.concatenate([wall.flattened(_CHORD) for wall in walls])
    return float(shapely.distance(shapely.points(places), lines).max())


def _all_insets(paths: Sequence[Array], first: float, step: float) -> list[list[Loop]]:
    """The pocket drawn in again and again: the rings of each time, the innermost first."""
    rings: list[list[Loop]] = []
    inset = first
    while found := drawn_in(paths, inset):
        rings.insert(0, found)
        inset += step
    return rings


def _missed(rings: list[list[Loop]], reach: float) -> BaseGeometry:
    """What a bit of that radius leaves standing between the rings."""
    lines = [shapely.LinearRing(ring.flattened(_CHORD)) for level in rings for ring in level]
    return _area(rings[-1]).buffer(reach - 1e-3).difference(shapely.union_all(lines).buffer(reach))


def _area(rings: Sequence[Loop]) -> BaseGeometry:
    """What the rings of one inset enclose: those that run clockwise go around islands."""
    shapes = [Polygon(ring.flattened(_CHORD)) for ring in rings]
    outer = [shape for shape in shapes if shape.exterior.is_ccw]
    return shapely.union_all(outer).difference(shapely.union_all([s for s in shapes if not s.exterior.is_ccw]))
