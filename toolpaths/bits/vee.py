"""A bit with a conical point, sharp or with a small flat tip: the deeper it goes, the wider it cuts."""

from __future__ import annotations

import math
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationInfo, model_validator

from toolpaths.core.bit import Bit
from toolpaths.core.model import Positive
from toolpaths.core.stretch import stretch
from toolpaths.core.units import Depth, Units, show

Array = NDArray[np.float64]

_SPARE = 0.05
"""How far, mm, the cone may stand above a cutting length that was written down rounded."""


class Vee(Bit):
    """A V-bit. `diameter` is the widest that it cuts, at the rim of the cone; the shank begins above the rim.

    It takes no `measured_diameter`: the width of a test slot says how deep a V-bit was set, not how wide it is.
    Its cutting edges must reach the rim, so `cutting_length` is at least the cone's height.
    """

    kind: ClassVar[str] = "vee"

    shape: Literal["vee"]
    angle: Positive = Field(ge=10, le=170, description="Included angle of the point, degrees.")
    tip: Depth = Field(default=0.0, description="Diameter of the flat at the tip.")

    @model_validator(mode="after")
    def _possible(self, info: ValidationInfo) -> Vee:
        units: Units = (info.context or {}).get("units", "mm")
        if self.measured_diameter is not None:
            raise ValueError(
                "a V-bit takes no measured_diameter, because its width depends on the depth; "
                "touch off again, or correct its tip or angle"
            )
        if self.tip >= self.diameter:
            raise ValueError("the flat of the tip must be smaller than the diameter")
        if self.cutting_length < self.cone_height - _SPARE:
            raise ValueError(
                f"the cone of this angle and diameter is {show(self.cone_height, units)} high, "
                "and the cutting edges must reach its rim; give a longer cutting_length or a smaller diameter"
            )
        return self

    @property
    def spread(self) -> float:
        """How far the cone widens on each side a mm of height: tan(angle / 2)."""
        return math.tan(math.radians(self.angle) / 2)

    @property
    def cone_height(self) -> float:
        """Height of the rim above the tip, mm."""
        return (self.cut_diameter - self.tip) / 2 / self.spread

    def height_at(self, radius: Array) -> Array:
        """Height of the cone at distances from the axis, any shape, mm; infinite beyond the rim."""
        rho = np.asarray(radius, dtype=np.float64)
        return np.where(rho <= self.radius, self._cone(rho), np.inf)

    def width_at(self, depth: float) -> float:
        """Width of the line that it cuts, mm: 2 d tan(a/2) + tip, up to its diameter; 0 at no depth."""
        return min(2 * depth * self.spread + self.tip, self.cut_diameter) if depth > 0 else 0.0

    def swept_height(self, start: Array, end: Array, points: Array) -> Array:
        """Exact height that straight moves leave at points, mm; infinite where a move does not reach.

        `start`, `end`: (N, 3) tip positions, mm; `points`: (N, 2). One move for each point. Returns (N,).
        Derived here: along a move the height of the cone above the point is z + max(0, rho - tip/2) / tan(a/2),
        a convex function of time. Past the foot, on the side where the tip is lower, it falls while the tip's
        flat is over the point, and then as long as u / rho < |slope| tan(a/2), u being the way past the foot:
        u = k aside / sqrt(1 - k^2), k = |slope| tan(a/2). Where k >= 1 the move is steeper than the cone and
        the least is at the lower end. Convexity lets the place be held to the stretch that the rim covers.
        """
        s = stretch(start, end, points, self.radius)
        flat = self.tip / 2
        with np.errstate(divide="ignore", invalid="ignore"):
            k = np.minimum(np.abs(s.rise) / s.run * self.spread, 1.0)
            past = k * s.aside / np.sqrt((1 - k) * (1 + k))
        past = np.where(k >= 1, np.inf, past)
        past = np.maximum(past, np.sqrt(np.maximum(flat * flat - s.aside * s.aside, 0.0)))
        time = s.time(np.where(s.rise == 0, 0.0, -np.sign(s.rise) * past))
        return np.where(s.covers, s.z(time) + self._cone(s.distance(time)), np.inf)

    def _cone(self, rho: Array) -> Array:
        return np.maximum(rho - self.tip / 2, 0.0) / self.spread
