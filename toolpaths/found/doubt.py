"""Values that cannot be true: misread or mistyped. Nothing may follow from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import assert_never

from toolpaths.common.units import show
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.job.job import Job

MOST = 1.0
"""Further off than this is a mistake, mm. Common practice, no source."""
MOST_OF_AXIS = 0.005
"""A longer way may be off by this part of it. Common practice, no source."""
_NARROWER = 0.1
"""A bit may be so much thinner than it is called, mm, and a slot no narrower. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a value cannot be true, and what to do."""

    problem: str
    hint: str


def doubt(mark: Mark, value: float, job: Job) -> Doubt | None:
    """Why a value, mm, cannot be true; None where it can."""
    if mark.meaning is Meaning.look:
        return Doubt("there is nothing to measure here, only something to look at", "leave it out")
    units, asked = job.units, mark.figure.value
    low, high = mark.figure.within
    below, above = asked + low - MOST, asked + high + MOST
    hint = f"measure {mark.measure.words} again, and check the unit"
    match mark.meaning:
        case Meaning.bit:
            cuts = job.bits[mark.bit].cut_diameter
            if value < cuts - _NARROWER and asked >= cuts - 1e-9:
                return Doubt(
                    f"{show(value, units)} is narrower than {mark.bit}, which cuts {show(cuts, units)}",
                    f"{hint}; check which bit was in the collet",
                )
        case Meaning.axis:
            below, above = (asked + sign * max(MOST, MOST_OF_AXIS * asked) for sign in (-1, 1))
        case Meaning.blank:
            hint += "; if the value is right, write the blank's real thickness into the job"
        case Meaning.face | Meaning.sides | Meaning.depth | Meaning.part:
            pass
        case _:
            assert_never(mark.meaning)
    if below <= value <= above:
        return None
    return Doubt(f"{show(value, units)} is too far from {mark.figure.wanted(units)} to be right", hint)
