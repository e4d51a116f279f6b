"""Do bit, shank, collet nut and holder pass clear of every clamp, screw and stop, on rapids and on cuts?"""

from __future__ import annotations

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

_CODE = "keep-out"


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `keep-out`: for each clamp the lines that touch it, worst first."""
    found: list[tuple[float, Finding]] = []
    for clamp in inputs.context.setup.keep_out:
        found += _unknown(inputs, clamp)
        found += _known(inputs, clamp)
    found.sort(key=lambda pair: -pair[0])
    return shortened([finding for _, finding in found])


def _unknown(inputs: CheckInput, clamp: KeepOut) -> list[tuple[float, Finding]]:
    """Moves whose place is not known: they may be over the clamp."""
    trace, units = inputs.trace, inputs.job.units
    known = np.all(np.isfinite(trace.start) & np.isfinite(trace.end), axis=1)
    low = lowest_tip(inputs)
    return [
        (
            clamp.height - float(low[i]),
            at_move(
                inputs,
                _CODE,
                f"the bit goes to {show(float(low[i]), units)} above the bed while its place is not known yet, and "
                f"{clamp.name} is {show(clamp.height, units)} high: raise the bit above it first",
                int(i),
            ),
        )
        for i in np.nonzero(~known & (low < clamp.height - TOUCH - inputs.machine.half_digit))[0]
    ]


def _known(inputs: CheckInput, clamp: KeepOut) -> list[tuple[float, Finding]]:
    moves, trace, units = inputs.at_machine, inputs.trace, inputs.job.units
    box = (clamp.x[0], clamp.y[0], clamp.x[1], clamp.y[1])
    rounding = inputs.machine.half_digit
    worst = np.zeros(len(trace))
    part = np.full(len(trace), -1, dtype=np.int64)
    names: list[str] = []
    going = ~backing_out(inputs)
    for number in np.unique(moves.bit):
        if int(number) not in inputs.bits:
            continue  # `wrong-bit` stops it
        for name, radius, rises in _parts(inputs.bits[int(number)][1], inputs.machine.collet):
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
    return [
        (
            float(worst[i]),
            at_move(
                inputs,
                _CODE,
                f"{names[part[i]]} passes through {clamp.name}, {show(float(worst[i]), units)} below its top "
                f"({show(clamp.height, units)} above the bed); move it, or keep the program away from it",
                int(i),
            ),
        )
        for i in np.nonzero(worst > 0)[0]
    ]


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
