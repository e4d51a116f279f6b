"""Ways of straight pieces, in plan and height: how long they are, and of as few pieces as they need.

A way is (N, 2) or more columns: x, y, then heights, mm.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from shapely import LineString

from toolpaths.common.arrays import Array

SHORTEST = 0.02
"""Nothing is divided into shorter pieces than that, mm."""
_CHORD = 0.001
"""How far straight pieces may stray from what they stand for, mm."""
_TOO_NEAR = 0.005
"""Places that lie nearer to each other than that are one, mm."""


def distances(way: Array) -> Array:
    """How far each place (N,) lies along the way from its first, in plan, mm."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way[:, :2], axis=0).T))])


def length_of(way: Array) -> float:
    """Of the whole way, in plan, mm."""
    return float(distances(way)[-1])


def followed(heights: Callable[[Array], Array], places: Array) -> Array:
    """The places (N,), and so many more that straight pieces between them stray from the heights by less than `_CHORD`.

    Places and heights in mm. `heights` gives (K, N) at N places: of one way or of several beside each other.
    """
    fresh, found = np.ones(len(places) - 1, dtype=bool), heights(places)
    while np.any(fresh := fresh & (np.diff(places) > 2 * SHORTEST)):
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


def straightened(way: Array) -> Array:
    """The way (N, >= 3) without those places that straight pieces between the others come to within `_CHORD`."""
    gone = distances(way)
    kept = np.zeros(len(way), dtype=bool)
    # What is kept for the one value may lie off the other's straight pieces by as much again.
    for values in (way[:, 1], way[:, 2]):
        line = LineString(np.column_stack([gone, values])).simplify(_CHORD / 2, preserve_topology=False)
        kept |= np.isin(gone, shapely.get_coordinates(line)[:, 0])
    return np.asarray(way[kept])


def spaced(way: Array) -> Array:
    """The way (N, >= 3) without places that lie too near to another for a move: of two the higher stays."""
    near = np.nonzero(np.hypot(*np.diff(way[:, :2], axis=0).T) < _TOO_NEAR)[0]
    lower = np.where(way[near, 2] < way[near + 1, 2], near, near + 1)
    return np.delete(way, lower[(lower > 0) & (lower < len(way) - 1)], axis=0)
