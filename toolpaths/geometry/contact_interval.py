"""The part of a straight move during which a turning bit covers a point: the base of every swept height."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Mask


@dataclass(frozen=True, slots=True)
class ContactInterval:
    """N pairs of a move and a point. Times run from 0 at the move's start to 1 at its end.

    `first`, `last` (N,): the times at which the disc begins and ceases to cover the point; `covers` (N,):
    whether it ever does (else the two mean nothing). `aside` (N,): distance of the point from the move's line,
    mm in plan. `run` (N,): the move's length in plan, mm. `foot` (N,): how far along the line, mm in plan from
    the start, the axis passes closest. `start_z`, `rise` (N,): height of the tip at the start, and what it gains.
    """

    first: Array
    last: Array
    covers: Mask
    aside: Array
    run: Array
    foot: Array
    start_z: Array
    rise: Array

    def z(self, time: Array) -> Array:
        """Height of the tip (N,) at times (N,), mm."""
        return self.start_z + self.rise * time

    def distance(self, time: Array) -> Array:
        """Distance in plan (N,) of the point from the axis at times (N,), mm."""
        return np.hypot(self.run * time - self.foot, self.aside)

    def time(self, along: Array) -> Array:
        """Times (N,) at places (N,) mm from the foot, held to the stretch."""
        return np.minimum(np.maximum((self.foot + along) / _divisor(self.run), self.first), self.last)


def stretch(start: Array, end: Array, points: Array, radius: float) -> ContactInterval:
    """The stretches of moves `start` to `end` (N, 3) over `points` (N, 2), for a disc of that radius; all mm.

    A move straight up or down has no run in plan: it is taken to stand at its lower end.
    Plane geometry: the disc covers the point while its axis is within half a chord of the foot.
    """
    dx, dy = end[:, 0] - start[:, 0], end[:, 1] - start[:, 1]
    px, py = points[:, 0] - start[:, 0], points[:, 1] - start[:, 1]
    start_z, rise = start[:, 2], end[:, 2] - start[:, 2]
    run = np.hypot(dx, dy)
    upright = run < _NO_RUN
    if upright.any():
        run = np.where(upright, 0.0, run)
        start_z = np.where(upright, np.minimum(start_z, end[:, 2]), start_z)
        rise = np.where(upright, 0.0, rise)
    divisor = _divisor(run)
    ex, ey = dx / divisor, dy / divisor
    foot = px * ex + py * ey
    aside = np.abs(px * ey - py * ex)
    if upright.any():
        foot[upright], aside[upright] = 0.0, np.hypot(px[upright], py[upright])
    half = np.sqrt(np.maximum(radius * radius - aside * aside, 0.0))
    first = np.maximum((foot - half) / divisor, 0.0)
    last = np.minimum((foot + half) / divisor, 1.0)
    covers = (aside <= radius) & (first <= last)
    return ContactInterval(first, last, covers, aside, run, foot, start_z, rise)


_NO_RUN = 1e-12
"""A run in plan shorter than this, mm, is nothing but rounding: dividing by it would make noise of it."""


def _divisor(run: Array) -> Array:
    return np.where(run < _NO_RUN, 1.0, run)
