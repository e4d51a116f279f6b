"""Slots of constant width: their shape in plan, and which bit can cut them, in how many passes.

A slot runs from one end of its centre line to the other: the extremes of the finished cavity. mm.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from pydantic import Field
from shapely import Polygon

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Size, Units, show, show_fine, size
from toolpaths.geometry.loop import Loop
from toolpaths.job.bit import Bit
from toolpaths.job.machine import Machine
from toolpaths.operations.bit_choice import must_be_flat

End = Literal["rounded", "squared"]
"""A half circle of the slot's width, or a flat wall across it."""
Place = tuple[float, float]


class Blind(InputModel):
    """Ends that stop short of the finished edges, mm."""

    blind: Size = Field(description="Wood left between the end and the edge.")


SAME = 0.02
"""A slot that differs from its bit by no more than this is cut in one pass, mm. Common practice, no source."""
_SEEN = 0.005
"""What machine and bit give way by less is not worth a word, mm."""
RUN_ON = 1.0
"""How far past an open end a slot or a line is cut in full width at least; the bit's middle goes its radius further,
mm."""


def slot_shape(start: Place, end: Place, width: float, ends: tuple[End, End]) -> Polygon:
    """The slot in plan, chords within 0.0002 mm: area width * length, less width^2 (1 - pi / 4) / 2 a rounded end."""
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    half = width / 2
    s0, s1 = (half if ends[0] == "rounded" else 0.0), length - (half if ends[1] == "rounded" else 0.0)
    corners = [(s0, -half), (s1, -half), (s1, half), (s0, half)]
    points = np.array([(start[0] + s * ux - t * uy, start[1] + s * uy + t * ux) for s, t in corners])
    # A bulge of 1 is half a turn.
    bulges = np.array([0.0, 1.0 if ends[1] == "rounded" else 0.0, 0.0, 1.0 if ends[0] == "rounded" else 0.0])
    return Loop(points, bulges).shape()


def run_out(start: Place, end: Place, width: float, radius: float) -> Polygon:
    """The strip beyond the open end `end` of a slot from `start`, as wide as it, two radii of the bit and 1 mm long."""
    length = math.dist(start, end)
    by = (2 * radius + RUN_ON) / length
    beyond = (end[0] + by * (end[0] - start[0]), end[1] + by * (end[1] - start[1]))
    return slot_shape(end, beyond, width, ("squared", "squared"))


def in_one_pass(bit: Bit, width: float) -> bool:
    """Whether the slot is as wide as the bit."""
    return abs(width - bit.cut_diameter) <= SAME + 1e-9


def refuse_bit(name: str, bit: Bit, width: float, what: str, units: Units, key: str = "bit") -> None:
    """Raises FeatureError where the bit cannot cut the slot: not flat, or wider than it."""
    must_be_flat(name, bit, "the walls and the floor would not be square", units)
    if bit.cut_diameter > width + SAME + 1e-9:
        raise FeatureError(
            f"{name} cuts {show(bit.cut_diameter, units)} wide, and {what} is {show(width, units)}: "
            "no bit cuts a slot narrower than itself",
            f"take a bit of {show(width, units)} or less",
            key,
        )


def wide_words(bit: Bit, width: float, units: Units) -> str:
    """A slot's width, and that one pass cuts it, for a title."""
    return f"{show(width, units)} wide" + (", in one pass" if in_one_pass(bit, width) else "")


def width_words(name: str, bit: Bit, width: float, machine: Machine, units: Units, gives: float = 0.0) -> str:
    """What decides a slot's real width, in words for fitting a part into it.

    `gives`: how far machine and bit give way beside a wall that has a pass of its own, mm.
    """
    wobble = bit.widening(machine.runout)
    if in_one_pass(bit, width):
        return (
            f"It is cut in one pass of {name}, so it comes out as wide as that bit and its runout, about "
            f"{show_fine(bit.cut_diameter + wobble, units)}. Measure it before you fit anything."
        )
    wider = f" Its runout widens the slot by about {show_fine(wobble, units)}." if wobble else ""
    soft = ""
    if gives >= _SEEN:
        soft = f" Machine and bit may bend aside by about {show_fine(gives, units)} at each wall (an estimate)."
    return (
        f"The width depends on the real diameter of {name} (assumed {size(bit.cut_diameter, units)}).{wider}{soft} "
        "Measure it before you fit anything."
    )
