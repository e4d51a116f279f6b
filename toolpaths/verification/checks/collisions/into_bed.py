"""Does the tip stay above the bed, but for what the machine's waste bed may take from a through cut?"""

from __future__ import annotations

import numpy as np

from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.bevel_floor import ConeFloor
from toolpaths.target_shape.demand import GOUGE
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.trace_queries import at_move, lowest_tip
from toolpaths.verification.wording import collisions as wording


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `into-bed`: every line that goes deeper, whatever is there, deepest first.

    Coming out again is no fault.
    """
    allowed, units = _allowed(inputs), inputs.job.units
    low = lowest_tip(inputs)
    start = inputs.trace.start[:, 2] + inputs.context.zero[2] - inputs.lift
    coming_out = (start <= low) & (inputs.trace.end[:, 2] > inputs.trace.start[:, 2])
    deep = np.nonzero((low < -(allowed + GOUGE)) & ~coming_out)[0]
    found: list[Finding] = []
    backing = inputs.context.bed < 0
    for i in deep[np.argsort(low[deep], kind="stable")].tolist():
        message = wording.into_bed(backing, -float(low[i]), allowed, units)
        found.append(at_move(inputs, "into-bed", message, i))
    return shortened(found)


def _allowed(inputs: CheckInput) -> float:
    """How deep below the blank the tip may go, mm: what bed or backing may take, or the holes wanted in the bed."""
    if not inputs.on_bed:
        return inputs.context.breakthrough
    zero = np.zeros(1)
    bores = [d.floor for d in inputs.demands if d.kind is CutKind.bed_hole]
    asked = [-(f.z if isinstance(f, ConeFloor) else float(f.height(zero, zero)[0])) for f in bores]
    return max([inputs.machine.bed_allowance - inputs.context.bed, *asked])
