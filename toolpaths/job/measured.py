"""Measured errors of a machine: the true distance for a commanded one on each axis, and backlash."""

from __future__ import annotations

from pydantic import Field, model_validator

from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Depth, Size

MOST_OFF = 0.02
"""An axis that is further off is set wrong, not a little off. Common practice, no source."""
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


class Measured(InputModel):
    """The measured axes of a machine; an axis that was not measured is taken as true."""

    x: Stroke | None = Field(default=None, description="X, along the neck.")
    y: Stroke | None = Field(default=None, description="Y, across the neck.")
    z: Stroke | None = Field(default=None, description="Z, up and down.")
    backlash: Backlash | None = Field(default=None, description="Play in the drive, by axis.")

    @property
    def factors(self) -> tuple[float, float, float]:
        """Factors on x, y, z as written, with which the machine goes to the wanted place."""
        x, y, z = (1.0 if stroke is None else stroke.factor for stroke in (self.x, self.y, self.z))
        return x, y, z
