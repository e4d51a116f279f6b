"""A flat bit with rounded corners: it leaves a level floor that runs into its walls with a radius."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

import numpy as np
from pydantic import Field

from toolpaths.common.arrays import Array
from toolpaths.common.units import Size, Units, show
from toolpaths.job.bit import Bit
from toolpaths.job.bit_profiles import ball, past_on_corner


class Bull(Bit):
    """A bull bit: flat in the middle, a quarter circle of radius `corner` around it, upright sides above."""

    shape: Literal["bull"]
    corner: Size = Field(description="Radius of the corner between its flat end and its sides.")

    @property
    def rim(self) -> tuple[float, str]:
        """The quarter circle."""
        return self.corner, "the corner of this radius"

    def impossible(self, units: Units) -> str:
        """A corner that leaves no flat."""
        if self.corner < self.radius - 1e-9:
            return ""
        return (
            f"a corner radius of {show(self.corner, units)} leaves no flat on a bit of "
            f"{show(self.cut_diameter, units)}; give a smaller corner, or `shape: ball`"
        )

    @property
    def level_radius(self) -> float:
        """Radius of the flat of its end, mm."""
        return self.radius - self.corner

    def detail(self, length: Callable[[float], str]) -> str:
        """Its corner."""
        return f"corner radius {length(self.corner)}"

    def spoils(self, rim: str) -> str:
        """Why it leaves no level floor with upright walls."""
        return f"is a bull bit: it leaves a corner of {rim} radius at the foot of every wall"

    def profile(self, rho: Array) -> Array:
        """0 over the flat, then c - sqrt(c^2 - (rho - flat)^2)."""
        return ball(np.maximum(rho - self.level_radius, 0.0), self.corner)

    def past(self, aside: Array, steepness: Array) -> Array:
        """Where the corner is as steep, along the ramp, as the ramp."""
        return past_on_corner(aside, steepness, self.level_radius, self.corner)

    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts, mm: flat + 2 sqrt(2 c d - d^2), its diameter from a depth of c on."""
        d = min(depth, self.corner)
        return 2 * (self.level_radius + math.sqrt(d * (2 * self.corner - d))) if d > 0 else 0.0
