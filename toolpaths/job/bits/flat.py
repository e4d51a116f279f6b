"""A bit with a flat end: it leaves a level floor and an upright wall."""

from __future__ import annotations

from typing import Literal

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.contact_interval import stretch
from toolpaths.job.bit import Bit


class Flat(Bit):
    """A flat bit: a cylinder that turns. It cuts one width at every depth."""

    shape: Literal["flat"]

    @property
    def level_radius(self) -> float:
        """All of it, mm."""
        return self.radius

    def spoils(self, rim: str) -> str:
        """Why it leaves no level floor with upright walls."""
        return ""

    def profile(self, rho: Array) -> Array:
        """0 up to the radius."""
        return np.zeros(np.shape(rho))

    def past(self, aside: Array, steepness: Array) -> Array:
        """The rim on a ramp of any steepness."""
        return np.broadcast_to(np.where(np.asarray(steepness) > 0, np.inf, 0.0), np.broadcast(aside, steepness).shape)

    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts, mm: its diameter at any depth above 0, else 0."""
        return self.cut_diameter if depth > 0 else 0.0

    def swept_height(self, start: Array, end: Array, points: Array) -> Array:
        """Exact height that straight moves leave at points, mm; infinite where a move does not reach.

        `start`, `end`: (N, 3) tip positions, mm; `points`: (N, 2). One move for each point. Returns (N,).
        The height is linear along a move, so it is least at an end of the stretch in which the disc covers the
        point: the lower end. (Derived here; not at the point's own projection.)
        """
        s = stretch(start, end, points, self.radius)
        return np.where(s.covers, np.minimum(s.z(s.first), s.z(s.last)), np.inf)
