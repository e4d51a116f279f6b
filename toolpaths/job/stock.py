"""Model of the blank on the machine: its size, its zero, its clamps and its skew."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, model_validator

from toolpaths.common.input_model import AsTuple, InputModel
from toolpaths.common.units import KIND, SIZE_SCHEMA, Between, Length, Size, length, show, units_of

Span = Annotated[tuple[Length, Length], AsTuple]


class Thickness(InputModel):
    """Thickness of the blank as measured, thinnest and thickest, mm."""

    min: Annotated[Size, Between(0.2, 300.0)] = Field(description="Thickness at the thinnest place.")
    max: Annotated[Size, Between(0.2, 300.0)] = Field(description="Thickness at the thickest place.")

    @model_validator(mode="after")
    def _ordered(self) -> Thickness:
        if self.min > self.max:
            raise ValueError("min must not be more than max")
        return self


def _thickness(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, Mapping):
        return value
    mm = length(value, units_of(info))
    text = f"{mm!r} mm"
    return {"min": text, "max": text}


_THICKNESS = {
    "anyOf": [
        SIZE_SCHEMA,
        {
            "type": "object",
            "properties": {"min": SIZE_SCHEMA, "max": SIZE_SCHEMA},
            "required": ["min", "max"],
            "additionalProperties": False,
        },
    ],
    KIND: "length, or `{min: 7.8, max: 8.1}`",
}


class Stock(InputModel):
    """The blank, mm."""

    length: Annotated[Size, Between(5.0, 3000.0)] = Field(description="Length, along the neck.")
    width: Annotated[Size, Between(5.0, 1000.0)] = Field(description="Width, across the neck.")
    thickness: Annotated[Thickness, BeforeValidator(_thickness), WithJsonSchema(_THICKNESS)] = Field(
        description="Thickness: one figure, or `{min: 7.8, max: 8.1}` as measured at the thinnest and the "
        "thickest place."
    )


class Zero(InputModel):
    """Where the program's zero lies on the work."""

    x: Literal["nut", "stock end", "jig"] = Field(
        description="Where X is 0: `nut` (the nut line), `stock end` (the blank's left end), or `jig` (the nut "
        "line of the jig)."
    )
    y: Literal["centreline", "stock edge", "jig"] = Field(
        description="Where Y is 0: `centreline`, `stock edge` (the blank's edge on the operator's side), or "
        "`jig` (the jig's centreline)."
    )
    z: Literal["bed", "stock top", "jig seat"] = Field(
        description=(
            "Where Z is 0: `bed`, `stock top` (the highest place of the unplaned top), or `jig seat` (what the "
            "blank lies on)."
        )
    )

    @property
    def on_jig(self) -> tuple[bool, bool, bool]:
        """Which of x, y, z are the jig's."""
        return self.x == "jig", self.y == "jig", self.z == "jig seat"


class KeepOut(InputModel):
    """A place that something takes up, as seen at the machine: from the nut line, the centreline and the bed. mm."""

    name: str = Field(min_length=1, max_length=60, description="Name in reports.")
    x: Span = Field(description="From where to where along the neck, from the nut line.")
    y: Span = Field(description="From where to where across the neck, from the centreline.")
    height: Size = Field(description="Height above the bed.")

    @model_validator(mode="after")
    def _ordered(self) -> KeepOut:
        must_rise(self.x, self.y)
        return self


class Skew(InputModel):
    """Two places measured along the blank's edge on the operator's side, in program coordinates, the left one first."""

    points: Annotated[tuple[Span, Span], AsTuple] = Field(
        description="Two places `[x, y]` on the blank's edge on the operator's side, the left one first."
    )

    @model_validator(mode="after")
    def _ordered(self, info: ValidationInfo) -> Skew:
        (x0, y0), (x1, y1) = self.points
        if x1 - x0 < 20:
            least = show(20.0, units_of(info), 0 if units_of(info) == "mm" else 2)
            raise ValueError(f"the second place must be at least {least} to the right of the first")
        if abs(y1 - y0) > 0.1 * (x1 - x0):
            raise ValueError("the blank is turned by more than 6 degrees: turn it straight")
        return self


def must_rise(*spans: tuple[float, float]) -> None:
    """Raises ValueError for a span that does not go from the lower to the higher number."""
    if any(low >= high for low, high in spans):
        raise ValueError("write the lower number of x and of y first")
