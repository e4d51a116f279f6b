"""A place along the neck in a file: a length from the nut, a fret, or the nut itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import PlainSerializer, PlainValidator, ValidationInfo, WithJsonSchema

from toolpaths.common.units import KIND, LENGTH_SCHEMA, length, units_of

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
