"""Models of what holds the blank: screws, clamps, stops, pins, tape, vacuum, or a jig; and what lies under it.

Places are as seen at the machine, from the nut line and the centreline, like those of `keep_out`; heights of clamps,
stops and pins count from the bed.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema

from toolpaths.common.input_model import AsTuple, InputModel, Positive
from toolpaths.common.units import Between, Depth, Length, Size
from toolpaths.job.stock import KeepOut, Span, must_rise

HoldWord = Literal["tape", "vacuum", "screws", "clamps"]
"""A holder without a place: tape and vacuum take the whole underside; screws and clamps are asked for their places."""
SCREW_HOLD, PIN_HOLD, CLAMP_FORCE = 300.0, 300.0, 400.0
"""What a waste screw of 4 mm bears each way and a pin sideways, and what a clamp presses with, N. Common practice, no
source. Such a screw 12 mm deep in wood of specific gravity 0.6 is pulled out by 108 G^2 D L = 1,870 N (Wood Handbook,
chapter 8, from memory): a sixth of it is taken."""
FRICTION = 0.3
"""Friction of wood on wood or on a bed, as a part of what presses. From memory."""
SCREW_ROOM, HEAD_ROOM = 0.5, 1.0
"""How much wider than the thread and than the head a screw's holes are, mm. Common practice, no source."""
TOUCHES = 0.5
"""A stop or a jaw that stands farther off the blank does not touch it, mm. Common practice, no source."""
TAPE_HOLD, VACUUM_PULL = 0.1, 0.05
"""What tape bears and what a vacuum pulls with, N/mm2. From memory: makers of double-sided tape say 0.1 to 0.5, and the
least is taken; a workshop vacuum reaches half an atmosphere."""


class Foot(InputModel):
    """The part of a clamp that presses on the blank. mm."""

    x: Span = Field(description="From where to where along the neck, from the nut line.")
    y: Span = Field(description="From where to where across the neck, from the centreline.")

    @model_validator(mode="after")
    def _ordered(self) -> Foot:
        must_rise(self.x, self.y)
        return self


class Clamp(KeepOut):
    """A clamp on the blank's top. Holds against lift by its force, against push and turning by friction."""

    foot: Foot | None = Field(
        default=None,
        description="Part of the clamp that presses on the blank; all of it that is over the blank if absent.",
    )
    force: Positive = Field(default=CLAMP_FORCE, le=20_000, description="Force with which it presses, N.")
    presses: Literal["down", "from the side"] = Field(
        default="down",
        description="`down`: onto the blank's top; `from the side`: a jaw that grips the blank's edge, and "
        "holds by friction.",
    )
    until: Literal["screws"] | None = Field(
        default=None, description="`screws`: you take it off once the screws are in, after the program of their holes."
    )

    @model_validator(mode="after")
    def _foot_within(self) -> Clamp:
        foot = self.foot
        if foot is not None and not all(
            own[0] <= part[0] and part[1] <= own[1] for own, part in ((self.x, foot.x), (self.y, foot.y))
        ):
            raise ValueError("the foot is a part of the clamp: its x and y must be within those of the clamp")
        return self


class Stop(KeepOut):
    """A stop beside the blank. It holds only against push toward it, and never against lift."""


class Screws(InputModel):
    """Waste screws: through waste wood into the bed. They hold against lift and push; two or more against turning."""

    at: Annotated[tuple[Span, ...], AsTuple] = Field(
        min_length=1, max_length=60, description="Places of the screws, [x, y]."
    )
    diameter: Annotated[Size, Between(1.0, 12.0)] = Field(default=4.0, description="Diameter of the thread.")
    head: Annotated[Size, Between(2.0, 40.0)] = Field(
        default=8.0, description="Diameter of the head, or of its washer."
    )
    head_height: Annotated[Size, Between(0.1, 20.0)] = Field(default=3.5, description="Height of the head.")
    sunk: Depth = Field(
        default=0.0, description="How deep the head is sunk below the blank's highest place; 0: it stands on the wood."
    )
    into_bed: Annotated[Size, Between(1.0, 60.0)] = Field(
        default=12.0, description="Depth of the thread in the bed, or in the jig."
    )

    @model_validator(mode="after")
    def _wider(self) -> Screws:
        if self.head <= self.diameter:
            raise ValueError("the head must be wider than the thread, or the screw holds nothing down")
        return self


class PinAt(InputModel):
    """A pin that stands out of the bed. mm."""

    x: Length = Field(description="Place of its middle, from the nut line.")
    y: Length = Field(description="Place of its middle, from the centreline.")
    diameter: Size = Field(description="Diameter of the pin.")


class Pins(InputModel):
    """Pins in the bed or the jig that stand in the blank's own bores. They hold against push; two against turning."""

    at: Annotated[tuple[PinAt, ...], AsTuple] | None = Field(
        default=None, min_length=1, max_length=40, description="Places of the pins; this setup's `bed_bores` if absent."
    )
    height: Size = Field(description="Height of the pins above the bed.")


class Patch(InputModel):
    """A part of the blank's underside; all of it where x and y are absent. mm."""

    x: Span | None = Field(default=None, description="From and to, from the nut line; all along if absent.")
    y: Span | None = Field(default=None, description="From and to, from the centreline; all across if absent.")

    @model_validator(mode="after")
    def _ordered(self) -> Patch:
        must_rise(*(span for span in (self.x, self.y) if span is not None))
        return self


class Tape(Patch):
    """Double-sided tape under the blank. Holds against lift, push and turning by its area."""

    thickness: Annotated[Depth, Between(0.0, 3.0)] = Field(
        default=0.0, description="Thickness of all its layers together."
    )
    strength: Positive = Field(default=TAPE_HOLD, le=1.0, description="Force that it bears on each area, N/mm2.")


class Vacuum(Patch):
    """A vacuum under the blank. Holds against lift by its area, against push and turning by friction."""

    pull: Positive = Field(default=VACUUM_PULL, le=0.1, description="Force with which it pulls on each area, N/mm2.")


class Under(InputModel):
    """What lies between bed and blank, mm."""

    backing: Depth = Field(default=0.0, description="Thickness of a flat backing.")
    tape: Depth = Field(default=0.0, description="Thickness of all layers of tape together.")

    @property
    def thickness(self) -> float:
        """From the bed up to the blank's underside, mm."""
        return self.backing + self.tape


def _groups(value: Any) -> Any:
    return (value,) if isinstance(value, dict) else tuple(value) if isinstance(value, list) else value


class _OneOrMore:
    """JSON schema of one group, or of a list of them."""

    @staticmethod
    def __get_pydantic_json_schema__(schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        several = handler(schema)
        return {"anyOf": [several["items"], several]}


class Hold(InputModel):
    """Everything that holds the blank in one setup, each with its place."""

    screws: Annotated[tuple[Screws, ...], BeforeValidator(_groups), _OneOrMore()] = Field(
        default=(), description="Waste screws; several groups in a list where they are sunk differently."
    )
    clamps: Annotated[tuple[Clamp, ...], AsTuple] = Field(default=(), description="Each with the box that it takes up.")
    stops: Annotated[tuple[Stop, ...], AsTuple] = Field(default=(), description="Each with the box that it takes up.")
    pins: Pins | None = Field(default=None, description="Pins in the bed or the jig.")
    tape: Tape | None = Field(default=None, description="Double-sided tape; `{}`: under the whole blank.")
    vacuum: Vacuum | None = Field(default=None, description="A vacuum; `{}`: under the whole blank.")
    jig: str | None = Field(
        default=None, min_length=1, max_length=200, description="The job of the jig that it lies on, as a path."
    )

    @property
    def adheres(self) -> bool:
        """Whether tape or a vacuum alone pulls the blank down."""
        return (self.tape is not None or self.vacuum is not None) and not (self.screws or self.clamps)


def held_by(hold: HoldWord | Hold | None) -> Hold:
    """The holders with places of what a setup says; none for screws and clamps that have none."""
    if isinstance(hold, Hold):
        return hold
    if hold == "tape":
        return Hold(tape=Tape())
    return Hold(vacuum=Vacuum()) if hold == "vacuum" else Hold()
