"""What a wider bit left in pockets: along the walls with a smaller one, only where wood stands, entered from the
cleared floor."""

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
from toolpaths.operations.operation import Corners, Cutting
from toolpaths.operations.rest_material import OVERLAP, left_standing
from toolpaths.target_shape.demand import opened
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_LOOK = 0.05
"""Distance between looks along a ring, mm."""
_HAIR = 2e-3
"""What rounding may do, mm."""
_ASIDE = 0.2
"""How far inside the cleared floor the bit comes down, mm, where there is room."""
_CLOSEST = 0.02
"""Rings never lie closer, mm."""
_LEAST_RING = 0.5
"""A shorter ring in the midst of wood is left to the one around it, mm."""
_LEAST_MISSED = 1e-3
"""Smaller areas of wood between rings are ignored, mm2."""


def corners(operation: Corners, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a pocket in which something is left. Raises FeatureError where the bit cannot come to it."""
    heights = levels(operation.top, operation.floor, operation.cutting.pass_depth)
    for area in operation.areas:
        pocket = _Pocket.of(area, operation.before, bit)
        if pocket.left.is_empty:
            continue
        groups = _groups(pocket, operation.cutting, bit)
        if not groups:
            raise FeatureError(f"{area.name}: the bit cannot reach what is left", "take a smaller bit", "then")
        for group in groups:
            _cut(pen, group, pocket, heights, operation)
        count = f"{len(heights)} level{'s' if len(heights) > 1 else ''}"
        piece = f"what is left of {area.name}"
        title = f"{piece}, {len(groups)} place{'s' if len(groups) > 1 else ''}, {count}"
        yield pen.section(operation, title, piece)


@dataclass(frozen=True, slots=True)
class _Pocket:
    """`left`: the wood that stands and the bit can take; `near`: where its middle is when it cuts there, and a little
    beyond; `free`: where its middle may be without touching wood. mm."""

    paths: list[Array]
    left: BaseGeometry
    near: BaseGeometry
    free: BaseGeometry

    @staticmethod
    def of(pocket: Area, before: float, bit: Bit) -> _Pocket:
        paths = outline_and_islands(pocket)
        area = Polygon(paths[0], paths[1:])
        left = left_standing(area, before, bit.radius)
        free = opened(area, before).buffer(-bit.radius)
        return _Pocket(paths, left, left.buffer(bit.radius + OVERLAP), free)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A part of a ring, from s0 on to s1 mm. `ramped`: it begins in wood, and goes down along itself."""

    track: ArcLengthPath
    s0: float
    s1: float
    ramped: bool

    @property
    def line(self) -> LineString:
        """The way, in straight pieces."""
        s = np.linspace(self.s0, self.s1, max(2, math.ceil((self.s1 - self.s0) / _LOOK)))
        vertices = np.concatenate([self.track.ends + k * self.track.length for k in (-1, 0, 1)])
        s = np.union1d(s, vertices[(vertices > self.s0) & (vertices < self.s1)])
        return LineString([self.track.at(float(v)) for v in s])


def _groups(pocket: _Pocket, cutting: Cutting, bit: Bit) -> list[list[_Stretch]]:
    """For each place where wood stands, the stretches that take it, from the floor towards the wall."""
    step = cutting.step_over * bit.cut_diameter
    stretches = _stretches(pocket, cutting, bit, step)
    while step > _CLOSEST and _missed(pocket, stretches, bit) > _LEAST_MISSED:
        step /= 2
        stretches = _stretches(pocket, cutting, bit, step)
    out = []
    for place in shapely.get_parts(pocket.near):
        group = [s for s in stretches if place.intersects(shapely.Point(s.track.at((s.s0 + s.s1) / 2)))]
        if group:
            out.append(group)
    return out


def _stretches(pocket: _Pocket, cutting: Cutting, bit: Bit, step: float) -> list[_Stretch]:
    """All of them, the innermost rings first and the finished walls last."""
    rounds: list[list[_Stretch]] = []
    inset = bit.radius + cutting.finish_allowance
    while found := _inset_by(inset, pocket, bit, cutting.rough):
        rounds.insert(0, found)
        inset += step
    if cutting.finish_allowance > 0:
        rounds.append(_inset_by(bit.radius, pocket, bit, cutting.finish))
    return [one for found in rounds for one in found]


def _inset_by(inset: float, pocket: _Pocket, bit: Bit, turn: str) -> list[_Stretch]:
    return [s for ring in drawn_in(pocket.paths, inset) for s in _on_ring(ring, pocket, bit, turn)]


def _on_ring(ring: Loop, pocket: _Pocket, bit: Bit, turn: str) -> Iterator[_Stretch]:
    """The stretches of one ring that lie where wood stands.

    A pocket's outline followed counter-clockwise has the wood on the right: with a cutter turning clockwise it climbs.
    """
    track = ArcLengthPath.along(ring, backwards=turn == "conventional")
    count = max(8, math.ceil(track.length / _LOOK))
    s = track.length * np.arange(count) / count
    places = shapely.points(np.array([track.at(float(v)) for v in s]))
    inside = shapely.covers(pocket.near, places)
    if not inside.any():
        return
    if inside.all():
        yield from _whole(track, s, np.asarray(shapely.distance(places, pocket.left)), bit)
        return
    first = np.nonzero(inside & ~np.roll(inside, 1))[0]
    for i in first:
        after = np.nonzero(~np.roll(inside, -i))[0][0]
        yield _Stretch(track, float(s[i - 1]) if i else float(s[-1] - track.length), float(s[i] + after * s[1]), False)


def _whole(track: ArcLengthPath, s: Array, away: Array, bit: Bit) -> Iterator[_Stretch]:
    """A ring that runs beside wood all the way: begun where it touches none, else on a ramp along itself."""
    start = float(s[int(np.argmax(away))])
    ramped = float(away.max()) < bit.radius - _HAIR
    if not ramped or track.length >= _LEAST_RING:
        yield _Stretch(track, start, start + track.length, ramped)


def _missed(pocket: _Pocket, stretches: Sequence[_Stretch], bit: Bit) -> float:
    """Area of the wood that would be left between the rings, mm2."""
    cover = shapely.union_all([s.line.buffer(bit.radius + 1e-3, quad_segs=16) for s in stretches])
    return float(pocket.left.buffer(-1e-2).difference(cover).area)


def _cut(
    pen: ToolpathBuilder, group: Sequence[_Stretch], pocket: _Pocket, heights: Sequence[float], operation: Corners
) -> None:
    """One place, level by level."""
    cutting = operation.cutting
    inner = pocket.free.buffer(-_ASIDE)
    above = operation.top
    for z in heights:
        for one in group:
            start, end = one.track.at(one.s0), one.track.at(one.s1)
            into = start if one.ramped else _beside(start, inner, pocket.free)
            height = above if one.ramped else z
            if pen.z >= pen.safe or not _straight(pen, into, pocket.free):
                pen.travel(*into)
                pen.approach(operation.top, cutting.descent)
            # Where the wider bit has been there is no wood: down without haste, but no plunge.
            pen.cut(*into, height, cutting.plunge if one.ramped else cutting.descent)
            pen.cut(*start, height, cutting.feed)
            s = one.s0
            if one.ramped:
                s += max((above - z) / cutting.slope, 1e-6)
                one.track.run(pen, one.s0, s, above, z, cutting.ramp)
            one.track.run(pen, s, s + one.s1 - one.s0, z, z, cutting.feed)
            if one.ramped:
                pen.retract()
            else:
                pen.cut(*_beside(end, inner, pocket.free), z, cutting.feed)
        above = z
    pen.retract()


def _beside(place: tuple[float, float], inner: BaseGeometry, free: BaseGeometry) -> tuple[float, float]:
    """The nearest place a little inside the cleared floor; the place itself where there is none in a straight way."""
    if inner.is_empty:
        return place
    near = shapely.get_coordinates(shapely.shortest_line(shapely.Point(place), inner))[1]
    way = LineString([place, near])
    return (float(near[0]), float(near[1])) if free.buffer(_HAIR).covers(way) else place


def _straight(pen: ToolpathBuilder, place: tuple[float, float], free: BaseGeometry) -> bool:
    """Whether the bit may go straight there without touching wood."""
    return bool(free.buffer(_HAIR).covers(LineString([(pen.x, pen.y), place])))
