"""A bit with a round end: it leaves rounded floors, and follows curved ones."""

from __future__ import annotations

import math
from typing import Literal

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit
from toolpaths.job.bit_profiles import ball, past_on_ball


class Ball(Bit):
    """A ball bit: half a ball as wide as the bit, and upright sides above it. `cutting_length` is at least its radius.

    A test slot that tells its `measured_diameter` is deeper than the radius.
    """

    shape: Literal["ball"]

    @property
    def rim(self) -> tuple[float, str]:
        """The half ball."""
        return self.radius, "the half ball of this diameter"

    def spoils(self, rim: str) -> str:
        """Why it leaves no level floor with upright walls."""
        return f"is a ball bit: its floor is round and rises {rim} up to a wall"

    def profile(self, rho: Array) -> Array:
        """R - sqrt(R^2 - rho^2)."""
        return ball(rho, self.radius)

    def past(self, aside: Array, steepness: Array) -> Array:
        """Where the ball is as steep as the ramp."""
        return past_on_ball(aside, steepness, self.radius)

    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts, mm: 2 sqrt(2 R d - d^2), its diameter from a depth of R on; 0 at no depth."""
        d = min(depth, self.radius)
        return 2 * math.sqrt(d * (2 * self.radius - d)) if d > 0 else 0.0
