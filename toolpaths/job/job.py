"""The model of a job file: the values as typed, and nothing computed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, SerializeAsAny, ValidationInfo, WithJsonSchema, model_validator

from toolpaths.common.input_model import AsTuple, InputModel, Number
from toolpaths.common.units import KIND, SIZE_SCHEMA, BoardWidth, Depth, ScaleLength, Size, Units
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.neck import Neck
from toolpaths.job.setup import Setup
from toolpaths.job.stock import Stock
from toolpaths.job.wood import OwnWood


class Width(InputModel):
    """Board width at the nut and at one other place; linear between and beyond. mm."""

    nut: BoardWidth = Field(description="Width at the nut.")
    there: BoardWidth = Field(description="Width at the second place.")
    at: int | Literal["end"] = Field(description="The second place: a fret, or the end.")


def _width(value: Any, info: ValidationInfo) -> Any:
    if not isinstance(value, Mapping):
        return value
    other = [k for k in value if k != "nut"]
    if "nut" not in value or len(other) != 1:
        raise ValueError("give the width at two places, such as {nut: 42, 12: 52} or {nut: 42, end: 56}")
    at = other[0]
    if at != "end" and (isinstance(at, bool) or not isinstance(at, int) or not 1 <= at <= 60):
        raise ValueError(f"the second place must be a fret number or `end`, not {str(at)!r}")
    return {"nut": value["nut"], "there": value[at], "at": at}


_WIDTH = {
    "type": "object",
    "properties": {"nut": SIZE_SCHEMA},
    "patternProperties": {"^([1-9]|[1-5][0-9]|60|end)$": SIZE_SCHEMA},
    "required": ["nut"],
    "additionalProperties": False,
    "minProperties": 2,
    "maxProperties": 2,
    KIND: "`{nut: 42, 12: 52}` or `{nut: 42, end: 56}`: lengths, above 0",
}


class Compound(InputModel):
    """A radius that grows along the board, mm."""

    nut: Size = Field(description="Radius at the nut line.")
    end: Size = Field(description="Radius at the board's end.")


class Board(InputModel):
    """The fretboard. Lengths mm."""

    width: Annotated[Width, BeforeValidator(_width), WithJsonSchema(_WIDTH)] = Field(
        description=(
            "Width square to the centreline, at the nut line and at one other place, a fret or `end`: "
            "`{nut: 42, 12: 52}`, `{nut: 42, end: 56}`; straight between and beyond."
        )
    )
    overhang: Depth = Field(description="Length of the board beyond the last fret, on the centreline.")
    thickness: Size = Field(description="Finished thickness, in the middle.")
    radius: Size | Compound | None = Field(default=None, description="Radius of the top; absent: flat.")
    binding: Depth = Field(
        default=0.0,
        description="Thickness of the strips that you glue along both long edges later. The widths are with them.",
    )

    @model_validator(mode="after")
    def _room(self) -> Board:
        if 4 * self.binding > min(self.width.nut, self.width.there):
            raise ValueError("this binding takes more than half of the board: write the thickness of one strip")
        return self


class Fan(InputModel):
    """Scale lengths of the outer strings, mm, measured along the neck; and the fret that stands square to it."""

    bass: ScaleLength = Field(description="Scale length of the outermost bass string.")
    treble: ScaleLength = Field(description="Scale length of the outermost treble string.")
    square_fret: Number = Field(
        description="The fret that is square to the centreline; 0 is the nut, a fraction lies between two frets."
    )


class ZeroFret(InputModel):
    """A fret at the nut line, and the nut behind it. mm."""

    nut_behind: Size = Field(default=5.0, description="Distance from the nut line back to the nut's front.")


class StringRun(InputModel):
    """How the strings run over board and body, seen from the side. mm."""

    nut: Size = Field(description="Height of the strings above the board's face at the nut.")
    fret: Size = Field(description="Height of a fret above the board's face.")
    action: Size = Field(description="From the top of fret 12 up to the strings.")
    bridge: Size = Field(description="Height of the strings above the body's top at the bridge, its screws half-way.")


class Instrument(InputModel):
    """The numbers of one instrument, shared by board and neck. Lengths mm."""

    scale_length: ScaleLength | Fan = Field(
        description=(
            "Length from the nut to where the open strings would end without compensation; or `{bass: 610, treble: "
            "584, square_fret: 7}` for fanned frets."
        )
    )
    frets: int = Field(ge=1, le=60, description="Number of frets.")
    strings: int = Field(default=6, ge=1, le=18, description="Number of strings.")
    board: Board = Field(description="The fretboard.")
    neck: Neck | None = Field(default=None, description="The neck under the board. A board's job does not need it.")
    nut_spread: Size | None = Field(default=None, description="Distance from the first to the last string at the nut.")
    zero_fret: bool | ZeroFret = Field(
        default=False, description="Whether there is a fret at the nut line, with the nut behind it."
    )
    nut_compensation: Depth = Field(default=0.0, description="How much nearer to fret 1 the nut's front is.")
    string_run: StringRun | None = Field(
        default=None,
        description="Heights of the strings, from which `neckpath fit` says how deep the body's pocket must be: "
        "`{nut: 1.5, fret: 1.1, action: 1.7, bridge: 16}`.",
    )


class Moisture(InputModel):
    """The air of the shop and of the instrument's home: relative humidity in percent, temperature in degrees C."""

    shop: Number = Field(ge=5, le=95, description="Relative humidity where the wood is cut, percent.")
    home: Annotated[tuple[Number, Number], AsTuple] = Field(
        description="Driest and dampest air where the instrument will be kept, percent."
    )
    temperature: Number = Field(default=21.0, ge=0, le=50, description="Temperature of both, degrees C.")
    sawn: Literal["flat", "quarter"] = Field(
        default="flat", description="flat: the growth rings lie along the width; quarter: they stand upright in it."
    )

    @model_validator(mode="after")
    def _ordered(self) -> Moisture:
        low, high = self.home
        if not 5 <= low <= high <= 95:
            raise ValueError("write the driest and the dampest air, from 5 to 95 %, such as [35, 65]")
        return self


def _several(value: Any) -> Any:
    """A single text as a tuple of one."""
    return (value,) if isinstance(value, str) else value


class Saw(InputModel):
    """The hand saw that cuts the slots to depth. Both absent values: common practice, no source."""

    kerf: Size = Field(default=0.58, description="Width of the cut that it makes.")
    depth: Size = Field(default=2.0, description="Depth of the slots below the finished surface.")


SAWN_FIRST = "slots sawn before radiusing"
ByHand = Literal["slots sawn before radiusing"]
"""What the maker says of the work by hand, where a program or a finding depends on it."""


_BY_HAND = {
    "anyOf": [{"const": SAWN_FIRST}, {"type": "array", "items": {"const": SAWN_FIRST}}],
    KIND: f"`{SAWN_FIRST}`, alone or in a list",
}


class Serves(InputModel):
    """The jobs whose blanks lie on a jig: paths, counted from the jig's folder."""

    board: str | None = Field(default=None, min_length=1, max_length=200, description="The job of the board.")
    neck: str | None = Field(default=None, min_length=1, max_length=200, description="The job of the neck.")

    @model_validator(mode="after")
    def _one_at_least(self) -> Serves:
        if self.board is None and self.neck is None:
            raise ValueError("name the job of the board, of the neck, or both: {board: my-board.yaml}")
        return self

    @property
    def paths(self) -> dict[Literal["board", "neck"], str]:
        """The path of each part's job that it names."""
        named: dict[Literal["board", "neck"], str | None] = {"board": self.board, "neck": self.neck}
        return {part: path for part, path in named.items() if path is not None}


class Job(InputModel):
    """A whole job, resolved: the instrument and the bits are in place. Lengths mm."""

    title: str = Field(min_length=1, max_length=200, description="Name of the job in programs and reports.")
    units: Units = Field(description="Units of bare numbers in this file.")
    machine: str = Field(
        description=(
            "A machine by name (`neckpath machines` lists them), or the path of a machine file, counted from"
            " the job's folder."
        )
    )
    wood: str | OwnWood = Field(description="A wood by name, or one that you describe.")
    part: Literal["board", "neck", "jig"] = Field(default="board", description="What is cut.")
    serves: Serves | None = Field(
        default=None, alias="for", description="For a jig: the jobs that lie on it, `{board: PATH, neck: PATH}`."
    )
    handed: Literal["right", "left"] = Field(
        default="right", description="`left` mirrors the instrument about its centreline."
    )
    instrument: Instrument = Field(description="The instrument's numbers, or the path of a file with them.")
    stock: Stock = Field(description="The blank.")
    bits: dict[str, SerializeAsAny[Bit]] = Field(
        description="Bits of your own, by name, and changes to bits of the rack."
    )
    saw: Saw = Field(default=Saw(), description="The hand saw that cuts the slots to depth.")
    by_hand: Annotated[tuple[ByHand, ...], AsTuple, BeforeValidator(_several), WithJsonSchema(_BY_HAND)] = Field(
        default=(), description="What you decide about the work by hand."
    )
    moisture: Moisture | None = Field(
        default=None, description="Air in the shop and at home, from which the movement of the wood is computed."
    )
    setups: Annotated[tuple[Setup, ...], AsTuple] = Field(
        min_length=1,
        max_length=40,
        description="One entry for each way in which the blank lies on the machine, at least one.",
    )

    @model_validator(mode="after")
    def _begins_with_its_blank(self) -> Job:
        if self.setups[0].stock is not None:
            raise ValueError(
                "the first setup must cut the job's own blank: put setups with a `stock` of their own after it"
            )
        return self

    def with_features(self, change: Callable[[FeatureKeys], FeatureKeys]) -> Job:
        """The job with every feature as `change` gives it back."""
        setups = (s.model_copy(update={"features": tuple(change(f) for f in s.features)}) for s in self.setups)
        return self.model_copy(update={"setups": tuple(setups)})
