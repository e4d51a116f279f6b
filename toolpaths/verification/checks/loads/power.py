"""Is the spindle's power enough for the wood removed each minute? Only where the machine file gives watts.

Power is the section of wood ahead of the bit, times the feed, times 10 to 60 N a mm2: a spread, for screening.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.units import show, show_feed
from toolpaths.job.bit import Bit
from toolpaths.operations.cutting_forces import LEAST_FORCE, MOST_FORCE, cutting_powers, power_at, torque
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import engagement
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_loads import Overload, overloads
from toolpaths.verification.remedies import in_words
from toolpaths.verification.trace_queries import at_move

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
        _finding(inputs, one, section(one.place, inputs.bit_named(one.name)), float(met.axial[one.place]), label)
        for one in overloads(inputs, met, np.nonzero(met.cuts)[0], takes)
    ]


def _finding(inputs: CheckInput, found: Overload, section: float, depth: float, label: float) -> Finding:
    units, feed, rpm, stop = inputs.job.units, found.feed, found.rpm, found.part > _STOP
    least, most = cutting_powers(section, feed)
    remedies = found.slower(inputs)
    advice = in_words(remedies, f"feed at most {show_feed(feed / found.part, units)}").capitalize()
    message = (
        f"{found.name} takes {section * feed / 60000:.2f} cm3 of wood a second, which needs {least:.0f} to "
        f"{most:.0f} W ({torque(least, rpm):.2f} to {torque(most, rpm):.2f} Nm), and at {rpm:.0f} rpm a spindle of "
        f"{label:.0f} W has about {power_at(label, inputs.machine.spindle.max_rpm, rpm):.0f} W for the wood"
        f"{'; that is not half of it' if stop else ''}. An estimate ({LEAST_FORCE:.0f} to {MOST_FORCE:.0f} N a mm2 of "
        f"chip, from memory): good for the order of size only. It cuts {show(depth, units)} deep at once here. "
        f"{advice}"
    )
    severity = Severity.stop if stop else None
    return at_move(inputs, "power", message, found.move, feature=found.feature, severity=severity, remedies=remedies)
