"""A bit with a small ball at its tip and sides that open upwards: fine at its tip, stiff above it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field

from toolpaths.common.arrays import Array
from toolpaths.common.input_model import Positive
from toolpaths.common.units import Size, Units
from toolpaths.job.bit import Bit
from toolpaths.job.bit_profiles import ball, past_on_ball, past_on_cone


class TaperedBall(Bit):
    """A tapered ball bit: a ball of diameter `tip`, then a cone that touches it, up to `diameter` at the rim.

    `angle` is the included angle of the cone: twice the angle on a side that boxes of such bits often give.
    It takes no `measured_diameter`, because its width depends on the depth.
    """

    widens: ClassVar[str] = "a tapered ball bit"

    shape: Literal["tapered ball"]
    tip: Size = Field(description="Diameter of the ball at the tip.")
    angle: Positive = Field(ge=1, le=120, description="Included angle of the conical sides, degrees.")

    @property
    def rim(self) -> tuple[float, str]:
        """The ball as far as the cone touches it, and the cone."""
        height = self.touch_height + (self.radius - self.touch_radius) / self.spread
        return height, "the taper of this tip, angle and diameter"

    def impossible(self, units: Units) -> str:
        """A tip as wide as the bit."""
        return "" if self.diameter > self.tip else "the ball at the tip must be smaller than the diameter"

    @property
    def spread(self) -> float:
        """How far the cone widens on each side a mm of height: tan(angle / 2)."""
        return math.tan(math.radians(self.angle) / 2)

    @property
    def touch_radius(self) -> float:
        """Distance from the axis at which ball and cone touch, mm: r cos(angle / 2)."""
        return self.tip / 2 * math.cos(math.radians(self.angle) / 2)

    @property
    def touch_height(self) -> float:
        """Height above the tip at which ball and cone touch, mm: r (1 - sin(angle / 2))."""
        return self.tip / 2 * (1 - math.sin(math.radians(self.angle) / 2))

    @property
    def working_diameter(self) -> float:
        """That of the ball at its tip, mm: its chips and its passes are those of so small a bit. Common practice."""
        return self.tip

    @property
    def weak_diameter(self) -> float:
        """That of the ball at its tip, mm."""
        return self.tip

    @property
    def stiff_diameter(self) -> float:
        """The mean of tip and widest, mm: rough."""
        return (self.tip + self.diameter) / 2

    @property
    def is_pointed(self) -> bool:
        """It opens its width with depth, however stout its tip."""
        return True

    def detail(self, length: Callable[[float], str]) -> str:
        """Its tip and its angle."""
        return f"tip {length(self.tip)}, {self.angle:g} degrees"

    def spoils(self, rim: str) -> str:
        """Why it leaves no level floor with upright walls."""
        return "is a tapered ball bit: its floor is round and its walls slope"

    def profile(self, rho: Array) -> Array:
        """The ball as far as the cone touches it, then the cone."""
        cone = self.touch_height + (rho - self.touch_radius) / self.spread
        return np.where(rho <= self.touch_radius, ball(rho, self.tip / 2), cone)

    def past(self, aside: Array, steepness: Array) -> Array:
        """On the ball where it is as steep as the ramp there, else on the cone."""
        low = past_on_ball(np.minimum(aside, self.tip / 2), steepness, self.tip / 2)
        on_ball = low * low + aside * aside <= self.touch_radius**2
        return np.where(on_ball, low, past_on_cone(aside, steepness, self.spread))

    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts, mm: the ball's, then 2 (d - touch) tan(a/2) more, up to its diameter."""
        if depth <= 0:
            return 0.0
        if depth <= self.touch_height:
            return 2 * math.sqrt(depth * (self.tip - depth))
        return min(2 * (self.touch_radius + (depth - self.touch_height) * self.spread), self.diameter)
