"""The cuts of a whole job as solids in one frame, and the wood between them.

Frame: instrument coordinates x, y, and the depth d below the plane of the finished face (the glue face of a neck),
mm; d grows towards the back. A cut is open to the side that it comes from and ends at its floor; one that is meant
to go through is open to both. Where a floor is not level the cut is divided into upright prisms, each as deep as its
deepest place, until a prism's floor varies by `EVEN` at most: so what is told is never more wood than there is, and
less by no more than that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely import box
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.bevel_floor import BevelFloor
from toolpaths.target_shape.crown_floor import ConeGroove
from toolpaths.target_shape.demand import Demand, Floor, Groove, Level

EVEN = 0.05
"""How much a prism's floor may vary, mm."""
_SMALLEST = 0.3
"""A prism is not divided any further, mm."""


@dataclass(frozen=True, slots=True)
class Prism:
    """An upright piece of a cut: its region, and the depths from which and down to which it is cut."""

    region: BaseGeometry
    near: float
    far: float


@dataclass(frozen=True)
class CutSolid:
    """One cut: what wants it, in the frame above; the setup that cuts it, and the height of the glue face there."""

    demand: Demand
    setup: str
    flipped: bool
    glue: float
    region: BaseGeometry

    @cached_property
    def prisms(self) -> tuple[Prism, ...]:
        """Its upright pieces; made when first asked for, as most cuts are near no other."""
        if self.demand.through:
            return (Prism(self.region, -math.inf, math.inf),)
        pieces = _even(self.region, self.demand)
        if self.flipped:
            return tuple(Prism(region, lowest, math.inf) for region, lowest in pieces)
        return tuple(Prism(region, -math.inf, self.glue - lowest) for region, lowest in pieces)

    @property
    def least(self) -> float:
        """A height that its floor is never below, mm above the bed; minus infinity where it is not known."""
        floor = self.demand.floor
        if isinstance(floor, Level | Groove):
            return floor.z
        return floor.lowest if isinstance(floor, BevelFloor) else -math.inf

    def within(self, part: BaseGeometry) -> CutSolid:
        """What of it lies in a part seen from above."""
        return self if part.covers(self.region) else replace(self, region=self.region.intersection(part))

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of its region."""
        x0, y0, x1, y1 = self.region.bounds
        return (x0 + x1) / 2, (y0 + y1) / 2


@dataclass(frozen=True, slots=True)
class Gap:
    """The least wood between two solids, mm: below 0 where they run into each other; and the place in between."""

    wood: float
    place: tuple[float, float]


def cut_solid(context: SetupContext, demand: Demand) -> CutSolid:
    """A demand, in its setup's frame, as a solid. What runs out of the part is counted as far as it runs."""
    own = demand if context.mirror > 0 else demand.mirrored()
    whole = own.asked if own.run_out is None else shapely.union(own.asked, own.run_out)
    return CutSolid(own, context.setup.name, context.flipped, context.glue, whole)


def gap_between(a: CutSolid, b: CutSolid, within: float) -> Gap | None:
    """The least wood between two cuts where it is less than `within` mm; None where there is more.

    Where they run into each other: how far one reaches into the other, by the shorter way out, below 0.
    """
    if a.region.is_empty or b.region.is_empty or float(a.region.distance(b.region)) >= within:
        return None
    worst: Gap | None = None
    for p in a.prisms:
        for q in b.prisms:
            found = _between(p, q)
            if found is not None and found.wood < within and (worst is None or found.wood < worst.wood):
                worst = found
    return worst


def deepest(solid: CutSolid) -> Iterable[tuple[Prism, float]]:
    """Each prism that ends inside the wood, with the depth of its end: its floor, or under a cut from the back its
    ceiling."""
    for prism in solid.prisms:
        end = prism.near if solid.flipped else prism.far
        if math.isfinite(end):
            yield prism, end


# Private


def _between(p: Prism, q: Prism) -> Gap | None:
    aside = float(p.region.distance(q.region))
    apart = max(q.near - p.far, p.near - q.far)
    if aside > 0 or apart > 0:
        wood = math.hypot(aside, max(apart, 0.0))
        return Gap(wood, _place(p.region, q.region))
    common = p.region.intersection(q.region)
    if common.is_empty or common.area < 1e-9:
        return Gap(0.0, _place(p.region, q.region))
    x0, y0, x1, y1 = common.bounds
    return Gap(-min(x1 - x0, y1 - y0, -apart), (common.centroid.x, common.centroid.y))


def _place(a: BaseGeometry, b: BaseGeometry) -> tuple[float, float]:
    line = shapely.shortest_line(a, b)
    (x0, y0), (x1, y1) = shapely.get_coordinates(line)
    return float(x0 + x1) / 2, float(y0 + y1) / 2


def _even(region: BaseGeometry, demand: Demand) -> list[tuple[BaseGeometry, float]]:
    """(region, lowest height above the bed) of pieces whose floors vary by `EVEN` at most."""
    # A pointed bit's walls rise from its tip's way, which is nowhere lower than the surface that it follows.
    floor = demand.floor.under if isinstance(demand.floor, ConeGroove) else demand.floor
    if isinstance(floor, Level):
        return [(region, floor.z)]
    if isinstance(floor, Groove):
        # Its walls rise to both sides of the path: where two of them are near each other is told by their edges.
        return [(region, floor.z)]
    out: list[tuple[BaseGeometry, float]] = []
    todo: list[BaseGeometry] = [region]
    while todo:
        part = todo.pop()
        heights, along_x = _heights(part, floor)
        x0, y0, x1, y1 = part.bounds
        if float(np.ptp(heights)) <= EVEN or (x1 - x0 if along_x else y1 - y0) <= _SMALLEST:
            out.append((part, float(heights.min())))
            continue
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        halves = (box(x0, y0, x, y1), box(x, y0, x1, y1)) if along_x else (box(x0, y0, x1, y), box(x0, y, x1, y1))
        todo += [g for half in halves for g in shapely.get_parts(part.intersection(half)) if g.area > 0]
    return out


def _heights(region: BaseGeometry, floor: Floor) -> tuple[Array, bool]:
    """Heights of the floor at the region's vertices and on a grid within it, mm; whether it varies more along x."""
    x0, y0, x1, y1 = region.bounds
    xs, ys = np.meshgrid(np.linspace(x0, x1, 7), np.linspace(y0, y1, 7))
    grid = floor.height(xs.ravel(), ys.ravel()).reshape(xs.shape)
    inside = shapely.intersects_xy(region, xs, ys)
    edge = shapely.get_coordinates(region)
    heights = np.concatenate([floor.height(edge[:, 0], edge[:, 1]), grid[inside]])
    return heights, bool(np.ptp(grid, axis=1).max() >= np.ptp(grid, axis=0).max())
