"""Does the bit stay where it is led? How far its tip bends aside under the force of its chips, by screening figures.

The bit is a stepped cantilever: its shank, and its flutes at 0.8 of the diameter. The force is the section of one
chip times 10 to 60 N a mm2, and the upper end is judged. Straight down a bit is pushed along its axis, which does
not bend it.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.units import show, show_feed, show_fine
from toolpaths.operations.chip_load import thickest_share
from toolpaths.operations.cutting_forces import LEAST_FORCE, MOST_FORCE, cutting_forces, deflection
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import PLUNGE, engagement
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.remedies import fed, in_words
from toolpaths.verification.trace_queries import at_move, feature_of, speeds_of

LIMIT = 0.1
"""mm: the least clearance of a glued fit, and what a scored line may be wider than the saw's kerf.

The force is taken at its upper end: a likely one bends the bit about half as far. This project's own.
"""
_STOP = 2.0


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `deflection`: the worst place of each bit and feature."""
    met, trace = engagement(inputs), inputs.trace
    parent = inputs.moves.parent[met.move]
    share = thickest_share(met.from_wall, met.slope, PLUNGE)
    worst: dict[tuple[str, str], tuple[float, int, float, float]] = {}
    over: dict[tuple[str, str], dict[float, float]] = {}
    for i in np.nonzero(met.cuts & ~met.plunges)[0].tolist():
        name, bit = inputs.bits[int(inputs.moves.bit[met.move[i]])]
        feed, text_rpm = float(trace.feed[parent[i]]), float(trace.rpm[parent[i]])
        slow = speeds_of(inputs, name, feed, text_rpm)[0]
        if slow <= 0:
            continue  # `spindle` stops it
        depth = float(min(met.axial[i], bit.cutting_length))
        least, most = cutting_forces(float(share[i]) * feed / (slow * bit.flutes), depth)
        leans = deflection(bit, most, depth)
        key = name, feature_of(inputs, int(parent[i]))
        if leans > LIMIT:
            mine = over.setdefault(key, {})
            mine[feed] = max(leans, mine.get(feed, 0.0))
        if leans > max(LIMIT, worst.get(key, (0.0,))[0]):
            worst[key] = leans, i, least, most
    return [
        _finding(
            inputs, name, feature, leans, int(met.move[i]), float(met.axial[i]), (least, most), over[name, feature]
        )
        for (name, feature), (leans, i, least, most) in worst.items()
    ]


def _finding(
    inputs: CheckInput,
    name: str,
    feature: str,
    leans: float,
    move: int,
    depth: float,
    forces: tuple[float, float],
    over: dict[float, float],
) -> Finding:
    units = inputs.job.units
    parent = int(inputs.moves.parent[move])
    stop = leans > LIMIT * _STOP
    feed = LIMIT / leans * float(inputs.trace.feed[parent])
    remedies = fed(inputs, name, feature, [(f, f * LIMIT / much) for f, much in over.items()])
    advice = in_words(remedies, f"feed at most {show_feed(feed, units)}").capitalize()
    return at_move(
        inputs,
        "deflection",
        f"{name} bends {show_fine(leans, units)} aside at its tip if the wood pushes with {forces[1]:.1f} N, and "
        f"{show_fine(LIMIT, units)} are what a fit bears"
        f"{'; that is more than twice as much' if stop else ''}. Force is an estimate, {forces[0]:.1f} to "
        f"{forces[1]:.1f} N ({LEAST_FORCE:.0f} to {MOST_FORCE:.0f} N a mm2 of chip, from memory): good for the "
        f"order of size only. It cuts {show(depth, units)} deep at once here. {advice}, or take a thicker or "
        "shorter bit",
        parent,
        feature=feature,
        severity=Severity.stop if stop else None,
        remedies=remedies,
    )
