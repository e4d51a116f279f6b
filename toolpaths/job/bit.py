"""The base class of all bits. The shapes are in `job/bits/`, one file each."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable
from typing import ClassVar, Literal, Self

import numpy as np
from pydantic import Field, ValidationInfo, model_validator

from toolpaths.common.arrays import Array
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import BitSize, Depth, Units, show, units_of
from toolpaths.geometry.contact_interval import stretch

_SPARE = 0.05
"""How far, mm, a rim may stand above a cutting length that was written down rounded."""


class Bit(InputModel):
    """A bit, as written in the rack or in a job. Lengths mm. Heights are above the bit's lowest point."""

    widens: ClassVar[str] = ""
    """What a shape is called whose width depends on the depth, so that no test slot measures it; else empty."""

    shape: str = Field(description="Shape of the bit: `flat`, `vee`, `ball`, `bull`, `tapered ball` or `drill`.")
    diameter: BitSize = Field(description="Widest diameter that it cuts.")
    flutes: int = Field(default=2, ge=1, le=8, description="Number of cutting edges.")
    cutting_length: BitSize = Field(description="Length of the cutting edges, from the tip up.")
    shank: BitSize = Field(description="Diameter of the shank.")
    stickout: BitSize = Field(description="How far it stands out, from the collet nut's face to the tip.")
    material: Literal["carbide", "HSS"] = Field(default="carbide", description="Material of its cutting edges.")
    max_rpm: int | None = Field(default=None, gt=0, description="Highest speed that its maker allows, rpm.")
    spiral: Literal["up", "down", "compression", "straight"] = Field(
        default="straight", description="Direction in which its flutes carry the chips."
    )
    centre_cutting: bool = Field(default=True, description="Whether it can go straight down into wood.")
    measured_diameter: BitSize | None = Field(
        default=None, description="Width of a test slot that it has cut, as measured."
    )
    runout: Depth | None = Field(default=None, description="How far it wobbles itself; the machine's runout if absent.")

    @model_validator(mode="after")
    def _possible(self, info: ValidationInfo) -> Self:
        units = units_of(info)
        if self.widens and self.measured_diameter is not None:
            raise ValueError(
                f"{self.widens} cannot have a measured_diameter, because its width depends on the depth; "
                "touch off again, or correct its tip or angle"
            )
        if fault := self.impossible(units):
            raise ValueError(fault)
        height, what = self.rim
        if self.cutting_length < height - _SPARE:
            raise ValueError(
                f"{what} is {show(height, units)} high, and the cutting edges must reach its rim; "
                "give a longer cutting_length or a smaller diameter"
            )
        return self

    @property
    def rim(self) -> tuple[float, str]:
        """(height of the widest place above the tip in mm, what is so high in words): the cutting edges reach it."""
        return 0.0, ""

    def impossible(self, units: Units) -> str:
        """Why there is no bit of these sizes, in words; empty where there is."""
        return ""

    @property
    def cut_diameter(self) -> float:
        """The diameter it cuts, mm: measured where known."""
        return self.diameter if self.measured_diameter is None else self.measured_diameter

    @property
    def radius(self) -> float:
        """Half of what it cuts, mm: the widest reach of the cutting edges."""
        return self.cut_diameter / 2

    @property
    def level_radius(self) -> float:
        """Radius of the level part of its end, mm: 0 for a pointed or round one."""
        return 0.0

    @property
    def is_pointed(self) -> bool:
        """Whether it is narrow at its tip: at a fiftieth of its diameter, less than a quarter as wide."""
        return self.width_at(self.diameter / 50) < self.diameter / 4

    @property
    def working_diameter(self) -> float:
        """The diameter that its chips and the depth of its passes are judged by, mm: its own.

        For a pointed one, which cuts on a narrow part of its edges, the mean of tip and widest.
        Common practice, no source.
        """
        if not self.is_pointed:
            return self.diameter
        return self._mean_diameter

    @property
    def weak_diameter(self) -> float:
        """The diameter where it breaks first, mm, which says how thin a bit it is: its own."""
        return self.diameter

    @property
    def stiff_diameter(self) -> float:
        """Diameter of a round bar that bends about as far as the bit does, without allowance for flutes, mm."""
        return self._mean_diameter if self.is_pointed else self.cut_diameter

    @property
    def _mean_diameter(self) -> float:
        # A bit is 0 wide at depth 0, whatever its tip: a micrometre below is where the tip shows.
        return (self.width_at(0.001) + self.diameter) / 2

    def widening(self, runout: float) -> float:
        """How much wider than itself it cuts, mm, in a spindle of that runout (total reading) unless it has its own.

        0 where its diameter was measured in a test slot, which was that much wider already. Elementary geometry: an
        axis that is half the total reading off turns every edge so much farther out, at any height of any shape.
        """
        if self.measured_diameter is not None:
            return 0.0
        return runout if self.runout is None else self.runout

    def detail(self, length: Callable[[float], str]) -> str:
        """What its shape has beside a diameter, in words; empty for a plain one. `length` writes a length in mm."""
        return ""

    @abstractmethod
    def spoils(self, rim: str) -> str:
        """Why it leaves no level floor with upright walls, as the end of a sentence; empty for a flat bit.

        `rim`: how high its rim stands above its tip, as text.
        """

    @abstractmethod
    def profile(self, rho: Array) -> Array:
        """Height of the cutting surface at distances from the axis up to the bit's radius, any shape, mm.

        Beyond the radius it may go on, or stay at the rim's height; see `height_at`. It never falls outwards and
        is convex, which the exact swept height rests on.
        """

    @abstractmethod
    def past(self, aside: Array, steepness: Array) -> Array:
        """How far past the foot, toward its lower side, a ramp's axis is when the bit is lowest over a point, mm.

        `aside`: distance of the point from the ramp's line in plan, at most the radius; `steepness`: |dz / run|, 0
        and more; arrays that broadcast. It is where profile'(rho) u / rho = steepness, u being the way past the foot
        and rho^2 = u^2 + aside^2; what lies beyond the rim, or at infinity, means the rim.
        """

    @abstractmethod
    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts at a depth, mm."""

    def height_at(self, radius: Array) -> Array:
        """Height of the cutting surface at a distance from the axis, mm; infinite beyond the bit. Any shape."""
        rho = np.asarray(radius, dtype=np.float64)
        return np.where(rho <= self.radius, self.profile(rho), np.inf)

    def swept_height(self, start: Array, end: Array, points: Array) -> Array:
        """Exact height that straight moves leave at points, mm; infinite where a move does not reach.

        `start`, `end`: (N, 3) tip positions, mm; `points`: (N, 2). One move for each point. Returns (N,).
        Derived here: the height z + profile(rho) over a point is a convex function of time along a move. It is
        least at the place that `past` gives; convexity lets that be held to the stretch that the bit covers.
        """
        s = stretch(start, end, points, self.radius)
        if not np.any(s.rise):
            return np.where(s.covers, s.start_z + self.profile(s.distance(s.time(np.zeros_like(s.run)))), np.inf)
        with np.errstate(divide="ignore", invalid="ignore"):
            steepness = np.where(s.rise == 0, 0.0, np.abs(s.rise) / s.run)
        past = self.past(np.minimum(s.aside, self.radius), steepness)
        time = s.time(np.where(s.rise == 0, 0.0, -np.sign(s.rise) * past))
        return np.where(s.covers, s.z(time) + self.profile(s.distance(time)), np.inf)
