"""How low a bit may come over a curved surface, and which rows leave ridges no higher than asked.

A height comes from trying places all over the bit's end against the surface (a dilation), never from the formula by
which the surface is judged.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString

from toolpaths.common.arrays import Array
from toolpaths.instrument.back_surfaces import BackSurface
from toolpaths.job.bit import Bit

HIGHER = 0.004
"""Added to every height, mm: places are tried at intervals, and between them the surface may stand so much higher."""
_RINGS, _TURNS = 10, 72
_CHORD = 0.001
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


def touching(surface: BackSurface, bit: Bit, x: Array, y: Array, *, flat: bool = False) -> Array:
    """The lowest height (N,) of a bit's tip at x, y (N,) at which no place of its end is below the surface, mm.

    `flat`: as if the bit were flat, which is the highest that the surface stands under it.
    """
    rho = np.linspace(0.0, bit.radius, _RINGS + 1)
    turn = np.arange(_TURNS) * 2 * math.pi / _TURNS
    end = np.zeros_like(rho) if flat else bit.height_at(rho)
    u = np.concatenate([[0.0], np.outer(rho[1:], np.cos(turn)).ravel()])
    v = np.concatenate([[0.0], np.outer(rho[1:], np.sin(turn)).ravel()])
    high = np.concatenate([end[:1], np.repeat(end[1:], _TURNS)])
    under = surface.height(x[:, None] + u, y[:, None] + v) - high
    return np.asarray(under.max(axis=1))


def straightened(row: Array) -> Array:
    """The row without the places that straight pieces between the others come to within `_CHORD`."""
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(row[:, :2], axis=0).T))])
    kept = np.zeros(len(row), dtype=bool)
    for values in (row[:, 1], row[:, 2]):
        line = LineString(np.column_stack([gone, values])).simplify(_CHORD, preserve_topology=False)
        kept |= np.isin(gone, shapely.get_coordinates(line)[:, 0])
    return np.asarray(row[kept])
