"""Places in a file: along the neck, as a length from the nut, a fret or the nut itself; and of round holes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from pydantic import Field, GetJsonSchemaHandler, PlainSerializer, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import CoreSchema

from toolpaths.common.input_model import InputModel
from toolpaths.common.units import KIND, LENGTH_SCHEMA, Depth, Length, Size, length, units_of

_FRET = re.compile(r"^\s*fret\s+(\d{1,2})\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Along:
    """`x` mm from the nut, or the centre of a fret."""

    x: float | None = None
    fret: int | None = None

    def __str__(self) -> str:
        return f"fret {self.fret}" if self.fret is not None else f"{self.x!r} mm"


def along(value: Any, info: ValidationInfo) -> Along:
    """A place as typed. Raises ValueError for what is neither a length nor a fret."""
    if isinstance(value, Along):
        return value
    if isinstance(value, str) and (match := _FRET.match(value)):
        return Along(fret=int(match[1]))
    if isinstance(value, str) and value.strip().lower() == "nut":
        return Along(x=0.0)
    return Along(x=length(value, units_of(info)))


ALONG_SCHEMA: dict[str, Any] = {
    "anyOf": [LENGTH_SCHEMA, {"type": "string", "pattern": r"^\s*([Ff][Rr][Ee][Tt]\s+\d{1,2}|[Nn][Uu][Tt])\s*$"}],
    KIND: "length, a fret (`fret 12`) or `nut`",
}
AlongNeck = Annotated[
    Along,
    PlainValidator(along),
    PlainSerializer(str, return_type=str),
    WithJsonSchema(ALONG_SCHEMA),
]
"""A length from the nut line, `fret 14`, or `nut`."""


class HolePlace(InputModel):
    """One hole: its centre, and its diameter where it has one of its own. mm."""

    x: AlongNeck = Field(description="Place of its centre, from the nut line.")
    y: Length = Field(description="Place of its centre, from the centreline.")
    diameter: Size | None = Field(default=None, description="Its own diameter, if it is not that of all.")

    mapping: ClassVar[str] = "{x: 10, y: 0, diameter: 6}"

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """As `place_of` reads it."""
        found = handler(schema)
        whole = handler.resolve_ref_schema(found)
        pair = {"type": "array", "prefixItems": [ALONG_SCHEMA, LENGTH_SCHEMA], "minItems": 2, "maxItems": 2}
        keys = dict(whole)
        whole.clear()
        whole.update({"anyOf": [pair, keys], KIND: f"place: `[x, y]`, or `{cls.mapping}`"})
        return found


class PinPlace(HolePlace):
    """A pin's hole; `relief` lengthens it along x, so that the distance of two pins need not be exact."""

    mapping: ClassVar[str] = "{x: 10, y: 0, diameter: 6, relief: 0.6}"

    relief: Depth = Field(default=0.0, description="How much longer than wide it is, along x.")


def place_of(value: Any) -> Any:
    """`[x, y]` as a mapping; anything else as it is. Raises ValueError for a list of another length."""
    if isinstance(value, list | tuple):
        if len(value) != 2:
            raise ValueError("write a place as [x, y] or {x: ..., y: ..., diameter: ...}")
        return {"x": value[0], "y": value[1]}
    return value
