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


def check(evidence: CheckInput) -> list[Finding]:
    """Findings `air`."""
    return [*_said(evidence), *_touched(evidence)]


def _said(evidence: CheckInput) -> Iterator[Finding]:
    says, lift, units = evidence.trace.header.lifted, evidence.lift, evidence.job.units
    if abs(says - lift) <= evidence.machine.half_digit + 1e-6:
        return
    if lift == 0:
        message = (
            f"the header says that all motion is lifted by {show(says, units)} to run in the air, but the program is "
            "judged as one that cuts; name the lift (--air), or write the set without it"
        )
    else:
        stated = f"a lift of {show(says, units)}" if says else "no lift"
        message = f"the program should be lifted by {show(lift, units)}, and its header says {stated}; write it again"
    yield at_line(evidence, "air", message)


def _touched(evidence: CheckInput) -> Iterator[Finding]:
    if evidence.lift <= 0:
        return
    low = lowest_tip(evidence) + evidence.lift
    if not np.any(np.isfinite(low)):
        return
    lowest = int(np.nanargmin(low))
    z, scene, units = float(low[lowest]), evidence.scene, evidence.job.units
    bodies = [("the stock", scene.top), *((k.name, k.height) for k in scene.setup.keep_out)]
    name, height = max(bodies, key=lambda body: body[1])
    if z < height + CLEAR - evidence.machine.half_digit - 1e-6:
        enough = math.ceil((evidence.lift + height + CLEAR - z) * 10) / 10
        yield at_move(
            evidence,
            "air",
            f"lifted by {show(evidence.lift, units)}, the tip still comes down to {show(z, units)} above the bed, and "
            f"{name} stands {show(height, units)} high; lift by at least {show(enough, units)}",
            lowest,
        )
