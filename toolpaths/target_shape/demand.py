"""Demands: the wanted shapes and heights, and the regions in which wood may and must be cut.

The comparison of map and target: see `docs/verification.md`. Everything here is in the setup's frame, mm.
"""

from __future__ import annotations

import math
from dataclasses import KW_ONLY, dataclass, replace
from typing import Protocol

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import edge_tree
from toolpaths.job.cut_kind import CutKind

Region = BaseGeometry

GOUGE = 0.01
"""tau_g: how far below the floor is a gouge, mm."""
LEFT = 0.02
"""tau_l: how far above the floor is left wood, mm."""
_SEGS = 48
_HAIR = 1e-3
"""A slot as wide as the bit is opened by so much less than the bit's radius, mm."""


class Floor(Protocol):
    """A wanted surface: height (N,) and steepness (N,) at x, y; mm above the bed."""

    def height(self, x: Array, y: Array) -> Array:
        """Height at points, mm."""

    def slope(self, x: Array, y: Array) -> Array:
        """Length of the gradient at points."""

    def mirrored(self) -> Floor:
        """The same floor with y changed in sign."""


@dataclass(frozen=True, slots=True)
class Level:
    """A level floor, mm above the bed."""

    z: float

    def height(self, x: Array, y: Array) -> Array:
        """The same everywhere."""
        return np.full(np.broadcast(x, y).shape, self.z)

    def slope(self, x: Array, y: Array) -> Array:
        """None."""
        return np.zeros(np.broadcast(x, y).shape)

    def mirrored(self) -> Level:
        """The same."""
        return self


@dataclass(frozen=True, slots=True)
class ArcFloor:
    """A floor that is a circle's arc along x, the same all across, such as a rod channel's: mm above the bed.

    The circle goes through `ends` at x0 and x1 and through `middle` halfway between; beyond x0 and x1 the floor
    is level, and where it is only `rising`, before the middle too: a ramp. With the half span c and the rise
    v = ends - middle its radius is (c^2 + v^2) / (2 v) (derived: the two chords from the middle to an end and to the
    opposite point are square to each other).
    """

    x0: float
    x1: float
    ends: float
    middle: float
    rising: bool = False

    @property
    def radius(self) -> float:
        """The circle's radius, mm: negative where the middle is higher than the ends, infinite where all are level."""
        half, rise = (self.x1 - self.x0) / 2, self.ends - self.middle
        return math.inf if rise == 0.0 else (half * half + rise * rise) / (2 * rise)

    def height(self, x: Array, y: Array) -> Array:
        """middle + R - sqrt(R^2 - u^2) at u from the middle, in the form that loses no digits for a large R."""
        u, radius = self._from_middle(x, y), self.radius
        root = np.sqrt(np.maximum(radius * radius - u * u, 0.0))
        return np.asarray(self.middle + u * u / (radius + math.copysign(1.0, radius) * root))

    def slope(self, x: Array, y: Array) -> Array:
        """|u| / sqrt(R^2 - u^2); beyond the ends the slope at the end, from where a tolerance reaches the arc."""
        u = self._from_middle(x, y)
        return np.asarray(np.abs(u) / np.sqrt(np.maximum(self.radius * self.radius - u * u, 1e-9)))

    def mirrored(self) -> ArcFloor:
        """The same: it does not depend on y."""
        return self

    def _from_middle(self, x: Array, y: Array) -> Array:
        half = (self.x1 - self.x0) / 2
        first = 0.0 if self.rising else -half
        return np.asarray(np.clip(np.broadcast_arrays(x, y)[0] - (self.x0 + self.x1) / 2, first, half))


@dataclass(frozen=True, slots=True)
class Groove:
    """The floor of a groove with sloping walls along any path (lines of shapely, mm).

    Level at `z` (mm above the bed) within `flat` / 2 of the path, then rising by `rise` mm a mm aside, as far as
    `reach` mm from the path; level again beyond.
    """

    path: BaseGeometry
    z: float
    flat: float
    rise: float
    reach: float

    def height(self, x: Array, y: Array) -> Array:
        """z + rise * max(0, d - flat / 2) at the distance d from the path."""
        x, y = np.broadcast_arrays(x, y)
        aside = np.full(x.size, self.reach)
        xy = np.stack([x.ravel(), y.ravel()], axis=1)
        x0, y0, x1, y1 = self.path.bounds
        near = np.all((xy > [x0 - self.reach, y0 - self.reach]) & (xy < [x1 + self.reach, y1 + self.reach]), axis=1)
        points = np.asarray(shapely.points(xy[near]))
        found, distance = edge_tree(self.path).query_nearest(
            points, max_distance=self.reach, return_distance=True, all_matches=False
        )
        aside[np.flatnonzero(near)[found[0]]] = distance
        out = self.z + self.rise * np.maximum(aside - self.flat / 2, 0.0)
        return np.asarray(out.reshape(x.shape))

    def slope(self, x: Array, y: Array) -> Array:
        """The rise, on the flat bottom too: a tolerance aside reaches the walls from there."""
        return np.full(np.broadcast(x, y).shape, self.rise)

    def mirrored(self) -> Groove:
        """The groove along the path with y changed in sign."""
        return replace(self, path=_mirror(self.path))


@dataclass(frozen=True, slots=True)
class Demand:
    """One shape wanted by one feature.

    `asked` is A; `run_out` is E, outside the open edges; `floor` is f; `radius` of its last bit.
    `reach`: how far below the floor is allowed still (a through cut into the bed).
    `may`, `must`: whether it bounds from below, from above. `relaxed`: part of A where nothing must be cut
    (another demand speaks for it). `everywhere`: the whole blank, edges free. `scallop`: left on purpose.
    `laid`: how far a piece lies from its place in the pocket that it goes into, mm. `kind`: what it is; `fret`: the
    fret that a line or slot is for. `name` is for people alone.
    """

    feature: str
    job_line: int
    setup: str
    name: str
    asked: Region
    floor: Floor
    radius: float
    run_out: Region | None = None
    reach: float = 0.0
    may: bool = True
    must: bool = True
    relaxed: Region | None = None
    everywhere: bool = False
    scallop: float = 0.0
    corners: bool = True
    laid: tuple[float, float] | None = None
    _: KW_ONLY
    kind: CutKind
    fret: int | None = None

    @property
    def through(self) -> bool:
        """Whether it is meant to leave no wood under it."""
        return self.reach > 0 or (isinstance(self.floor, Level) and self.floor.z <= 0)

    @property
    def middle(self) -> tuple[float, float]:
        """x, y of its centroid, mm."""
        return self.asked.centroid.x, self.asked.centroid.y

    @property
    def across(self) -> float:
        """Its width across the neck, mm."""
        _, y0, _, y1 = self.asked.bounds
        return float(y1 - y0)

    def mirrored(self) -> Demand:
        """The demand mirrored about the centreline."""
        return replace(
            self,
            asked=_mirror(self.asked),
            floor=self.floor.mirrored(),
            run_out=None if self.run_out is None else _mirror(self.run_out),
            relaxed=None if self.relaxed is None else _mirror(self.relaxed),
            laid=None if self.laid is None else (self.laid[0], -self.laid[1]),
        )

    def by_bit(self, radius: float) -> Demand:
        """The demand as far as a bit of that radius (mm) can cut it, before a smaller bit follows."""
        return replace(self, radius=max(self.radius, radius))

    def may_region(self, eps: float) -> Region:
        """A+ = (A u E) grown by eps."""
        return self._whole().buffer(eps, quad_segs=_SEGS)

    def must_region(self, eps: float) -> Region:
        """A- = (A u E), opened by r - eps, shrunk by eps, cut with A."""
        if self.everywhere:
            return self.asked
        region: Region = self._reached(eps).buffer(-eps, quad_segs=_SEGS)
        region = region.intersection(self.asked)
        return region if self.relaxed is None else region.difference(self.relaxed)

    def corner_region(self, eps: float) -> Region:
        """A less the opening: where the round bit cannot reach, left to a smaller bit or to handwork."""
        if self.everywhere or not self.corners:
            return Polygon()
        left: Region = self.asked.difference(self._reached(eps).buffer(1e-6))
        return left if self.relaxed is None else left.difference(self.relaxed)

    def _reached(self, eps: float) -> Region:
        """(A u E) opened by r - eps, less what a bit of r does not reach.

        Into a corner a bit of r - eps comes further than one of r, by more than eps where it is sharper than 60
        degrees: that tip is taken off. A slot hardly narrower than the bit is kept.
        """
        whole = self._whole()
        region = opened(whole, self.radius - eps)
        if self.radius <= 2 * eps:
            return region
        beyond = shapely.get_parts(region.difference(opened(whole, self.radius - _HAIR).buffer(_HAIR)))
        tips = [p for p in beyond if p.buffer(2 * eps - self.radius).is_empty]
        return region.difference(shapely.union_all(tips)) if tips else region

    def _whole(self) -> Region:
        return self.asked if self.run_out is None else shapely.union(self.asked, self.run_out)


@dataclass(frozen=True, slots=True)
class Target:
    """Every demand of a job by setup name, in the order of the job."""

    demands: dict[str, tuple[Demand, ...]]


def opened(region: BaseGeometry, radius: float) -> Region:
    """The part of a region that a disc of that radius can cover from within; the region itself for radius <= 0."""
    if radius <= 0:
        return region
    return region.buffer(-radius, quad_segs=_SEGS).buffer(radius, quad_segs=_SEGS)


def _mirror(region: Region) -> Region:
    return scale(region, yfact=-1.0, origin=(0, 0))
