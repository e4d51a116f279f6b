"""The model of a job file: the values as typed, and nothing computed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, SerializeAsAny, ValidationInfo, WithJsonSchema, model_validator

from toolpaths.common.input_model import AsTuple, FaultAt, InputModel, Number
from toolpaths.common.units import KIND, SIZE_SCHEMA, BoardWidth, Depth, Length, ScaleLength, Size, Units
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.holders import Hold, HoldWord, Screws, Under, held_by
from toolpaths.job.machine import OffsetName
from toolpaths.job.neck import Neck
from toolpaths.job.placed import Placed, fault_of
from toolpaths.job.serves import Serves
from toolpaths.job.stock import KeepOut, Skew, Stock, Zero
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


CLEARANCE = 1.0
"""How near anything that turns may come to a holder where the setup does not say, mm. Common practice, no source."""


class Setup(InputModel):
    """One clamping of the work and what is cut in it."""

    name: str = Field(
        pattern=r"^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}$",
        description="Name of the setup, which goes into file names. No two setups have the same.",
    )
    offset: OffsetName = Field(
        default="G54", description="Work offset that its programs use; one of the machine file's `offsets`."
    )
    zero: Zero = Field(description="Where the zero of the programs lies.")
    nut_at: Length = Field(description="Distance from the blank's left end to the nut line.")
    centre_at: Length | None = Field(
        default=None,
        description="Distance from the blank's edge on the operator's side to the centreline; half the width if "
        "absent.",
    )
    hold: HoldWord | Hold | None = Field(
        default=None,
        description=(
            "What holds the blank: `tape` or `vacuum` under all of it, or holders with their places: "
            "`{screws: {at: [[17, -42], [17, 42]], sunk: 6}}`."
        ),
    )
    under: Under = Field(default=Under(), description="What lies between bed and blank: `{backing: 6, tape: 0.2}`.")
    clearance: Depth = Field(
        default=CLEARANCE, description="Least distance between anything that turns and a holder, beside and above it."
    )
    flip: Literal["about x"] | None = Field(
        default=None, description="The blank is turned over about the centreline. Its left end stays on the left."
    )
    skew: Skew | None = Field(default=None, description="How far the blank is turned, as measured at the machine.")
    at: Annotated[tuple[Length, Length, Length], AsTuple] | None = Field(
        default=None, description="Machine coordinates of this offset's zero; the machine file's if absent."
    )
    placed: Annotated[tuple[Placed, ...], AsTuple] = Field(
        default=(),
        max_length=12,
        description="Places in which a blank longer than the travel lies one after another, moved along on pins: "
        "`[{name: near, shift: 0, from: start, to: fret 9}, {name: far, shift: 250, from: fret 9, to: end}]`.",
    )
    play: Depth | None = Field(
        default=None,
        le=0.5,
        description="How far a blank that is moved along may lie beside its place, by the play of its pins; 0.05 mm if "
        "absent.",
    )
    stock: Stock | None = Field(
        default=None,
        description="A separate piece in place of the blank: a sheet for inlays, or the board on its edge.",
    )
    wood: str | OwnWood | None = Field(default=None, description="Wood of that piece; the job's if absent.")
    stand: Literal["bass edge up", "treble edge up"] | None = Field(
        default=None, description="The finished board stands on its edge, and the upper edge is level."
    )
    keep_out: Annotated[tuple[KeepOut, ...], AsTuple] = Field(
        default=(), description="Things that are in the way and hold nothing."
    )
    features: Annotated[tuple[SerializeAsAny[FeatureKeys], ...], AsTuple] = Field(
        min_length=1, description="Features that are cut, at least one."
    )

    @model_validator(mode="before")
    @classmethod
    def _no_nut(cls, value: Any) -> Any:
        """A sheet has no nut: its places are measured from its left end."""
        if isinstance(value, Mapping) and value.get("stock") is not None and "nut_at" not in value:
            return {**value, "nut_at": "0 mm"}
        return value

    @property
    def holders(self) -> Hold:
        """The holders that have a place."""
        return held_by(self.hold)

    @property
    def unplaced(self) -> Literal["screws", "clamps"] | None:
        """What is to hold the blank, and has no place yet."""
        return self.hold if self.hold == "screws" or self.hold == "clamps" else None

    @property
    def screw_groups(self) -> tuple[Screws, ...]:
        """Its waste screws, those of every place of the blank."""
        return (*self.holders.screws, *(group for one in self.placed for group in held_by(one.hold).screws))

    @property
    def under_thickness(self) -> float:
        """From the bed up to the blank's underside, mm."""
        tape = self.holders.tape
        return self.under.backing + (self.under.tape or (0.0 if tape is None else tape.thickness))

    @model_validator(mode="after")
    def _tape_once(self) -> Setup:
        tape = self.holders.tape
        if tape is not None and tape.thickness and self.under.tape and tape.thickness != self.under.tape:
            raise ValueError("`under` and `hold` give different thicknesses of the tape: give it once")
        return self

    @model_validator(mode="after")
    def _places(self) -> Setup:
        if not self.placed:
            if self.play is not None:
                raise FaultAt("`play` is that of the pins on which `placed` moves the blank: take it out", "play")
            return self
        if self.stock is not None or self.holders.jig is not None or self.skew is not None:
            words = "only the job's own blank, straight on the bed, can be moved along: take `placed` out"
            raise FaultAt(words, "placed")
        held = (self.hold, *(one.hold for one in self.placed))
        if any(hold in ("screws", "clamps") for hold in held):
            raise FaultAt("with `placed`, give screws and clamps their places", "hold")
        wrong = fault_of(self.placed)
        if wrong is not None:
            raise FaultAt(wrong, "placed")
        return self

    @model_validator(mode="after")
    def _of_one_piece(self) -> Setup:
        if self.stock is None:
            for key in ("wood", "stand"):
                if getattr(self, key) is not None:
                    raise ValueError(f"`{key}` in a setup is for a separate piece: write its `stock` too")
            return self
        if self.flip is not None:
            raise ValueError("a separate piece is never turned over: take `flip` out")
        if self.zero.y != "stock edge" or self.centre_at is not None:
            raise ValueError(
                "a separate piece has no centreline: write `y: stock edge` in `zero`, and take `centre_at` out"
            )
        if self.stand is None and (self.zero.x == "nut" or self.nut_at != 0):
            raise ValueError("a sheet has no nut: write `x: stock end` in `zero`, and take `nut_at` out")
        if self.stand is not None and self.zero.z != "stock top":
            raise ValueError("write `z: stock top` in `zero`: the height of the upper edge is not known well enough")
        return self


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
