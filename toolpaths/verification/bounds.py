"""Bounds on the wood's height: how low it may and how high it must not be; the comparison of map and target.

Everything is evaluated at cell centres and at probes: exact heights at every vertex and every 0.25 mm just
outside the edge of each region where cutting is allowed, and just inside that of each where it is asked.
Probes decide walls, so a finer pitch changes no verdict.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array, Ints
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.region_cells import covered
from toolpaths.target_shape.demand import GOUGE, LEFT, ArcFloor, Demand, Level

Heights = NDArray[np.float32]

PROBE_STEP = 0.25
_ASIDE = 0.002


@dataclass(frozen=True, slots=True)
class Probes:
    """Points (N, 2) mm at the edges of a demand's regions, with the bounds that hold there, mm.

    `demand` (N,) indexes the demands. Bounds are over all demands given, not only the one at whose edge it lies.
    """

    points: Array
    low: Array
    high: Array
    demand: Ints


@dataclass(frozen=True, slots=True)
class Comparison:
    """Bounds on the map's cells (rows, cols) and at probes, with the probes' exact heights (N,). mm."""

    low: Heights
    high: Heights
    probes: Probes
    probe_heights: Array


@dataclass(frozen=True, slots=True)
class Bounded:
    """A demand with its regions grown and shrunk, once."""

    demand: Demand
    may: BaseGeometry
    must: BaseGeometry
    eps: float

    @staticmethod
    def of(demand: Demand, eps: float) -> Bounded:
        """The regions of one demand; empty where it does not bound."""
        empty = shapely.Polygon()
        may = demand.may_region(eps) if demand.may else empty
        must = demand.must_region(eps) if demand.must else empty
        shapely.prepare([may, must])
        return Bounded(demand, may, must, eps)

    def level(self, below: bool) -> float | None:
        """The one bound of a level floor, mm; None where the floor is not level."""
        d = self.demand
        if not isinstance(d.floor, Level):
            return None
        return d.floor.z - d.reach - GOUGE if below else d.floor.z + LEFT + d.scallop

    def low_at(self, x: Array, y: Array) -> Array:
        """The least height allowed at points inside `may`, mm."""
        d = self.demand
        return d.floor.height(x, y) - d.reach - GOUGE - self.eps * d.floor.slope(x, y)

    def high_at(self, x: Array, y: Array) -> Array:
        """The greatest height allowed at points inside `must`, mm."""
        d = self.demand
        return d.floor.height(x, y) + LEFT + d.scallop + self.eps * d.floor.slope(x, y)


@dataclass(frozen=True, slots=True)
class Bounds:
    """Bounds of the wood at one moment: begun demands allow cutting, finished ones require it."""

    begun: tuple[Bounded, ...] = ()
    finished: tuple[Bounded, ...] = ()


def apply_low(low: Heights, blank: DepthMap, b: Bounded) -> None:
    """Lower `low` (rows, cols) where one demand allows cutting."""
    _apply(low, blank, b.may, b, below=True)


def apply_high(high: Heights, blank: DepthMap, b: Bounded) -> None:
    """Lower `high` (rows, cols) where one demand asks for it."""
    _apply(high, blank, b.must, b, below=False)


def _apply(out: Heights, blank: DepthMap, region: BaseGeometry, b: Bounded, *, below: bool) -> None:
    level = b.level(below)
    if b.demand.everywhere and level is not None and not region.is_empty:
        np.minimum(out, np.float32(level), out=out)
        return
    found = covered(region, blank)
    if found is None:
        return
    rows, cols, mask = found
    part = out[rows, cols]
    if level is not None:
        np.minimum(part, np.float32(level), out=part, where=mask)
        return
    bound = b.low_at if below else b.high_at
    if isinstance(b.demand.floor, ArcFloor):
        x = blank.xs[cols]  # such a floor is the same all across
        np.minimum(part, bound(x, np.zeros_like(x)).astype(np.float32), out=part, where=mask)
        return
    x, y = np.broadcast_arrays(blank.xs[None, cols], blank.ys[rows, None])
    part[mask] = np.minimum(part[mask], bound(x[mask], y[mask]).astype(np.float32))


def probes_of(bounded: Sequence[Bounded], box: tuple[float, float, float, float]) -> tuple[Array, Ints]:
    """Probe points (N, 2) on the blank at the edges of all regions, and which of `bounded` each belongs to (N,)."""
    points, owners = [np.empty((0, 2))], [np.empty(0, dtype=np.int64)]
    x0, y0, x1, y1 = box
    for i, b in enumerate(bounded):
        for region, aside in ((b.may, _ASIDE), (b.must, -_ASIDE)):
            if region.is_empty:
                continue
            edge = region.buffer(aside, quad_segs=4, join_style="mitre")
            xy = shapely.get_coordinates(shapely.segmentize(edge.boundary, PROBE_STEP))
            inside = (xy[:, 0] > x0) & (xy[:, 0] < x1) & (xy[:, 1] > y0) & (xy[:, 1] < y1)
            points.append(xy[inside])
            owners.append(np.full(int(inside.sum()), i, dtype=np.int64))
    return np.concatenate(points), np.concatenate(owners)


def point_bounds(
    points: Array, uncut: Array, begun: Sequence[Bounded], finished: Sequence[Bounded]
) -> tuple[Array, Array]:
    """(low, high), each (N,), at points (N, 2) of a blank so high there (N,), as `grid_bounds` gives on cells."""
    low = uncut - GOUGE
    high = np.full(len(points), np.inf)
    px, py = points[:, 0], points[:, 1]
    for which, group in ((low, begun), (high, finished)):
        for b in group:
            region = b.may if which is low else b.must
            if region.is_empty:
                continue
            x0, y0, x1, y1 = region.bounds
            i = np.nonzero((px >= x0) & (px <= x1) & (py >= y0) & (py <= y1))[0]
            i = i[shapely.contains_xy(region, px[i], py[i])]
            x, y = px[i], py[i]
            value = b.low_at(x, y) if which is low else b.high_at(x, y)
            which[i] = np.minimum(which[i], value)
    return low, high
