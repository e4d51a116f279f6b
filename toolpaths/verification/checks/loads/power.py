"""Has the spindle the power for what is cut away each minute? Only where the machine file says its watts.

Power is the section of wood ahead of the bit, times the feed, times 10 to 60 N a mm2: a spread, for screening.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.units import show, show_feed
from toolpaths.operations.cutting_forces import LEAST_FORCE, MOST_FORCE, cutting_powers, power_at, torque
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import engagement
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.remedies import fed, in_words
from toolpaths.verification.trace_queries import at_move, feature_of, speeds_of

_STOP = 2.0


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `power`: the worst place of each bit and feature."""
    label = inputs.machine.spindle.power
    if label is None:
        return []
    met, trace = engagement(inputs), inputs.trace
    parent = inputs.moves.parent[met.move]
    worst: dict[tuple[str, str], tuple[float, int, float]] = {}
    over: dict[tuple[str, str], dict[float, float]] = {}
    for i in np.nonzero(met.cuts)[0].tolist():
        name, bit = inputs.bits[int(inputs.moves.bit[met.move[i]])]
        feed = float(trace.feed[parent[i]])
        slow = speeds_of(inputs, name, feed, float(trace.rpm[parent[i]]))[0]
        if slow <= 0:
            continue  # `spindle` stops it
        # Down a slope the bit's end takes the wood under it as well.
        angle = np.radians(max(float(met.slope[i]), 0.0))
        under = np.pi * bit.radius**2 * float(met.radial[i]) * np.sin(angle)
        section = float(met.section[i]) * np.cos(angle) + under
        part = cutting_powers(section, feed)[1] / power_at(label, inputs.machine.spindle.max_rpm, slow)
        key = name, feature_of(inputs, int(parent[i]))
        if part > 1.0:
            mine = over.setdefault(key, {})
            mine[feed] = max(part, mine.get(feed, 0.0))
        if part > max(1.0, worst.get(key, (0.0,))[0]):
            worst[key] = part, i, section
    return [
        _finding(inputs, name, feature, part, int(met.move[i]), float(met.axial[i]), section, over[name, feature])
        for (name, feature), (part, i, section) in worst.items()
    ]


def _finding(
    inputs: CheckInput,
    name: str,
    feature: str,
    part: float,
    move: int,
    depth: float,
    section: float,
    over: dict[float, float],
) -> Finding:
    units, spindle, parent = inputs.job.units, inputs.machine.spindle, int(inputs.moves.parent[move])
    feed = float(inputs.trace.feed[parent])
    rpm = speeds_of(inputs, name, feed, float(inputs.trace.rpm[parent]))[0]
    least, most = cutting_powers(section, feed)
    assert spindle.power is not None
    stop = part > _STOP
    remedies = fed(inputs, name, feature, [(f, f / much) for f, much in over.items()])
    advice = in_words(remedies, f"feed at most {show_feed(feed / part, units)}").capitalize()
    return at_move(
        inputs,
        "power",
        f"{name} takes {section * feed / 60000:.2f} cm3 of wood a second, which needs {least:.0f} to {most:.0f} W "
        f"({torque(least, rpm):.2f} to {torque(most, rpm):.2f} Nm), and at {rpm:.0f} rpm a spindle of "
        f"{spindle.power:.0f} W has about {power_at(spindle.power, spindle.max_rpm, rpm):.0f} W for the wood"
        f"{'; that is not half of it' if stop else ''}. An estimate ({LEAST_FORCE:.0f} to {MOST_FORCE:.0f} N a mm2 of "
        f"chip, from memory): good for the order of size only. It cuts {show(depth, units)} deep at once here. "
        f"{advice}",
        parent,
        feature=feature,
        severity=Severity.stop if stop else None,
        remedies=remedies,
    )
