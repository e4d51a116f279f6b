"""A bit that only goes straight down: a conical point, and sides that do not cut."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

from pydantic import Field

from toolpaths.common.arrays import Array
from toolpaths.common.input_model import Positive
from toolpaths.common.units import Units
from toolpaths.job.bit import Bit
from toolpaths.job.bit_profiles import past_on_cone


class Drill(Bit):
    """A drill, for bores of its own diameter. `angle` is that of its point, which goes deeper than the hole counts."""

    shape: Literal["drill"]
    angle: Positive = Field(default=118.0, ge=30, le=170, description="Included angle of the point, degrees.")

    @property
    def rim(self) -> tuple[float, str]:
        """The point: R / tan(angle / 2) high."""
        return self.radius / self.spread, "the point of this angle and diameter"

    def impossible(self, units: Units) -> str:
        """A drill that does not cut at its centre."""
        return "" if self.centre_cutting else "a drill cuts at its centre, or it is none; leave centre_cutting out"

    @property
    def spread(self) -> float:
        """How far the point widens on each side a mm of height: tan(angle / 2)."""
        return math.tan(math.radians(self.angle) / 2)

    @property
    def is_pointed(self) -> bool:
        """No: its point never cuts a line, and its whole diameter does the work."""
        return False

    def detail(self, length: Callable[[float], str]) -> str:
        """The angle of its point."""
        return f"{self.angle:g} degrees"

    def spoils(self, rim: str) -> str:
        """Why it leaves no level floor with upright walls."""
        return "is a drill: it only goes straight down, in bores of its own diameter"

    def profile(self, rho: Array) -> Array:
        """The cone of its point."""
        return rho / self.spread

    def past(self, aside: Array, steepness: Array) -> Array:
        """Where its point rises as the ramp falls."""
        return past_on_cone(aside, steepness, self.spread)

    def width_at(self, depth: float) -> float:
        """Width of the hole that it leaves, mm: 2 d tan(a/2), up to its diameter; 0 at no depth."""
        return min(2 * depth * self.spread, self.cut_diameter) if depth > 0 else 0.0
