"""Lengths as people write them. Inside, everything is mm."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo, WithJsonSchema
from pydantic_core import CoreSchema, core_schema

Units = Literal["mm", "in"]
MM_PER_INCH = 25.4
LARGEST = 1_000_000.0
"""No length (mm), speed (mm/min) or acceleration (mm/s2) of a job or a machine is larger."""

_FINE = 0.1
_MARKED = re.compile(r"\u2039(-?\d[\d.]*(?:e[-+]?\d+)?)(/min)?\u203a")
_NUMBER = r"(?:\d+(?:\.\d*)?|\.\d+)"
_TEXT = re.compile(
    rf"^\s*(?P<sign>[+-]?)\s*(?:(?P<whole>\d+)[ \t]+(?P<num1>\d+)/(?P<den1>\d+)|(?P<num>\d+)/(?P<den>\d+)"
    rf"|(?P<plain>{_NUMBER}))\s*(?P<unit>mm|in|inch|inches|\")?\s*$"
)


_COMMA = re.compile(r"\s*(?P<sign>[+-]?)\s*(?P<whole>\d{1,9}),(?P<part>\d{1,9})\s*(?:mm|in|inch|inches|\")?\s*")


def decimal_comma(text: str) -> str:
    """What to write for a number with a comma in it, such as `0,5`; empty for any other text."""
    match = _COMMA.fullmatch(text[:40])
    if match is None:
        return ""
    sign, whole, part = match.group("sign", "whole", "part")
    # Three digits behind it may be thousands.
    other = f", or {sign}{whole}{part} without one" if len(part) == 3 and whole.strip("0") else ""
    return f"write {sign}{whole}.{part} with a point{other}: a comma separates entries"


def length(value: float | str, units: Units) -> float:
    """A length in mm from a number in `units`, or from text with its own (`1/4 in`, `6.35 mm`).

    Raises ValueError, in words for the person who typed it, for anything else.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError("write a length, such as 6.35, 6.35 mm or 1/4 in")
    if isinstance(value, int | float):
        number, unit = float(value), units
    else:
        match = _TEXT.match(value) if len(value) <= 40 else None
        if match is None:
            raise ValueError(decimal_comma(value) or "not a length; write a number, or text such as 6.35 mm or 1/4 in")
        g = match.groupdict()
        if g["plain"] is not None:
            number = float(g["plain"])
        else:
            denominator = int(g["den1"] or g["den"])
            if denominator == 0:
                raise ValueError("a fraction over 0 is not a length")
            number = int(g["whole"] or 0) + int(g["num1"] or g["num"]) / denominator
        if g["sign"] == "-":
            number = -number
        unit = units if g["unit"] is None else ("mm" if g["unit"] == "mm" else "in")
    if not math.isfinite(number):
        raise ValueError("a length must be a number")
    return number * MM_PER_INCH if unit == "in" else number


def show(mm: float, units: Units, digits: int | None = None) -> str:
    """A length for people: `6.35 mm` or `0.2500 in` (2 or 3 digits by default)."""
    if digits is None:
        digits = 3 if units == "in" else 2
    # Rounded first, and 0 added: a length that rounds to nothing is 0, never -0.
    return f"{round(mm / MM_PER_INCH if units == 'in' else mm, digits) + 0.0:.{digits}f} {units}"


def show_at_least(mm: float, units: Units) -> str:
    """A length for people, rounded up: a limit that holds as it is printed."""
    step = 0.001 * MM_PER_INCH if units == "in" else 0.01
    return show(math.ceil(mm / step - 1e-6) * step, units)


def show_at_most(mm: float, units: Units) -> str:
    """A length for people, rounded down: a limit that holds as it is printed."""
    step = 0.001 * MM_PER_INCH if units == "in" else 0.01
    return show(math.floor(mm / step + 1e-6) * step, units)


def size(mm: float, units: Units) -> str:
    """A size as it is written on a box: `0.6 mm`, `3.175 mm`, `0.25 in`."""
    return f"{mm / MM_PER_INCH:.4f}".rstrip("0").rstrip(".") + " in" if units == "in" else f"{round(mm, 3):g} mm"


def marked(mm: float) -> str:
    """A length within a text that does not know its reader's units: `in_units` writes it out."""
    return f"\u2039{mm:.10g}\u203a"


def marked_feed(mm_min: float) -> str:
    """A feed within a text that does not know its reader's units."""
    return f"\u2039{mm_min:.10g}/min\u203a"


def in_units(text: str, units: Units) -> str:
    """A text with each of its marked lengths and feeds written out, small lengths finely."""

    def shown(found: re.Match[str]) -> str:
        value = float(found[1])
        if found[2]:
            return show_feed(value, units)
        return show_fine(value, units) if 0 < abs(value) < _FINE else show(value, units)

    return _MARKED.sub(shown, text)


def show_fine(mm: float, units: Units) -> str:
    """A small length for people: `0.150 mm` or `0.0059 in`."""
    return show(mm, units, 4 if units == "in" else 3)


def show_area(mm2: float, units: Units) -> str:
    """An area for people: `73.74 mm²` or `0.1143 in²`."""
    return f"{mm2 / MM_PER_INCH**2:.4f} in²" if units == "in" else f"{mm2:.2f} mm²"


def show_feed(mm_min: float, units: Units) -> str:
    """A feed for people: `1800 mm/min` or `70.9 in/min`."""
    return f"{mm_min / MM_PER_INCH:.1f} in/min" if units == "in" else f"{mm_min:.0f} mm/min"


def show_chip(mm: float, units: Units) -> str:
    """A chip load for people, a tooth: `0.0075 mm` or `0.00030 in`."""
    return show(mm, units, 5 if units == "in" else 4)


KIND = "x-kind"
"""What may be given, in words, beside what a JSON schema says of a value: for the tables of all keys."""


@dataclass(frozen=True, slots=True)
class Between:
    """A validator that keeps a length, mm, between limits; errors and the tables of keys show them.

    A length outside them is a slip of the keys, and work without end. Common practice, no source: the limits lie far
    below and far above the sizes of necks and bits.
    """

    least: float
    most: float

    def __call__(self, mm: float, info: ValidationInfo) -> float:
        """The length. Raises ValueError outside the limits, in the document's units."""
        if not self.least <= mm <= self.most:
            lowest, highest = (_plain(limit, units_of(info)) for limit in (self.least, self.most))
            raise ValueError(f"must be from {lowest} to {highest}")
        return mm

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_after_validator_function(self, handler(source))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {**handler(schema), KIND: f"length, {self.least:g} to {self.most:g} mm"}


def _plain(mm: float, units: Units) -> str:
    """A limit with no more digits than it needs."""
    return f"{float(f'{mm / MM_PER_INCH:.4g}'):.10g} in" if units == "in" else f"{mm:.10g} mm"


def units_of(info: ValidationInfo) -> Units:
    """The units of bare numbers in the document that is being validated."""
    units: Units = (info.context or {}).get("units", "mm")
    return units


def _from_job(value: Any, info: ValidationInfo) -> float:
    units = units_of(info)
    mm = length(value, units)
    if abs(mm) > LARGEST:
        raise ValueError(f"must not be more than {_plain(LARGEST, units)}")
    return mm


def _positive(value: Any, info: ValidationInfo) -> float:
    mm = _from_job(value, info)
    if mm <= 0:
        raise ValueError("must be more than 0")
    return mm


def _not_negative(value: Any, info: ValidationInfo) -> float:
    mm = _from_job(value, info)
    if mm < 0:
        raise ValueError("must not be less than 0")
    return mm


def _written(kind: str, **least: float) -> dict[str, Any]:
    """JSON schema of a length: a number in the job's units, or text with a unit."""
    return {"anyOf": [{"type": "number", **least}, {"type": "string", "pattern": _LENGTH_TEXT}], KIND: kind}


_LENGTH_TEXT = r'^\s*[+-]?\s*(\d+[ \t]+\d+/\d+|\d+/\d+|\d+(\.\d*)?|\.\d+)\s*(mm|in|inch|inches|")?\s*$'
LENGTH_SCHEMA, SIZE_SCHEMA = _written("length"), _written("length, above 0", exclusiveMinimum=0)

Length = Annotated[float, BeforeValidator(_from_job), WithJsonSchema(LENGTH_SCHEMA)]
"""A length of either sign, mm inside."""
Size = Annotated[float, BeforeValidator(_positive), WithJsonSchema(SIZE_SCHEMA)]
"""A length above 0, mm inside."""
Depth = Annotated[float, BeforeValidator(_not_negative), WithJsonSchema(_written("length, 0 or more", minimum=0))]
"""A length of 0 or more, mm inside."""
FineStep = Annotated[Size, Between(0.005, 50.0)]
"""The depth of one pass, mm."""
BitSize = Annotated[Size, Between(0.05, 200.0)]
"""A diameter or a length of a bit, mm."""
BoardWidth = Annotated[Size, Between(1.0, 500.0)]
"""The width of a board or a neck, mm."""
ScaleLength = Annotated[Size, Between(20.0, 3000.0)]
"""The length of an open string, mm."""
