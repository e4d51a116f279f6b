"""Do bit, shank, collet nut and holder pass clear of every clamp, screw and stop, on rapids and on cuts?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.units import show
from toolpaths.job.bit import Bit
from toolpaths.job.machine import Collet
from toolpaths.job.stock import KeepOut
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import TOUCH, backing_out, lowest_over_box
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.trace_queries import at_move, lowest_tip


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `keep-out`: for each clamp the lines that touch it, worst first."""
    clamps = inputs.context.setup.keep_out
    found = [one for clamp in clamps for touched in (_unknown, _known) for one in touched(inputs, clamp)]
    found.sort(key=lambda one: -one[0])
    return shortened([at_move(inputs, "keep-out", message, move) for _, message, move in found])


def _unknown(inputs: CheckInput, clamp: KeepOut) -> Iterator[tuple[float, str, int]]:
    """(depth in mm, message, move) of moves whose place is not known: they may be over the clamp."""
    trace, units = inputs.trace, inputs.job.units
    known = np.all(np.isfinite(trace.start) & np.isfinite(trace.end), axis=1)
    low = lowest_tip(inputs)
    for i in np.nonzero(~known & (low < clamp.height - TOUCH - inputs.machine.half_digit))[0].tolist():
        message = (
            f"the bit goes to {show(float(low[i]), units)} above the bed while its place is not known yet, and "
            f"{clamp.name} is {show(clamp.height, units)} high: raise the bit above it first"
        )
        yield clamp.height - float(low[i]), message, i


def _known(inputs: CheckInput, clamp: KeepOut) -> Iterator[tuple[float, str, int]]:
    """(depth in mm, message, move) of moves on which a part of what turns passes through the clamp."""
    moves, trace, units = inputs.at_machine, inputs.trace, inputs.job.units
    box = (clamp.x[0], clamp.y[0], clamp.x[1], clamp.y[1])
    rounding = inputs.machine.half_digit
    worst = np.zeros(len(trace))
    part = np.full(len(trace), -1, dtype=np.int64)
    names: list[str] = []
    going = ~backing_out(inputs)
    for number, _, bit in inputs.bits_in(moves.bit):
        for name, radius, rises in _parts(bit, inputs.machine.collet):
            low = np.minimum(moves.start[:, 2], moves.end[:, 2]) + rises
            near = np.nonzero(going & (moves.bit == number) & (low < clamp.height - TOUCH))[0]
            if not len(near):
                continue
            deep = clamp.height - rises - lowest_over_box(moves.start[near], moves.end[near], radius - rounding, box)
            hit = deep > TOUCH + rounding
            parent, deep = moves.parent[near[hit]], deep[hit]
            before = worst[parent]
            np.maximum.at(worst, parent, deep)
            part[parent[worst[parent] > before]] = len(names)
            names.append(name)
    for i in np.nonzero(worst > 0)[0].tolist():
        message = (
            f"{names[part[i]]} passes through {clamp.name}, {show(float(worst[i]), units)} below its top "
            f"({show(clamp.height, units)} above the bed); move it, or keep the program away from it"
        )
        yield float(worst[i]), message, i


def _parts(bit: Bit, collet: Collet) -> list[tuple[str, float, float]]:
    """What turns, as upright cylinders: name, radius, and how far above the tip it begins; mm.

    A pointed bit counts as wide as its rim from the tip on.
    """
    return [
        ("the bit", bit.radius, 0.0),
        ("the shank", bit.shank / 2, bit.cutting_length),
        ("the collet nut", collet.nut_diameter / 2, bit.stickout),
        ("the tool holder", collet.holder_diameter / 2, bit.stickout + collet.nut_height),
    ]
