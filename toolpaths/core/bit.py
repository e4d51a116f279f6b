"""The base of all bits: what turns in the collet. Shapes live in `toolpaths/bits/`, one file each."""

from __future__ import annotations

from abc import abstractmethod
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from toolpaths.core.model import Typed
from toolpaths.core.units import Depth, Size

Array = NDArray[np.float64]


class Bit(Typed):
    """A bit, as written in the rack or in a job. Lengths mm. Heights are above the bit's lowest point."""

    kind: ClassVar[str] = ""

    shape: str
    diameter: Size = Field(description="Widest cutting diameter.")
    flutes: int = Field(default=2, ge=1, le=8, description="Cutting edges.")
    cutting_length: Size = Field(description="Length of the cutting edges, from the tip up.")
    shank: Size = Field(description="Diameter of the shank.")
    stickout: Size = Field(description="From the collet nut's face to the tip.")
    material: Literal["carbide", "HSS"] = "carbide"
    max_rpm: int | None = Field(default=None, gt=0, description="Highest speed its maker allows.")
    spiral: Literal["up", "down", "compression", "straight"] = "straight"
    centre_cutting: bool = Field(default=True, description="Whether it may go straight down into wood.")
    measured_diameter: Size | None = Field(default=None, description="Width of a test slot, where one was cut.")
    runout: Depth | None = None

    @property
    def cut_diameter(self) -> float:
        """The diameter it cuts, mm: measured where known."""
        return self.diameter if self.measured_diameter is None else self.measured_diameter

    @property
    def radius(self) -> float:
        """Half of what it cuts, mm: the widest reach of the cutting edges."""
        return self.cut_diameter / 2

    @abstractmethod
    def height_at(self, radius: Array) -> Array:
        """Height of the cutting surface at a distance from the axis, mm; infinite beyond the bit. Any shape."""

    @abstractmethod
    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts at a depth, mm."""

    @abstractmethod
    def swept_height(self, start: Array, end: Array, points: Array) -> Array:
        """Exact height that straight moves leave at points, mm; infinite where a move does not reach.

        `start`, `end`: (N, 3) tip positions, mm; `points`: (N, 2). One move for each point. Returns (N,).
        """
