"""A long blank that is cut in several places along the bed, one after another, moved along on pins between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import Field, PlainSerializer, PlainValidator, ValidationInfo, WithJsonSchema

from toolpaths.common.input_model import InputModel
from toolpaths.common.units import KIND, Length
from toolpaths.job.holders import Hold, HoldWord
from toolpaths.job.place import ALONG_SCHEMA, Along, along

OVERLAP = 20.0
"""How much of a long cut both places beside a seam cut, mm: half of it past the seam."""

PLAY = 0.05
"""How far a moved blank may lie beside its place where nobody says, mm: bored holes and plain pins. Common practice,
no source."""

Border = Along | Literal["start", "end"]


def _border(value: Any, info: ValidationInfo) -> Border:
    match value.strip().lower() if isinstance(value, str) else "":
        case "start":
            return "start"
        case "end":
            return "end"
        case _:
            return along(value, info)


_BORDER = Annotated[
    Border,
    PlainValidator(_border),
    PlainSerializer(str, return_type=str),
    WithJsonSchema(
        {
            "anyOf": [*ALONG_SCHEMA["anyOf"], {"enum": ["start", "end"]}],
            KIND: "length from the nut, a fret (`fret 9`), `start` or `end` of the blank",
        }
    ),
]


class Placed(InputModel):
    """One of the places in which a blank lies in the same setup."""

    name: str = Field(
        pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,19}$", description="Name of the place, which goes into file names."
    )
    shift: Length = Field(
        description="How far the blank lies further to the left than in the first place, in which it is 0."
    )
    begin: _BORDER = Field(
        alias="from",
        description="Where this place's part of the blank begins, on the left; of a fret, halfway to the next.",
    )
    end: _BORDER = Field(alias="to", description="Where it ends, on the right: the next place begins there.")
    hold: HoldWord | Hold | None = Field(
        default=None, description="What holds the blank in this place; as in the setup if absent."
    )


def fault_of(placed: Sequence[Placed]) -> str | None:
    """What is wrong with a setup's places together, and what to do; None where they follow each other."""
    if len(placed) < 2:
        return "one place is no move: write at least two, or take `placed` out"
    if placed[0].shift != 0:
        return f"the blank is zeroed in the first place: write `shift: 0` in {placed[0].name}"
    if len({one.name for one in placed}) < len(placed):
        return "two places have one name: give each its own"
    if placed[0].begin != "start" or placed[-1].end != "end":
        return "the first place must begin with `from: start`, and the last end with `to: end`"
    for one, after in pairwise(placed):
        if after.shift <= one.shift:
            return f"in {after.name} the blank must lie further left than in {one.name}: give it a greater `shift`"
        if one.end != after.begin:
            return f"{after.name} must begin where {one.name} ends: write the same in `to` and `from`"
    return None


@dataclass(frozen=True, slots=True)
class Lie:
    """A blank in one of its places. `number` counts from 1 of `count`; mm in the setup's frame, which moves with it.

    `low`, `high`: where its part begins and ends, infinite at the blank's ends. `shift`: how far the blank lies to the
    left of where it lay first, so that a place of the machine is that much further right on it.
    """

    placed: Placed
    number: int
    count: int
    low: float
    high: float

    @property
    def name(self) -> str:
        """Its name."""
        return self.placed.name

    @property
    def shift(self) -> float:
        """How far to the left of its first place the blank lies, mm."""
        return self.placed.shift

    @property
    def within(self) -> tuple[float, float]:
        """Where the bit's middle may go in the wood here: half the overlap past each seam, mm."""
        return self.low - OVERLAP / 2, self.high + OVERLAP / 2


def seams(lies: Sequence[Lie]) -> list[float]:
    """Where the parts of two places meet, mm in the setup's frame."""
    return [lie.high for lie in lies[:-1]]
