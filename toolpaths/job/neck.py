"""Model of the neck in an instrument file: thickness, back, heel and headstock. Lengths mm."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, model_validator

from toolpaths.common.input_model import AsTuple, InputModel, Meanings, Number
from toolpaths.common.units import KIND, SIZE_SCHEMA, Depth, Length, Size, length, units_of
from toolpaths.job.place import Along, AlongNeck


class Station(InputModel):
    """Thickness at one fret, board included, on the centreline, mm."""

    fret: int = Field(description="Number of the fret.")
    thickness: Size = Field(description="Thickness there, with the board.")


def _stations(value: Any, info: ValidationInfo) -> Any:
    if not isinstance(value, Mapping):
        return value
    if not 1 <= len(value) <= 12:
        raise ValueError("give the thickness at one or more frets, such as {1: 20.5, 12: 22}")
    out: list[dict[str, Any]] = []
    for fret, thickness in value.items():
        if isinstance(fret, bool) or not isinstance(fret, int) or not 0 <= fret <= 60:
            raise ValueError(f"write a fret number from 0 to 60 before each thickness, not {str(fret)!r}")
        out.append({"fret": fret, "thickness": f"{length(thickness, units_of(info))!r} mm"})
    return tuple(sorted(out, key=lambda s: int(s["fret"])))


_STATIONS = {
    "type": "object",
    "patternProperties": {"^([0-9]|[1-5][0-9]|60)$": SIZE_SCHEMA},
    "additionalProperties": False,
    "minProperties": 1,
    "maxProperties": 12,
    KIND: "`{1: 20.5, 12: 22}`: lengths, above 0, at frets",
}

Pair = Annotated[tuple[Number, Number], AsTuple]
_Back = Literal["round", "soft vee"] | tuple[Pair, ...]
_PART = {"type": "number", "minimum": 0, "maximum": 1}
_PAIR = {"type": "array", "prefixItems": [_PART, _PART], "items": False, "minItems": 2}
_PROFILE = {
    "anyOf": [{"enum": ["round", "soft vee"]}, {"type": "array", "items": _PAIR, "minItems": 2}],
    KIND: "`round`, `soft vee`, or a profile of pairs `[part of half width, part of depth]`",
}


def _back(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(tuple(v) if isinstance(v, list) else v for v in value)
    return value


class HeelPocket(InputModel):
    """The body's pocket in which the heel stands. Lengths mm."""

    depth: Size = Field(description="Depth of the pocket, below the body's top beside it.")
    corner: Depth | None = Field(
        default=None, description="Radius that the bit left in its corners; 0 where they are square."
    )


class Heel(InputModel):
    """A block at the body's end: straight between `from` and `to`. Thickness with the board, mm."""

    start: Length = Field(alias="from", description="Where the block begins, from the nut.")
    to: Length = Field(description="Where the neck ends, from the nut.")
    width: Size = Field(description="Width of the block.")
    thickness: Size = Field(description="Thickness with the board.")
    blend: Size = Field(default=20.0, description="Length over which the shaft runs into the block.")
    pocket: HeelPocket | None = Field(
        default=None, description="`{depth, corner}`: pocket of the body that the heel goes into."
    )

    @model_validator(mode="after")
    def _ordered(self) -> Heel:
        if self.start >= self.to:
            raise ValueError("`from` must be less than `to`")
        return self


class Headstock(InputModel):
    """The headstock: straight sides of a width, or a drawn outline. Lengths mm."""

    length: Size | None = Field(default=None, description="Length from the nut line to its end.")
    width: Size | None = Field(default=None, description="Width of a symmetrical headstock.")
    thickness: Size = Field(description="Thickness below its own face.")
    drawing: str | None = Field(default=None, description="A DXF or SVG file with its outline.")
    layer: str | None = Field(default=None, description="Layer of the drawing.")
    flare: Size = Field(default=25.0, description="Length over which the shaft widens to it.")
    blend: Size = Field(default=25.0, description="Length over which the back runs into it, from the nut line.")

    @model_validator(mode="after")
    def _one_way(self) -> Headstock:
        sized = self.length is not None and self.width is not None
        if self.drawing is None and not sized:
            raise ValueError("give length and width, or a drawing")
        if self.drawing is not None and (self.length is not None or self.width is not None):
            raise ValueError("give length and width, or a drawing, not both")
        if self.length is not None and self.length <= self.flare + NUT_SHELF:
            raise ValueError("the headstock is too short for its flare: make it longer, or the flare shorter")
        return self


class Volute(InputModel):
    """A hump of the back, where the shaft is weakest: as high as said on the centreline at `at`, none at its ends.

    Its rise is (1 + cos) / 2 of the way from `at` to an end: smooth, and level at both. Lengths mm.
    """

    height: Size = Field(description="How much thicker the neck is there, on the centreline.")
    at: AlongNeck = Field(default=Along(x=0.0), description="Where it is highest.")
    length: Size = Field(description="Length from its beginning to its end.")


NUT_SHELF = 6.0
"""The shaft keeps its width so far behind the nut line, for the nut, mm. Common practice, no source."""


class Wall(InputModel):
    """How much wood must stay around every cut once the back is carved, mm."""

    stop: Size = Field(default=2.0, description="Less wood than this is a stop.")
    warn: Size = Field(default=3.0, description="Less wood than this is a warning.")
    carver: Depth = Field(default=0.5, description="How much deeper than the profile you may carve.")


RodKind = Literal["double acting", "single bent", "two-way wheel"]
"""Truss rods as they are sold: `instrument/rods.py` says what each wants."""
ROD_KINDS: tuple[tuple[RodKind, str], ...] = (
    ("double acting", "bends the neck both ways (also sold as two-way or dual action); you turn it with a key"),
    ("single bent", "one rod in an arc under a strip of wood; it only pulls a bow straight (one-way)"),
    ("two-way wheel", "as double acting, but you turn it by a wheel with holes at the board's end"),
)
"""What each kind is, from memory."""


class Rod(InputModel):
    """The truss rod as it is bought, mm. What is not measured is taken from its kind."""

    kind: Annotated[RodKind, Meanings(ROD_KINDS)] = Field(description="Kind of the rod, as it is sold.")
    length: Size = Field(description="Length from end to end, with its adjuster.")
    width: Size | None = Field(default=None, description="Width of its body; as usual for its kind if absent.")
    depth: Size | None = Field(
        default=None, description="Depth of its body; for a bent rod with the strip over it, at its ends."
    )
    adjuster: Literal["nut", "heel"] | None = Field(default=None, description="End at which it is turned.")


class Bars(InputModel):
    """A pair of stiffening bars as they are bought, mm."""

    width: Size = Field(description="Width of one bar.")
    depth: Size = Field(description="Depth of one bar.")
    length: Size = Field(description="Length of one bar, with square ends.")


class Neck(InputModel):
    """The neck under the board. Thickness is with the board, on the centreline, mm."""

    thickness: Annotated[tuple[Station, ...], BeforeValidator(_stations), WithJsonSchema(_STATIONS)] = Field(
        min_length=1,
        description=(
            "Finished thickness with the board, on the centreline, at frets: `{1: 20.5, 12: 22}`; straight "
            "between and beyond."
        ),
    )
    back: Annotated[_Back, BeforeValidator(_back), WithJsonSchema(_PROFILE)] = Field(
        default="round",
        description=(
            "`round` (half an ellipse from one edge of the glue face to the other), `soft vee`, or a profile"
            " `[[part of half width, part of depth], ...]` from `[0, 1]` outwards."
        ),
    )
    margin: Depth = Field(
        default=0.5, description="How much wider than the board the shaft is on each side, until it is trimmed."
    )
    heel: Heel | None = Field(
        default=None,
        description=(
            "`{from, to, width, thickness, blend}`: a block, straight between `from` and `to`; `thickness` "
            "with the board; `blend` (20 mm) is the length over which the shaft runs into it."
        ),
    )
    headstock: Headstock | None = Field(
        default=None,
        description=(
            "`{length, width, thickness}` from x = 0, symmetrical, or `{drawing, layer, thickness}`, its "
            "path counted from the file that names it; `flare` (25 mm) is the length over which the shaft "
            "widens to it, `blend` (25 mm) that over which the back runs into it; `thickness` below its own "
            "face."
        ),
    )
    volute: Volute | None = Field(
        default=None,
        description=(
            "`{height: 3, at: nut, length: 30}`: a thicker place of the back, by `height` on the centreline at "
            "`at`, smooth to "
            "nothing within half of `length` on both sides."
        ),
    )
    rod: Rod | None = Field(
        default=None,
        description=(
            "`{kind, length, width, depth, adjuster}`: the truss rod as it is bought. `truss_rod_channel` takes from "
            "it the sizes that it does not give itself."
        ),
    )
    bars: Bars | None = Field(
        default=None,
        description=(
            "`{width, depth, length}`: stiffening bars as they are bought. `reinforcement_slots` takes from them the "
            "sizes that it does not give itself."
        ),
    )
    wall: Wall = Field(
        default=Wall(),
        description=(
            "`{stop, warn, carver}`: how much wood must and should stay around every cut, and how much "
            "deeper than the profile you may carve."
        ),
    )

    @model_validator(mode="after")
    def _profile(self) -> Neck:
        if isinstance(self.back, tuple):
            widths = [w for w, _ in self.back]
            if len(self.back) < 2 or widths != sorted(widths) or self.back[0] != (0.0, 1.0):
                raise ValueError(
                    "a back's profile begins with [0, 1] on the centreline and goes outwards, in pairs "
                    "[part of half width, part of depth]"
                )
            if self.back[-1][0] != 1.0 or any(not 0 <= d <= 1 for _, d in self.back):
                raise ValueError("a back's profile must end with [1, ...], and its depths are from 0 to 1")
        return self
