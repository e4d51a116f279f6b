"""Model of the place of a round hole: `[x, y]`, or with its own diameter."""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import Field, GetJsonSchemaHandler
from pydantic_core import CoreSchema

from toolpaths.common.input_model import InputModel
from toolpaths.common.units import KIND, LENGTH_SCHEMA, Depth, Length, Size
from toolpaths.job.place import ALONG_SCHEMA, AlongNeck


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
