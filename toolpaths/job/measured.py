"""Measured errors of a machine: the true distance for a commanded one on each axis, and backlash."""

from __future__ import annotations

import math

from pydantic import Field, model_validator

from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Depth, Size

MOST_OFF = 0.02
"""An axis that is further off is set wrong, not a little off. Common practice, no source."""
MOST_LEAN = 0.01
"""A machine that is further out of square is put together wrong, radians. Common practice, no source."""
MOST_BACKLASH = 1.0
"""More backlash than this is a fault to be put right first, mm. Common practice, no source."""


class Stroke(InputModel):
    """One axis: a commanded distance, and the distance as measured, mm."""

    commanded: Size = Field(description="Distance in the program.")
    measured: Size = Field(description="Distance that the machine went, measured by rule or calipers.")

    @model_validator(mode="after")
    def _near(self) -> Stroke:
        off = abs(self.measured / self.commanded - 1)
        if off > MOST_OFF:
            raise ValueError(
                f"commanded and measured differ by {100 * off:.1f} %: measure again; an axis that is more than "
                f"{100 * MOST_OFF:g} % off must be corrected in the controller, not in the programs"
            )
        return self

    @property
    def factor(self) -> float:
        """Factor on a coordinate as written, with which the machine goes to the wanted place."""
        return self.commanded / self.measured


class Backlash(InputModel):
    """Play of the screws by axis, mm."""

    x: Depth | None = Field(default=None, le=MOST_BACKLASH, description="X, along the neck.")
    y: Depth | None = Field(default=None, le=MOST_BACKLASH, description="Y, across the neck.")
    z: Depth | None = Field(default=None, le=MOST_BACKLASH, description="Z, up and down.")


class Square(InputModel):
    """How far Y is from square to X: a rectangle that the machine was to go round, and its diagonals as measured, mm.

    The diagonals of a rectangle are equal. A lean of Y toward higher X makes the one from the left longer.
    """

    x: Size = Field(description="Side of the rectangle along X.")
    y: Size = Field(description="Side of the rectangle along Y.")
    from_left: Size = Field(description="Diagonal from the left front corner to the right back corner, as measured.")
    from_right: Size = Field(description="Diagonal from the right front corner to the left back corner, as measured.")

    @model_validator(mode="after")
    def _near(self) -> Square:
        right = math.hypot(self.x, self.y)
        for name in ("from_left", "from_right"):
            off = abs(getattr(self, name) / right - 1)
            if off > MOST_OFF:
                raise ValueError(
                    f"`{name}` differs by {100 * off:.1f} % from the diagonal of a rectangle with these sides: measure "
                    "again, from the middle of one mark to the middle of the other"
                )
        if abs(self.lean) > MOST_LEAN:
            raise ValueError(
                f"Y leans by {1000 * abs(self.lean):.1f} mm in 1000 mm: measure again; a machine that is further than "
                f"{1000 * MOST_LEAN:g} mm in 1000 mm out of square must be set right, not corrected in the programs"
            )
        return self

    @property
    def lean(self) -> float:
        """How far Y leans toward higher X, radians: half the difference of the squared diagonals over twice the area.

        By the law of cosines, for a parallelogram of sides a and b: p^2 - q^2 = 4 a b sin(lean). Derived.
        """
        part = (self.from_left**2 - self.from_right**2) / (4 * self.x * self.y)
        return math.asin(max(-1.0, min(1.0, part)))


class Measured(InputModel):
    """The measured axes of a machine; an axis that was not measured is taken as true."""

    x: Stroke | None = Field(default=None, description="X, along the neck.")
    y: Stroke | None = Field(default=None, description="Y, across the neck.")
    z: Stroke | None = Field(default=None, description="Z, up and down.")
    square: Square | None = Field(
        default=None, description="How far Y is from square to X, from the diagonals of a rectangle."
    )
    backlash: Backlash | None = Field(default=None, description="Play in the drive, by axis.")

    @property
    def factors(self) -> tuple[float, float, float]:
        """Factors on x, y, z as written, with which the machine goes to the wanted place."""
        x, y, z = (1.0 if stroke is None else stroke.factor for stroke in (self.x, self.y, self.z))
        return x, y, z
