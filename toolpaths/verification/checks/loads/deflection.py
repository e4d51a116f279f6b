"""Does the bit bend too far? How far its tip bends aside under the cutting force, as an estimate for screening.

The bit is a stepped cantilever: its shank, and its flutes at 0.8 of the diameter. The force is the section of one
chip times 10 to 60 N a mm2, and the upper end is judged. Straight down a bit is pushed along its axis, which does
not bend it.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.units import show, show_feed, show_fine
from toolpaths.job.bit import Bit
from toolpaths.operations.chip_load import thickest_share
from toolpaths.operations.cutting_forces import LEAST_FORCE, MOST_FORCE, cutting_forces, deflection
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import PLUNGE, engagement
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_loads import Overload, overloads
from toolpaths.verification.remedies import in_words
from toolpaths.verification.trace_queries import at_move

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
    bits = {one.name: inputs.bit_named(one.name) for one in found}
    return [
        _finding(inputs, one, forces(one.place, bits[one.name], one.feed, one.rpm), float(met.axial[one.place]))
        for one in found
    ]


def _finding(inputs: CheckInput, found: Overload, forces: tuple[float, float], depth: float) -> Finding:
    units, stop = inputs.job.units, found.part > _STOP
    remedies = found.slower(inputs)
    advice = in_words(remedies, f"feed at most {show_feed(found.feed / found.part, units)}").capitalize()
    message = (
        f"{found.name} bends {show_fine(found.part * LIMIT, units)} aside at its tip if the wood pushes with "
        f"{forces[1]:.1f} N, and {show_fine(LIMIT, units)} are what a fit bears"
        f"{'; that is more than twice as much' if stop else ''}. Force is an estimate, {forces[0]:.1f} to "
        f"{forces[1]:.1f} N ({LEAST_FORCE:.0f} to {MOST_FORCE:.0f} N a mm2 of chip, from memory): good for the "
        f"order of size only. It cuts {show(depth, units)} deep at once here. {advice}, or take a thicker or "
        "shorter bit"
    )
    severity = Severity.stop if stop else None
    return at_move(
        inputs, "deflection", message, found.move, feature=found.feature, severity=severity, remedies=remedies
    )
