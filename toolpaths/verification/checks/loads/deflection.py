"""Does the bit bend too far? How far its tip bends aside under the cutting force, as an estimate for screening.

The bit is a stepped cantilever: its shank, and its flutes at 0.8 of the diameter. The force is the section of one
chip times 10 to 60 N a mm2, and the upper end is judged. Straight down a bit is pushed along its axis, which does
not bend it.
"""

from __future__ import annotations

import numpy as np

from toolpaths.job.bit import Bit
from toolpaths.operations.chip_load import thickest_share
from toolpaths.operations.cutting_forces import cutting_forces, deflection
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import PLUNGE, engagement
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_loads import Overload, overloads
from toolpaths.verification.remedies import in_words
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.loads import bends_aside

LIMIT = 0.1
"""mm: the least clearance of a glued fit, and what a scored line may be wider than the saw's kerf.

The force is taken at its upper end: a likely one bends the bit about half as far. This project's own.
"""
_STOP = 2.0


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `deflection`: the worst place of each bit and feature."""
    met = engagement(inputs)
    share = thickest_share(met.from_wall, met.slope, PLUNGE)

    def forces(place: int, bit: Bit, feed: float, rpm: float) -> tuple[float, float]:
        depth = float(min(met.axial[place], bit.cutting_length))
        return cutting_forces(float(share[place]) * feed / (rpm * bit.flutes), depth)

    def bends(place: int, bit: Bit, feed: float, rpm: float) -> float:
        depth = float(min(met.axial[place], bit.cutting_length))
        return deflection(bit, forces(place, bit, feed, rpm)[1], depth) / LIMIT

    found = overloads(inputs, met, np.nonzero(met.cuts & ~met.plunges)[0], bends)
    return [_finding(inputs, one) for one in found]


def _finding(inputs: CheckInput, found: Overload) -> Finding:
    remedies, severity = found.slower(inputs), Severity.stop if found.part > _STOP else None
    said = bends_aside(
        found.part * LIMIT, LIMIT, remedy=in_words(remedies, ""), feed=found.feed / found.part, units=inputs.job.units
    )
    return at_move(inputs, "deflection", said, found.move, feature=found.feature, severity=severity, remedies=remedies)
