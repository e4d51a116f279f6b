"""Does a program that is to run in the air stay in the air, and say so; and one that is to cut, not?"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import at_line, at_move, lowest_tip
from toolpaths.verification.wording.program import lift_too_small, lifted_but_cuts, other_lift

CLEAR = 1.0
"""How far above stock and clamps a lifted program must stay, mm. Common practice, no source."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `air`."""
    return [*_said(inputs), *_touched(inputs)]


def _said(inputs: CheckInput) -> Iterator[Finding]:
    says, lift, units = inputs.trace.header.lifted, inputs.lift, inputs.job.units
    if abs(says - lift) <= inputs.machine.half_digit + 1e-6:
        return
    yield at_line(inputs, "air", lifted_but_cuts(says, units) if lift == 0 else other_lift(says, lift, units))


def _touched(inputs: CheckInput) -> Iterator[Finding]:
    if inputs.lift <= 0:
        return
    low = lowest_tip(inputs) + inputs.lift
    if not np.any(np.isfinite(low)):
        return
    lowest = int(np.nanargmin(low))
    z, units = float(low[lowest]), inputs.job.units
    bodies = [("the blank", inputs.context.top), *((o.name, o.top) for o in inputs.obstacles)]
    name, height = max(bodies, key=lambda body: body[1])
    if z < height + CLEAR - inputs.machine.half_digit - 1e-6:
        enough = math.ceil((inputs.lift + height + CLEAR - z) * 10) / 10
        message = lift_too_small(name, z - height, CLEAR, enough, units)
        yield at_move(inputs, "air", message, lowest)
