"""Does a program that is to run in the air stay in the air, and say so; and one that is to cut, not?"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from toolpaths.common.units import show
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import at_line, at_move, lowest_tip

CLEAR = 1.0
"""How far above stock and clamps a lifted program must stay, mm. Common practice, no source."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `air`."""
    return [*_said(inputs), *_touched(inputs)]


def _said(inputs: CheckInput) -> Iterator[Finding]:
    says, lift, units = inputs.trace.header.lifted, inputs.lift, inputs.job.units
    if abs(says - lift) <= inputs.machine.half_digit + 1e-6:
        return
    if lift == 0:
        message = (
            f"the header says that all motion is lifted by {show(says, units)} to run in the air, but the program is "
            "judged as one that cuts; name the lift (--air), or write the set without it"
        )
    else:
        stated = f"a lift of {show(says, units)}" if says else "no lift"
        message = f"the program should be lifted by {show(lift, units)}, and its header says {stated}; write it again"
    yield at_line(inputs, "air", message)


def _touched(inputs: CheckInput) -> Iterator[Finding]:
    if inputs.lift <= 0:
        return
    low = lowest_tip(inputs) + inputs.lift
    if not np.any(np.isfinite(low)):
        return
    lowest = int(np.nanargmin(low))
    z, context, units = float(low[lowest]), inputs.context, inputs.job.units
    bodies = [("the stock", context.top), *((o.name, o.top) for o in inputs.obstacles)]
    name, height = max(bodies, key=lambda body: body[1])
    if z < height + CLEAR - inputs.machine.half_digit - 1e-6:
        enough = math.ceil((inputs.lift + height + CLEAR - z) * 10) / 10
        message = (
            f"lifted by {show(inputs.lift, units)}, the tip still comes down to {show(context.above_bed(z), units)} "
            f"above the bed, and {name} stands {show(context.above_bed(height), units)} high; lift by at least "
            f"{show(enough, units)}"
        )
        yield at_move(inputs, "air", message, lowest)
