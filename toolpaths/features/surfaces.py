"""The surfaces of the wood while it is cut, and the lengths that are measured from them.

A job counts depths from one plane; a person holds a gauge against the wood that stands beside the cut. What stands
there follows from what was asked for, never from a toolpath, and is tested against the simulated wood.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import polylabel

from toolpaths.instrument.handwork.handwork import Figure, Measure
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import GENERAL, FeatureKeys
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Demand, Groove

Place = tuple[float, float]
_RIM = 0.4
"""How far beside a cut's edge the surface is looked for, mm: where a gauge rests."""
_FAR = 2000.0
_SAME = 5e-3
"""Figures that differ by less are the same to a person, mm."""
_LONG = 100.0
"""A shorter way tells too little of an axis, mm. Common practice, no source."""
_OBLONG = 1.5
"""A cut longer than so many times its width is measured across."""


@dataclass(frozen=True, slots=True)
class Surfaces:
    """The surfaces of the wood once the features `done` are cut (all where None), from what they ask for.

    `demands` by setup, in the setup's frame. Places and axes are in that frame too.
    """

    contexts: Mapping[str, SetupContext]
    demands: Mapping[str, Sequence[Demand]]
    done: frozenset[str] | None = None

    def top(self, context: SetupContext, at: Place) -> tuple[float, Demand | None]:
        """Height of the surface at a place, mm above the bed, and the demand that cut it; None for the blank's top."""
        found, by = context.top, None
        for _, demand in self._cut(context, other_side=False):
            floor = floor_of(demand, at)
            if floor is not None and floor < found:
                found, by = floor, demand
        return found, by

    def under(self, context: SetupContext, at: Place) -> float:
        """Height of the wood's underside above the bed at a place, mm, after the cuts from the other side."""
        seen = (at[0], -at[1])
        floors = [floor_of(demand, seen) for _, demand in self._cut(context, other_side=True)]
        return max([0.0, *(context.glue - floor for floor in floors if floor is not None)])

    def thickness(self, context: SetupContext, at: Place, within: tuple[float, float] = (0.0, 0.0)) -> Figure:
        """How thick the wood is at a place."""
        value = max(self.top(context, at)[0] - self.under(context, at), 0.0)
        return Figure("thickness", value, context.setup.name, at, within=within)

    def height(self, context: SetupContext, at: Place, within: tuple[float, float] = (0.0, 0.0)) -> Figure:
        """How high the surface stands above the bed at a place, or above the seat of a jig."""
        return Figure("height", context.above_bed(self.top(context, at)[0]), context.setup.name, at, within=within)

    def depth(
        self, context: SetupContext, demand: Demand, at: Place, axis: Place, within: tuple[float, float] = (0.0, 0.0)
    ) -> Figure | None:
        """How deep a cut is at a place, from the higher surface beside it along `axis`; None beside the blank."""
        floor, found = floor_of(demand, at), []
        x0, y0, x1, y1 = context.stock_box
        for x, y in _rims(demand.asked, at, axis):
            if floor is not None and x0 <= x <= x1 and y0 <= y <= y1 and not self._run_over(context, (x, y)):
                found.append((*self.top(context, (x, y)), (x, y)))
        if floor is None or not found:
            return None
        top, by, rim = max(found, key=lambda one: one[0])
        name = context.setup.name
        return Figure("depth", top - floor, name, at, axis, rim, self._name(context, by), within)

    def depths(self, context: SetupContext, feature: FeatureKeys) -> tuple[Figure, ...]:
        """The depths of a feature's cuts, each once, the least first."""
        found = [depth for demand in self.own(context, feature) if (depth := self.cut(context, demand, feature)[1])]
        return tuple(sorted({(round(f.value, 3), f.surface): f for f in found}.values(), key=lambda f: f.value))

    def cuts(self, context: SetupContext, feature: FeatureKeys) -> list[Measure]:
        """Width and depth of each of a feature's cuts; alike ones in one row."""
        alike: dict[tuple[object, ...], list[tuple[Demand, Figure, Figure | None]]] = {}
        for demand in self.own(context, feature):
            width, depth = self.cut(context, demand, feature)
            deep = (None,) if depth is None else (round(depth.value, 3), depth.surface)
            size = round(width.value, 2) if feature.sized else 0.0
            alike.setdefault((size, *deep), []).append((demand, width, depth))
        out: list[Measure] = []
        for cuts in alike.values():
            demand = cuts[0][0]
            name = demand.name + (f" and {len(cuts) - 1} more like it" if len(cuts) > 1 else "")
            if feature.sized:
                round_one = abs(demand.asked.area - math.pi / 4 * cuts[0][1].value ** 2) < 0.01 * demand.asked.area
                out.append(Measure("diameter" if round_one else "width", tuple(w for _, w, _ in cuts), of=name))
            deep_ones = tuple(d for *_, d in cuts if d is not None and d.value > _SAME)
            if deep_ones:
                out.append(Measure(f"depth from {deep_ones[0].surface}", deep_ones, of=name))
        return out

    def apart(self, context: SetupContext, feature: FeatureKeys) -> list[Measure]:
        """How far apart along x a feature's first and last cuts are, mm; nothing where that is no long way."""
        ends = sorted((d.asked.centroid.x, d.asked.centroid.y, d.name) for d in self.own(context, feature))
        if not ends or ends[-1][0] - ends[0][0] < _LONG:
            return []
        (x0, y0, first), (x1, y1, last) = ends[0], ends[-1]
        way = Figure("between", x1 - x0, context.setup.name, (x1, y1), beside=(x0, y0), within=GENERAL)
        return [Measure(f"from the middle of {first} to the middle of {last}, along the neck", (way,))]

    def by(self, context: SetupContext, demand: Demand) -> FeatureKeys:
        """The feature that a setup's demand belongs to."""
        return next(f for s in self.contexts.values() for f in s.setup.features if f.name == demand.feature)

    def own(self, context: SetupContext, feature: FeatureKeys) -> list[Demand]:
        """What a feature asks for, in the setup's frame: each cut that is to be there."""
        return [d for d in self.demands[context.setup.name] if d.feature == feature.name and d.must and d.may]

    def _cut(self, context: SetupContext, *, other_side: bool) -> Iterator[tuple[SetupContext, Demand]]:
        """The demands that are cut so far on one side of the setup's piece, with their setups; not those on the bed."""
        for name, other in self.contexts.items():
            if other is not context and (
                other.apart or context.apart or (other.flipped != context.flipped) != other_side
            ):
                continue
            if other is context and other_side:
                continue
            bed = {f.name for f in other.setup.features if f.order == "bed"}
            for demand in self.demands[name]:
                if demand.must and demand.feature not in bed and (self.done is None or demand.feature in self.done):
                    yield other, demand

    def cut(self, context: SetupContext, demand: Demand, feature: FeatureKeys) -> tuple[Figure, Figure | None]:
        """Its width where it is measured, and its depth; no depth where it goes through, or nothing stands beside."""
        region, name = demand.asked, context.setup.name
        centre = (region.centroid.x, region.centroid.y)
        corners = shapely.get_coordinates(region.minimum_rotated_rectangle)
        sides = sorted((corners[1] - corners[0], corners[2] - corners[1]), key=lambda side: float(np.hypot(*side)))
        (short, long), (less, more) = sides, (float(np.hypot(*side)) for side in sides)
        across = (1.0, 0.0) if more - less < 0.01 else (float(short[0] / less), float(short[1] / less))
        places = [(centre[0] + k * float(long[0]), centre[1] + k * float(long[1])) for k in (0.0, 0.25, -0.25, 0.4)]
        if isinstance(demand.floor, Groove):
            middle = shapely.line_interpolate_point(shapely.get_parts(demand.floor.path)[0], 0.5, normalized=True)
            places = [(middle.x, middle.y)]
            across = min(((1.0, 0.0), (0.0, 1.0)), key=lambda axis: _chord(region, places[0], axis))
        elif isinstance(region, Polygon):
            pole = polylabel(region, 0.05)
            places.append((pole.x, pole.y))
        at = next((p for p in places if self._own_floor(context, demand, p)), None)
        middle_of = centre if more < _OBLONG * less and region.covers(Point(centre)) else at or centre
        width = Figure("width", _chord(region, middle_of, across), name, middle_of, across, within=feature.within)
        if at is None or (demand.reach > 0 and float(demand.floor.height(np.zeros(1), np.zeros(1))[0]) <= 0):
            return width, None
        axis = across if more > _OBLONG * less or isinstance(demand.floor, Groove) else (1.0, 0.0)
        return width, self.depth(context, demand, at, axis, feature.within_depth)

    def _run_over(self, context: SetupContext, at: Place) -> bool:
        """Whether a bit has run out over a place, cutting there as much as it happened to."""
        cuts = (demand for _, demand in self._cut(context, other_side=False) if demand.run_out is not None)
        return any(demand.run_out.covers(Point(at)) for demand in cuts if demand.run_out is not None)

    def _own_floor(self, context: SetupContext, demand: Demand, at: Place) -> bool:
        """Whether a cut's floor stands at a place: nothing deeper crosses it, and wood lies below."""
        floor = floor_of(demand, at)
        own = replace(self, done=None if self.done is None else self.done | {demand.feature})
        return floor is not None and own.top(context, at)[0] > floor - 1e-6 and own.under(context, at) <= floor + 1e-6

    def _name(self, context: SetupContext, by: Demand | None) -> str:
        """A surface in words: the blank's, or what a feature has made of it."""
        if by is not None and not by.everywhere:
            # `headstock_face` leaves the back where the work is turned over.
            return "the headstock's back" if by.kind is CutKind.head_back else self.by(context, by).leaves
        if context.apart:
            return "the top" if context.setup.stand is None else "the board's edge"
        return "the back" if context.flipped else "the glue face" if context.job.part == "neck" else "the face"


def floor_of(demand: Demand, at: Place) -> float | None:
    """Height of a demand's floor at a place, mm; None where it asks for nothing there."""
    point = Point(at)
    if not demand.asked.covers(point) or (demand.relaxed is not None and demand.relaxed.covers(point)):
        return None
    return float(demand.floor.height(np.array([at[0]]), np.array([at[1]]))[0])


# Private


def _rims(region: BaseGeometry, at: Place, axis: Place) -> list[Place]:
    """The places just outside a region before and behind `at` along an axis."""
    ends = _ends(region, at, axis)
    return [(x + s * _RIM * axis[0], y + s * _RIM * axis[1]) for (x, y), s in zip(ends, (-1.0, 1.0), strict=False)]


def _chord(region: BaseGeometry, at: Place, axis: Place) -> float:
    """How wide a region is through a place along an axis, mm; 0 beside it."""
    ends = _ends(region, at, axis)
    return math.dist(*ends) if len(ends) == 2 else 0.0


def _ends(region: BaseGeometry, at: Place, axis: Place) -> list[Place]:
    """Both ends of the chord of a region through a place, the one before it first; none beside the region."""
    (x, y), (ux, uy) = at, axis
    line = LineString([(x - _FAR * ux, y - _FAR * uy), (x, y), (x + _FAR * ux, y + _FAR * uy)])
    for part in shapely.get_parts(shapely.line_merge(region.intersection(line))):
        along = sorted((px - x) * ux + (py - y) * uy for px, py in shapely.get_coordinates(part).tolist())
        if along[0] - 1e-6 <= 0.0 <= along[-1] + 1e-6:
            return [(x + s * ux, y + s * uy) for s in (along[0], along[-1])]
    return []
