"""Profiles of bits, and the lowest point of each above a point of a ramp.

A bit that goes down a ramp leaves over a point, `aside` mm from the ramp's line, the least of z + profile(rho).
With u the way of its axis past the point's foot, toward the lower side, rho^2 = u^2 + aside^2, and that is least where
profile'(rho) u / rho = steepness. (Derived here, from the first derivative of a convex function.)
Distances in mm; `steepness` is |dz / run|, 0 and more; arrays broadcast.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array

_TURNS = 60
"""Most steps of the search on a corner: by halving alone they come down to the last digit."""
_DONE = 1e-11
"""Radians; the height over a point changes with the square of it."""


def ball(rho: Array, radius: float) -> Array:
    """Height of a ball's underside at distances from its axis, mm: R - sqrt(R^2 - rho^2); R beyond its widest."""
    # As a product, so that no digits are lost where the ball stands almost upright.
    return np.asarray(radius - np.sqrt(np.maximum((radius - rho) * (radius + rho), 0.0)))


def past_on_ball(aside: Array, steepness: Array, radius: float) -> Array:
    """u on a ball: k sqrt(R^2 - aside^2) / sqrt(1 + k^2), k the steepness."""
    half = np.sqrt(np.maximum((radius - aside) * (radius + aside), 0.0))
    return np.asarray(half * (steepness / np.hypot(1.0, steepness)))


def past_on_cone(aside: Array, steepness: Array, spread: float) -> Array:
    """u on a sharp cone that widens by `spread` on each side a mm of height; infinite on ramps as steep as its sides.

    k aside / sqrt(1 - k^2), k = steepness x spread.
    """
    k = np.minimum(np.asarray(steepness) * spread, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        past = k * aside / np.sqrt((1 - k) * (1 + k))
    return np.where(k >= 1, np.inf, past)


def past_on_corner(aside: Array, steepness: Array, flat: float, corner: float) -> Array:
    """u on a rounded corner of radius `corner` around a flat of radius `flat`.

    With rho = flat + corner sin t: tan t = k rho / u, k the steepness, which has no closed form but on the line itself.
    t - atan(k rho / u) rises with t by 1 a radian and more, so that Newton's steps, held between the last two
    places that enclose the root, come down to rounding.
    """
    aside, k = np.broadcast_arrays(np.asarray(aside, dtype=np.float64), np.asarray(steepness, dtype=np.float64))
    out = np.zeros(aside.size)
    # On the level the bit rests on its flat, or stands right over the foot.
    left = np.nonzero(k.ravel() > 0)[0]
    aside, k, shape = aside.ravel()[left], k.ravel()[left], aside.shape
    low = np.arcsin(np.clip((aside - flat) / corner, 0.0, 1.0))
    high = np.full(aside.shape, np.pi / 2)
    turn = np.clip(np.arctan(k), low, high)
    for _ in range(_TURNS):
        rho = flat + corner * np.sin(turn)
        u = np.sqrt(np.maximum((rho - aside) * (rho + aside), 0.0))
        out[left] = u
        off = turn - np.arctan2(k * rho, u)
        on = np.nonzero((np.abs(off) > _DONE) & (high - low > _DONE))[0]
        if not len(on):
            break
        # d/dt of atan(k rho / u) is -k aside^2 rho' / (u (u^2 + k^2 rho^2)).
        with np.errstate(divide="ignore", invalid="ignore"):
            rise = 1.0 + k * aside * aside * corner * np.cos(turn) / (u * (u * u + (k * rho) ** 2))
            step = turn - off / rise
        low, high = np.where(off < 0, turn, low), np.where(off < 0, high, turn)
        turn = np.where((step > low) & (step < high), step, (low + high) / 2)
        left, aside, k, low, high, turn = left[on], aside[on], k[on], low[on], high[on], turn[on]
    return out.reshape(shape)
