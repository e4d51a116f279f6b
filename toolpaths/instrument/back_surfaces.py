"""Surfaces near a neck's finished back, as they are wanted before it is carved: evenly above it, in facets, in kerfs.

Heights are mm above the glue face, so above the blank's underside when it lies on that face. They do not depend on
the sign of y. Closed formulas of the section; the cuts come from another derivation (`features/back_passes.py`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.instrument.necks import (
    SOFT_VEE,
    back_depth,
    depth_across,
    depth_on_centre,
    flatness,
    half_width_at,
    neck_of,
    profile,
)
from toolpaths.job.job import Instrument

STEEPEST = 10.0
"""Slope that stands for all that is steeper, mm a mm: at the neck's edges the back is upright."""
_STEP = 1e-3
_HALVINGS = 50
_RIM = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 25))
"""Places evenly around the inner rim of a flat end, as parts of its radius along the neck."""


class BackSurface(Protocol):
    """A surface over a neck that lies on its glue face."""

    def height(self, x: Array, y: Array) -> Array:
        """Height (N,) at x, y (N,), mm."""

    def across(self, x: Array) -> Callable[[Array], Array]:
        """The heights at x of any shape, as a function of y, whose shape must go with it."""


@dataclass(frozen=True, slots=True)
class NearBack:
    """The finished back with `leave` mm of wood on it. `drop`: the headstock's face below the glue face, mm."""

    instrument: Instrument
    drop: float
    leave: float

    def height(self, x: Array, y: Array) -> Array:
        """Depth of the finished back, and what is left on it."""
        return np.asarray(back_depth(self.instrument, x, y, self.drop) + self.leave)

    def across(self, x: Array) -> Callable[[Array], Array]:
        """What depends on x is found once."""
        depth = depth_across(self.instrument, x, self.drop)
        return lambda y: np.asarray(depth(y) + self.leave)

    def slope(self, x: Array, y: Array) -> Array:
        """Steepness, at most `STEEPEST`."""
        return steepness(self, x, y)

    def mirrored(self) -> NearBack:
        """The same: a section is symmetric."""
        return self


@dataclass(frozen=True, slots=True)
class Faceted:
    """Flat planes along the shaft that touch the section and leave `leave` mm on it: one on top, `planes` a side.

    Their normals lean outwards evenly: by 90 degrees k / (planes + 1). A plane of lean a lies at the section's
    support h(a) = max(z cos a + y sin a), so its height is (h(a) - |y| sin a) / cos a; the facets are the lowest of
    them. For half an ellipse of half width w and depth d over a flat part e, h = e cos a + sqrt(w^2 sin^2 a + d^2
    cos^2 a) (elementary geometry); for straight pieces the greatest over their ends.
    """

    instrument: Instrument
    drop: float
    leave: float
    planes: int

    @property
    def leans(self) -> list[float]:
        """Lean of each plane of a side, radians, the top one first."""
        return [math.pi / 2 * k / (self.planes + 1) for k in range(self.planes + 1)]

    def height(self, x: Array, y: Array) -> Array:
        """The lowest of the planes, and what is left."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
        return self.across(x)(y)

    def across(self, x: Array) -> Callable[[Array], Array]:
        """The supports, which depend on x, are found once."""
        planes = [(self._support(x, lean) / math.cos(lean) + self.leave, math.tan(lean)) for lean in self.leans]

        def lowest(y: Array) -> Array:
            aside, (top, _) = np.abs(y), planes[0]
            out = np.broadcast_to(top, np.broadcast(top, aside).shape)
            for high, fall in planes[1:]:
                out = np.minimum(out, high - aside * fall)
            return np.asarray(out)

        return lowest

    def slope(self, x: Array, y: Array) -> Array:
        """Steepness, at most `STEEPEST`."""
        return steepness(self, x, y)

    def mirrored(self) -> Faceted:
        """The same: a section is symmetric."""
        return self

    def _support(self, x: Array, lean: float) -> Array:
        half, centre = half_width_at(self.instrument, x), depth_on_centre(self.instrument, x, self.drop)
        flat, neck = flatness(self.instrument, x), neck_of(self.instrument)
        s, c = math.sin(lean), math.cos(lean)
        if neck.back == "round":
            return np.asarray(centre * flat * c + np.hypot(half * s, centre * (1 - flat) * c))
        points = SOFT_VEE if neck.back == "soft vee" else neck.back
        ends = [half * w * s + centre * (flat + (1 - flat) * d) * c for w, d in points]
        return np.asarray(np.max(ends, axis=0))


@dataclass(frozen=True, slots=True)
class KerfFloor:
    """The floor of a groove across the shaft at `x`, cut by a flat end of a radius, `leave` mm above the back. mm.

    The inner rim of the end, towards the centreline, touches the back: so high the tip stands. A place is as low as
    the furthest tip that reaches it. `end`: how far the tip goes. Elementary geometry.
    """

    instrument: Instrument
    drop: float
    leave: float
    x: float
    radius: float
    end: float

    def height(self, x: Array, y: Array) -> Array:
        """Height of the furthest tip that reaches a place, and what is left."""
        aside = np.sqrt(np.maximum(self.radius**2 - (np.asarray(x, dtype=np.float64) - self.x) ** 2, 0.0))
        tip = np.minimum(np.abs(y) + aside, self.end)
        return kerf_tip(self.instrument, self.drop, self.x, self.radius, tip) + self.leave

    def slope(self, x: Array, y: Array) -> Array:
        """Steepness, at most `STEEPEST`."""
        return steepness(self, x, y)

    def mirrored(self) -> KerfFloor:
        """The same: a section is symmetric."""
        return self


def kerf_tip(instrument: Instrument, drop: float, x: float, radius: float, tip: Array) -> Array:
    """The highest that the finished back stands under a flat end at x, its middle `tip` (N,) off the centreline, mm."""
    tip = np.asarray(tip, dtype=np.float64)
    along = radius * np.broadcast_to(_RIM.reshape(-1, *[1] * tip.ndim), (len(_RIM), *tip.shape))
    # Where the rim crosses the centreline, the highest of every section.
    across = np.sqrt(radius**2 - np.minimum(tip, radius) ** 2)
    along = np.concatenate([along, across[None], -across[None]])
    inner = np.maximum(tip - np.sqrt(np.maximum(radius**2 - along * along, 0.0)), 0.0)
    return np.asarray(depth_across(instrument, x + along, drop)(inner).max(axis=0))


def part_of_width(instrument: Instrument, part: float) -> float:
    """The part of the half width at which a section is so much of its depth on the centreline deep. By halving."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        deep = float(profile(neck_of(instrument), np.asarray(middle))) >= part
        low, high = (middle, high) if deep else (low, middle)
    return low


def steepness(surface: NearBack | Faceted | KerfFloor, x: Array, y: Array) -> Array:
    """Length of a surface's gradient (N,) by differences, at most `STEEPEST`."""
    x, y = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
    along = surface.height(x + _STEP, y) - surface.height(x - _STEP, y)
    across = surface.height(x, y + _STEP) - surface.height(x, y - _STEP)
    return np.minimum(np.hypot(along, across) / (2 * _STEP), STEEPEST)
