"""How far a machine gives way under a cut: its stiffness, the pass depth that it bears, and what it adds to a width.

Hooke's law: so many newtons at the bit, divided by the stiffness in N/mm. The force is the mean of the cut at the
upper end of its spread (`operations/cutting_forces.py`), so all of it is for screening.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from toolpaths.common.units import show, size
from toolpaths.job.bit import Bit
from toolpaths.job.machine import Machine
from toolpaths.operations import limit_words as words
from toolpaths.operations.cutting_forces import deflection, mean_force
from toolpaths.operations.operation import Cutting
from toolpaths.operations.speeds_context import SpeedsContext

YIELD = 0.1
"""How far the machine may give way in a rough pass, mm: well within the last skim. This project's own, no source."""
Build = Literal["changer", "spindle", "router motor"]
"""How heavily a machine is built, as far as its file says."""
LIGHT_SPINDLE = 500.0
"""A spindle of fewer watts sits on a frame as light as one for a router motor. Common practice, no source."""
_TRAVELS = 500.0, 1000.0
_CAREFUL: dict[Build, tuple[float, float, float]] = {
    "changer": (500.0, 400.0, 300.0),
    "spindle": (200.0, 150.0, 100.0),
    "router motor": (120.0, 100.0, 60.0),
}
"""N/mm where nobody has measured: for a travel up to each of `_TRAVELS`, mm, and beyond. From memory, on the soft side;
machines of one size differ by several times."""
_BUILDS: dict[Build, str] = {
    "changer": "a machine that changes bits by itself",
    "spindle": "a machine with a spindle",
    "router motor": "a frame with a router motor or a light spindle",
}


class FrameStiffness(NamedTuple):
    """Stiffness at the bit, N/mm, and where the figure comes from, in words."""

    value: float
    measured: bool
    words: str


def stiffness_of(machine: Machine) -> FrameStiffness:
    """As measured; else a careful figure by the machine's build and the longer of its travels along x and y."""
    if machine.stiffness is not None:
        return FrameStiffness(machine.stiffness, True, f"{machine.stiffness:g} N/mm, as measured")
    travel, build = max(machine.travel.x, machine.travel.y), build_of(machine)
    place = sum(travel > most for most in _TRAVELS)
    value = _CAREFUL[build][place]
    limits = [show(most, machine.units, 0) for most in _TRAVELS]
    reach = f"over {limits[-1]}" if place == len(_TRAVELS) else f"up to {limits[place]}"
    words = f"not measured: taken as {value:g} N/mm, for {_BUILDS[build]} and a travel of {reach}"
    return FrameStiffness(value, False, words)


def build_of(machine: Machine) -> Build:
    """How heavily a machine is built, from how it changes bits, who sets its spindle's speed, and its watts."""
    if machine.tool_change == "automatic":
        return "changer"
    power = machine.spindle.power
    light = machine.spindle.set_by != "program" or (power is not None and power < LIGHT_SPINDLE)
    return "router motor" if light else "spindle"


def deepest_steady(machine: Machine, feed: float, rpm: float) -> float:
    """The deepest pass, mm, in a slot as wide as the bit, at which the machine gives way by `YIELD`: for any bit.

    The mean force is in proportion to the slot's section over the bit's diameter, so the diameter falls out.
    """
    return YIELD * stiffness_of(machine).value / mean_force(1.0, feed, 1.0, rpm)


def steady_depth(case: SpeedsContext, depth: float, feed: float, rpm: float) -> float:
    """A default pass depth, mm, so shallow that the machine bears it; the job's own is left as it is.

    A drill is pushed along its axis, and is left too.
    """
    most = math.floor(1e3 * deepest_steady(case.machine, feed, rpm)) / 1e3
    if case.feature.pass_depth is not None or case.bit.shape == "drill" or depth <= most:
        return depth
    frame = stiffness_of(case.machine)
    reason = words.GIVES_WAY.format(
        by=size(YIELD, case.machine.units),
        found=words.STIFFNESS_MEASURED if frame.measured else words.STIFFNESS_TAKEN,
        stiffness=frame.value,
    )
    case.because("pass_depth", "machine", reason)
    return most


def gives_way(machine: Machine, bit: Bit, cutting: Cutting, deep: float, *, skimmed: bool = True) -> float:
    """How far machine and bit together give way sideways where a wall so deep gets its last cut, mm.

    `skimmed`: by a last skim at full depth, where the cutting leaves wood for one; else in a slot, pass by pass.
    """
    if bit.shape == "drill" or deep <= 0:
        return 0.0
    deep, wide = min(deep, bit.cutting_length), bit.working_diameter
    if skimmed and cutting.finish_allowance > 0:
        section, feed = cutting.finish_allowance * deep, cutting.along_wall(deep, wide)
    else:
        deep = min(deep, cutting.pass_depth)
        section, feed = wide * deep, cutting.feed
    force = mean_force(section, feed, wide, cutting.rpm)
    return force / stiffness_of(machine).value + deflection(bit, force, deep)
