"""How low a bit may come over a curved surface, and which rows leave ridges no higher than asked.

A height comes from trying places all over the bit's end against the surface (a dilation), never from the formula by
which the surface is judged.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.instrument.back_surfaces import BackSurface
from toolpaths.job.bit import Bit

HIGHER = 0.004
"""Added to every height, mm: between its places a row is straight, and the surface may stand so much higher there."""
_AFT, _ACROSS, _HALVINGS = 0.1, 0.25, 7
"""How far apart places are tried first, fore and aft and across, as parts of a bit's radius, and how often that is
halved. Where the outline bends, the highest of several sections may be any of them."""
LOOKED_AT = 161
"""Places across a section at which rows are tried."""


@dataclass(frozen=True, slots=True)
class Section:
    """One section while rows are chosen: the tip's lowest heights at places `across` it, as far as `outermost`.

    `places`, `floor`: where the surface must be reached, and its heights there. mm.
    """

    bit: Bit
    outermost: float
    across: Array
    tip: Array
    places: Array
    floor: Array

    def left(self, sides: Array) -> float:
        """The highest that rows at these parts of the outermost place leave above the surface, mm."""
        y = sides * self.outermost
        tips = np.interp(y, self.across, self.tip)
        heights = tips[:, None] + self.bit.height_at(np.abs(self.places - y[:, None]))
        return float((heights.min(axis=0) - self.floor).max())


def sections_at(surface: BackSurface, bit: Bit, x: Array, outermost: Array, wide: Array) -> list[Section]:
    """The sections at x (K,). `outermost` (K,): how far the bit's middle may go; `wide` (K,): what is to be reached."""
    across = outermost[:, None] * np.linspace(-1.0, 1.0, LOOKED_AT)
    tips = touching(surface, bit, np.repeat(x, LOOKED_AT), across.ravel()).reshape(across.shape)
    places = wide[:, None] * np.linspace(-1.0, 1.0, 2 * LOOKED_AT)
    floors = surface.height(np.broadcast_to(x[:, None], places.shape), places)
    rows = zip(outermost.tolist(), across, tips, places, floors, strict=True)
    return [Section(bit, *row) for row in rows]


def around(count: int) -> Array:
    """Parts (N,) of the outermost place, from side to side, evenly around a circle."""
    return np.sin(np.linspace(-math.pi / 2, math.pi / 2, count))


def touching(surface: BackSurface, bit: Bit, x: Array, y: Array) -> Array:
    """The lowest height (N,) of a bit's tip at x, y (N,) at which no place of its end is below the surface, mm.

    For each place fore and aft the highest across is looked for, and of these the highest. One after the other, since
    where two faces meet in an edge a search in both ways at once stops on that edge.
    """

    def under(aft: Array) -> Array:
        u, chord = bit.radius * np.sin(aft * math.pi / 2), bit.radius * np.cos(aft * math.pi / 2)

        height = surface.across((x[:, None] + u)[..., None])

        def across(part: Array) -> Array:
            v = chord[..., None] * part
            rho = np.minimum(np.hypot(u[..., None], v), bit.radius)
            return height(y[:, None, None] + v) - bit.height_at(rho)

        return _highest(across, aft.shape, (-1.0, 1.0), _ACROSS)

    # In a hollow along the neck a level end meets the back before or behind its middle: each has a highest of its own.
    return np.maximum(*(_highest(under, x.shape, ends, _AFT) for ends in ((-1.0, 0.0), (0.0, 1.0))))


def _highest(value: Callable[[Array], Array], shape: tuple[int, ...], ends: tuple[float, float], apart: float) -> Array:
    """The greatest of a function between two numbers, for each of a shape: some places, then closer to the best."""
    (low, high), reach = ends, apart
    places = np.linspace(low, high, 1 + round((high - low) / apart))
    tried = np.broadcast_to(places, (*shape, len(places)))
    found = value(tried)
    best = found.argmax(axis=-1)[..., None]
    at, top = np.take_along_axis(tried, best, axis=-1), np.take_along_axis(found, best, axis=-1)
    for _ in range(_HALVINGS):
        reach /= 2
        beside = np.clip(at + reach * np.array([-1.0, 1.0]), low, high)
        places, heights = np.concatenate([at, beside], axis=-1), np.concatenate([top, value(beside)], axis=-1)
        best = heights.argmax(axis=-1)[..., None]
        at, top = np.take_along_axis(places, best, axis=-1), np.take_along_axis(heights, best, axis=-1)
    return np.asarray(top[..., 0])
