"""How low a bit may come over a curved surface, and which rows leave ridges no higher than asked.

A height comes from trying places all over the bit's end against the surface (a dilation), never from the formula by
which the surface is judged.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import shapely
from shapely import LineString

from toolpaths.common.arrays import Array
from toolpaths.instrument.back_surfaces import BackSurface
from toolpaths.job.bit import Bit

HIGHER = 0.004
"""Added to every height, mm: between its places a row is straight, and the surface may stand so much higher there."""
_RINGS, _TURNS, _HALVINGS = 6, 36, 6
_CHORD = 0.001
_SHORTEST = 0.02
"""Nothing is divided into shorter pieces than that, mm."""
LOOKED_AT = 161
"""Places across a section at which rows are tried."""


class Section:
    """One section at x while rows are chosen: how low the bit may come across it, as far as `outermost` to each side.

    `wide`: how far from the centreline the surface must be reached, mm.
    """

    def __init__(self, surface: BackSurface, bit: Bit, x: float, outermost: float, wide: float) -> None:

        self.bit, self.outermost = bit, outermost
        self.across = np.linspace(-outermost, outermost, LOOKED_AT)
        self.tip = touching(surface, bit, np.full(LOOKED_AT, x), self.across)
        self.places = np.linspace(-wide, wide, 2 * LOOKED_AT)
        self.floor = surface.height(np.full(len(self.places), x), self.places)

    def left(self, sides: Array) -> float:
        """The highest that rows at these parts of the outermost place leave above the surface, mm."""
        y = sides * self.outermost
        tips = np.interp(y, self.across, self.tip)
        heights = tips[:, None] + self.bit.height_at(np.abs(self.places - y[:, None]))
        return float((heights.min(axis=0) - self.floor).max())


def around(count: int) -> Array:
    """Parts (N,) of the outermost place, from side to side, evenly around a circle."""
    return np.sin(np.linspace(-math.pi / 2, math.pi / 2, count))


def touching(surface: BackSurface, bit: Bit, x: Array, y: Array) -> Array:
    """The lowest height (N,) of a bit's tip at x, y (N,) at which no place of its end is below the surface, mm.

    Rings and turns are tried first; from the best of each quarter on, ever closer to it.
    """
    turn, around = np.meshgrid(np.arange(_TURNS) * 2 * math.pi / _TURNS, np.linspace(0.0, math.pi / 2, _RINGS + 1))
    at = (x[:, None, None], y[:, None, None])
    tried = _tips(surface, bit, at, around[None], turn[None]).reshape(len(x), -1)
    # Of each quarter (4, M) the places of its own.
    own = (turn.ravel() // (math.pi / 2)).astype(int) == np.arange(4)[:, None]
    best = np.where(own, tried[:, None, :], -np.inf).argmax(axis=2)
    ring, way = around.ravel()[best], turn.ravel()[best]
    out = tried.max(axis=1)
    u, v = (a.ravel() for a in np.meshgrid([-1.0, 0.0, 1.0], [-1.0, 0.0, 1.0]))
    for k in range(1, _HALVINGS + 1):
        rings = np.clip(ring[..., None] + u * math.pi / 2 / _RINGS / 2**k, 0.0, math.pi / 2)
        ways = way[..., None] + v * 2 * math.pi / _TURNS / 2**k
        near = _tips(surface, bit, at, rings, ways)
        chosen = near.argmax(axis=2)[..., None]
        ring, way = (np.take_along_axis(a, chosen, axis=2)[..., 0] for a in (rings, ways))
        out = np.maximum(out, near.max(axis=(1, 2)))
    return np.asarray(out)


def followed(heights: Callable[[Array], Array], places: Array) -> Array:
    """The places (N,), and so many more that straight pieces between them stray from the heights by less than `_CHORD`.

    `heights` gives (K, N) at N places, mm: of one way or of several beside each other.
    """
    fresh, found = np.ones(len(places) - 1, dtype=bool), heights(places)
    while np.any(fresh := fresh & (np.diff(places) > 2 * _SHORTEST)):
        middles = (places[:-1] + places[1:])[fresh] / 2
        high = heights(middles)
        straight = (found[:, :-1] + found[:, 1:])[:, fresh] / 2
        bent = np.abs(high - straight).max(axis=0) > _CHORD / 2
        # The halves of what is bent are looked at next.
        at = np.nonzero(fresh)[0][bent] + 1
        places, found = np.insert(places, at, middles[bent]), np.insert(found, at, high[:, bent], axis=1)
        fresh = np.zeros(len(places) - 1, dtype=bool)
        new = at + np.arange(len(at))
        fresh[new - 1] = fresh[new] = True
    return places


def straightened(row: Array) -> Array:
    """The row without the places that straight pieces between the others come to within `_CHORD`."""
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(row[:, :2], axis=0).T))])
    kept = np.zeros(len(row), dtype=bool)
    # What is kept for the one value may lie off the other's straight pieces by as much again.
    for values in (row[:, 1], row[:, 2]):
        line = LineString(np.column_stack([gone, values])).simplify(_CHORD / 2, preserve_topology=False)
        kept |= np.isin(gone, shapely.get_coordinates(line)[:, 0])
    return np.asarray(row[kept])


def _tips(surface: BackSurface, bit: Bit, at: tuple[Array, Array], ring: Array, way: Array) -> Array:
    """How high the tip stands where places of its end meet the surface: at `ring`, radians up a ball, and at `way`."""
    rho = bit.radius * np.sin(ring)
    x, y = at[0] + rho * np.cos(way), at[1] + rho * np.sin(way)
    return np.asarray(surface.height(x, y) - bit.height_at(np.broadcast_to(rho, x.shape)))
