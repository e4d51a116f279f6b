"""The model of one setup: how the work lies and is held, and what is cut."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, SerializeAsAny, model_validator

from toolpaths.common.input_model import AsTuple, FaultAt, InputModel
from toolpaths.common.units import Depth, Length
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.holders import Hold, HoldWord, Screws, Under, held_by
from toolpaths.job.machine import OffsetName
from toolpaths.job.placed import Placed, fault_of
from toolpaths.job.stock import KeepOut, Skew, Stock, Zero
from toolpaths.job.wood import OwnWood

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
