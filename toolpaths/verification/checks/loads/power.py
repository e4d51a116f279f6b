"""Is the spindle's power enough for the wood removed each minute? Only where the machine file gives watts.

Power is the section of wood ahead of the bit, times the feed, times 10 to 60 N a mm2: a spread, for screening.
"""

from __future__ import annotations

import numpy as np

from toolpaths.job.bit import Bit
from toolpaths.operations.cutting_forces import cutting_powers, power_at, torque
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import engagement
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_loads import Overload, overloads
from toolpaths.verification.remedies import in_words
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.loads import power_too_low

_STOP = 2.0


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `power`: the worst place of each bit and feature."""
    spindle = inputs.machine.spindle
    if spindle.power is None:
        return []
    label, met = spindle.power, engagement(inputs)

    def section(place: int, bit: Bit) -> float:
        """Section of wood ahead of the bit, mm2: down a slope its end takes the wood under it as well."""
        angle = np.radians(max(float(met.slope[place]), 0.0))
        under = np.pi * bit.radius**2 * float(met.radial[place]) * np.sin(angle)
        return float(met.section[place] * np.cos(angle) + under)

    def takes(place: int, bit: Bit, feed: float, rpm: float) -> float:
        return cutting_powers(section(place, bit), feed)[1] / power_at(label, spindle.max_rpm, rpm)

    return [
        _finding(inputs, one, section(one.place, inputs.bit_named(one.name)), label)
        for one in overloads(inputs, met, np.nonzero(met.cuts)[0], takes)
    ]


def _finding(inputs: CheckInput, found: Overload, section: float, label: float) -> Finding:
    remedies, severity = found.slower(inputs), Severity.stop if found.part > _STOP else None
    needed, has = cutting_powers(section, found.feed)[1], power_at(label, inputs.machine.spindle.max_rpm, found.rpm)
    turning, feed = torque(needed, found.rpm), found.feed / found.part
    said = power_too_low(needed, turning, has, remedy=in_words(remedies, ""), feed=feed, units=inputs.job.units)
    return at_move(inputs, "power", said, found.move, feature=found.feature, severity=severity, remedies=remedies)
