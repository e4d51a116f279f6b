"""What a measured value says about blank, bit, machine or part: a closed list."""

from __future__ import annotations

from enum import Enum, unique
from typing import assert_never

from toolpaths.instrument.handwork.handwork import Figure
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind


@unique
class Meaning(Enum):
    """What the difference between asked and found is taken for."""

    blank = "blank"
    """The blank's own thickness, before anything is cut."""
    face = "face"
    """How high the planed face truly is: depths follow it."""
    bit = "bit"
    """How wide the bit truly cuts: later cuts of it follow."""
    sides = "sides"
    """How far this side is cut beside the other."""
    axis = "axis"
    """How long the machine's X truly is: later programs are corrected."""
    depth = "depth"
    """How deep a cut is that no later program deepens."""
    part = "part"
    """A size of the part that no later program changes."""
    look = "look"
    """Something to look at, without a number."""


CORRECTED = frozenset({Meaning.blank, Meaning.face, Meaning.bit, Meaning.sides, Meaning.axis})
"""What later programs take into account."""


def meaning_of(figure: Figure, cuts: frozenset[CutKind], bit: Bit | None) -> Meaning:
    """What a figure of a feature says that cuts those kinds with that bit; both empty for the blank itself."""
    match figure.kind:
        case "thickness":
            if bit is None:
                return Meaning.blank
            return Meaning.face if CutKind.face in cuts else Meaning.part
        case "height":
            return Meaning.face
        case "width":
            return Meaning.bit if bit is not None and shows_its_width(bit) else Meaning.part
        case "rim":
            return Meaning.sides
        case "between":
            return Meaning.axis
        case "depth":
            return Meaning.depth
        case "standing" | "place" | "beyond":
            return Meaning.part
        case _:
            assert_never(figure.kind)


def shows_its_width(bit: Bit) -> bool:
    """Whether a cut of it is as wide as the bit at any depth: a pointed or round one cuts wider the deeper it goes."""
    return bit.level_radius > 0 or bit.shape == "drill"
