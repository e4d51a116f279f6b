"""A bit with a conical point, sharp or with a small flat tip: the deeper it goes, the wider it cuts."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import ClassVar, Literal

import numpy as np
from pydantic import Field

from toolpaths.common.arrays import Array
from toolpaths.common.input_model import Positive
from toolpaths.common.units import Depth, Units
from toolpaths.job.bit import Bit
from toolpaths.job.bit_profiles import past_on_cone


class Vee(Bit):
    """A V-bit. `diameter` is the widest that it cuts, at the rim of the cone; the shank begins above the rim.

    It takes no `measured_diameter`: the width of a test slot says how deep a V-bit was set, not how wide it is.
    Its cutting edges must reach the rim, so `cutting_length` is at least the cone's height.
    """

    widens: ClassVar[str] = "a V-bit"

    shape: Literal["vee"]
    angle: Positive = Field(ge=10, le=170, description="Included angle of the point, degrees.")
    tip: Depth = Field(default=0.0, description="Diameter of the flat at the tip.")

    @property
    def rim(self) -> tuple[float, str]:
        """The cone."""
        return (self.cut_diameter - self.tip) / 2 / self.spread, "the cone of this angle and diameter"

    def impossible(self, units: Units) -> str:
        """A flat as wide as the bit."""
        return "" if self.tip < self.diameter else "the flat of the tip must be smaller than the diameter"

    @property
    def spread(self) -> float:
        """How far the cone widens on each side a mm of height: tan(angle / 2)."""
        return math.tan(math.radians(self.angle) / 2)

    @property
    def level_radius(self) -> float:
        """That of its tip, mm."""
        return self.tip / 2

    def detail(self, length: Callable[[float], str]) -> str:
        """Its angle."""
        return f"{self.angle:g} degrees"

    def spoils(self, rim: str) -> str:
        """Why it leaves no level floor with upright walls."""
        return "is not a flat bit"

    def profile(self, rho: Array) -> Array:
        """0 over the tip's flat, then the cone."""
        return np.maximum(rho - self.tip / 2, 0.0) / self.spread

    def past(self, aside: Array, steepness: Array) -> Array:
        """Where the cone rises as the ramp falls, but never within the tip's flat."""
        flat = np.sqrt(np.maximum((self.tip / 2) ** 2 - aside * aside, 0.0))
        return np.where(steepness > 0, np.maximum(past_on_cone(aside, steepness, self.spread), flat), 0.0)

    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts, mm: 2 d tan(a/2) + tip, up to its diameter; 0 at no depth."""
        return min(2 * depth * self.spread + self.tip, self.cut_diameter) if depth > 0 else 0.0
