"""Which walls each cut of a neck must leave: all around, under it, beside it, or none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array, Ints
from toolpaths.instrument.drawn_headstock import head_polygon
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.job.cut_kind import BACK_SURFACES, FREES, HOLES, ON_THE_SURFACE, ROD_AND_BARS, CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.patches import points_in

_MAY_GO_THROUGH = HOLES | {CutKind.pocket}
"""What may be meant to go right through. A channel, a slot or a groove never is."""
_OPENS_AT_THE_BACK = frozenset({CutKind.tuner_hole, CutKind.bolt_hole, CutKind.counterbore, CutKind.hole})
"""What is opened by carving the back where it is deeper than the finished neck, as makers drill from the face."""
_FREE = FREES | BACK_SURFACES | {CutKind.face}
_ANY = 1e-3


class Walls(Enum):
    """Where wood must be left."""

    none = "none"
    around = "under and beside it"
    under = "under it"
    beside = "beside it"


@dataclass(frozen=True, slots=True)
class WalledCut:
    """A demand and its walls. `low`, `high`: whether the wood before the neck's two ends counts as a wall of it;
    not where it runs out there."""

    demand: Demand
    walls: Walls
    low: bool
    high: bool


def neck_as_cut(context: SetupContext) -> FinishedNeck:
    """The finished neck in a setup's frame, from the instrument and the job's own headstock: drop and drawing.

    Raises FeatureError for an instrument without a neck, DrawingError for a headstock's drawing that is none.
    """
    instrument = context.job.instrument
    # From the back the same feature is the headstock's back, and has no drop.
    faces = [f for s in context.job.setups if s.flip is None for f in s.features if CutKind.step in f.cuts]
    drop = max((float(getattr(f, "drop", None) or 0.0) for f in faces), default=0.0)
    head = head_polygon(instrument, context.folder)
    if head is not None and context.mirror < 0:
        head = scale(head, yfact=-1.0, origin=(0, 0))
    # Cut from the face, the wood ends on the bed; turned over, what is left is told by what both sides cut.
    return FinishedNeck.of(instrument, drop, head, math.inf if context.flipped else context.glue)


def walled_cuts(context: SetupContext, demands: Sequence[Demand], neck: FinishedNeck) -> list[WalledCut]:
    """Every demand of a setup, in the setup's frame, with the walls that it must leave."""
    return [_cut(context, d, neck) for d in demands]


def holders(points: Array, heights: Array, demands: Sequence[Demand], spare: float) -> Ints:
    """For each point (N, 2) at a height (N,) the demand that holds it, the one whose floor is nearest; -1 for none.

    `spare`: how far outside its edge a point still belongs to a demand, mm.
    """
    best = np.full(len(points), -1, dtype=np.int64)
    off = np.full(len(points), np.inf)
    x, y = points[:, 0], points[:, 1]
    for i, demand in enumerate(demands):
        region = demand.asked if demand.run_out is None else shapely.union(demand.asked, demand.run_out)
        region = region if demand.everywhere else region.buffer(spare)
        near = points_in(region, points)
        away = np.abs(demand.floor.height(x[near], y[near]) - heights[near])
        closer = away < off[near]
        best[near[closer]], off[near[closer]] = i, away[closer]
    return best


# Private


def _cut(context: SetupContext, demand: Demand, neck: FinishedNeck) -> WalledCut:
    kind = demand.kind
    whole = demand.asked if demand.run_out is None else shapely.union(demand.asked, demand.run_out)
    low, high = _stays_before_the_ends(whole, neck)
    if kind in _FREE or demand.everywhere or demand.asked.intersection(neck.plan).area < _ANY:
        walls = Walls.none
    elif _through(context, demand, neck):
        walls = Walls.beside
    elif kind in ON_THE_SURFACE or _runs_across(whole, kind, neck):
        walls = Walls.none if context.flipped else Walls.under
    else:
        walls = Walls.beside if context.flipped else Walls.around
    return WalledCut(demand, walls, low, high)


def _through(context: SetupContext, demand: Demand, neck: FinishedNeck) -> bool:
    """Whether it is meant to leave no wood under it."""
    if demand.kind not in _MAY_GO_THROUGH:
        return False
    if demand.through:
        return True
    if demand.kind not in _OPENS_AT_THE_BACK or context.flipped:
        return False
    x, y = shapely.get_coordinates(demand.asked).T
    floor = demand.floor.height(x, y)
    return bool(np.all(context.glue - floor >= neck.depth(x, y) + neck.neck.wall.carver))


def _runs_across(whole: BaseGeometry, kind: CutKind, neck: FinishedNeck) -> bool:
    """Whether it is open at both sides, as a groove for the nut or a lowered headstock."""
    outside = whole.difference(neck.plan)
    if kind in ROD_AND_BARS or outside.is_empty:
        return False
    _, y0, _, y1 = outside.bounds
    within = outside.intersection(shapely.box(neck.low, y0, neck.high, y1))
    sides = {p.centroid.y > 0 for p in shapely.get_parts(within) if p.area > _ANY}
    return len(sides) == 2


def _stays_before_the_ends(whole: BaseGeometry, neck: FinishedNeck) -> tuple[bool, bool]:
    x0, _, x1, _ = whole.bounds
    return bool(x0 > neck.low + _ANY), bool(x1 < neck.high - _ANY)
