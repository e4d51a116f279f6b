"""Does something hold the part when its outline is cut free?

Common practice, no source: tabs, tape or vacuum; at least two tabs, four on a board longer than 300 mm;
each 5 mm long and 1 mm high or more.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.units import show
from toolpaths.operations.operation import Contour
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Entry, Finding
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.remedies import depth, in_words

LONG_BOARD, FEWEST, FEWEST_ON_LONG = 300.0, 2, 4
SHORTEST, LOWEST = 5.0, 1.0
"""Least length and height of a tab, mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `tab-weak`."""
    if inputs.context.setup.holders.adheres:
        return []
    found = []
    for operation in inputs.operations:
        if isinstance(operation, Contour) and operation.floor <= inputs.machine.half_digit:
            remedies = ((Entry("tabs", _enough(inputs, operation)),),)
            weak = _weakness(inputs, operation, f"{in_words(remedies, '')} or more")
            if weak:
                found.append(at_feature(inputs, "tab-weak", weak, operation.feature, remedies=remedies))
    return found


def _span(operation: Contour) -> tuple[float, int]:
    """How long the part is, mm, and the fewest tabs for that."""
    span = float(np.ptp(operation.loop.points, axis=0).max())
    return span, FEWEST_ON_LONG if span > LONG_BOARD else FEWEST


def _enough(inputs: CheckInput, operation: Contour) -> str:
    """Tabs that hold it, as typed in the job: those that it has, where they are more."""
    units, own = inputs.job.units, operation.tabs
    count = max(len(own), _span(operation)[1])
    length = max(SHORTEST, min((t.length for t in own), default=0.0))
    height = max(LOWEST, min((t.height for t in own), default=0.0))
    sizes = f"length: {depth(length, units, up=True)}, height: {depth(height, units, up=True)}"
    return f"{{count: {count}, {sizes}}}"


def _weakness(inputs: CheckInput, operation: Contour, advice: str) -> str:
    units = inputs.job.units
    span, fewest = _span(operation)
    if not operation.tabs:
        hold = inputs.context.setup.hold
        held = "hold: clamps holds the blank, not the part" if hold else "no hold is named"
        return (
            f"the outline goes through without a tab, and {held}: at the end the part may move into the bit; "
            f"{advice}, or hold it with tape or vacuum"
        )
    faults = []
    if len(operation.tabs) < fewest:
        count = f"{len(operation.tabs)} tab{'s' if len(operation.tabs) > 1 else ''}"
        faults.append(f"{count} for a part {show(span, units, 0 if units == 'mm' else 1)} long (at least {fewest})")
    length, height = min(t.length for t in operation.tabs), min(t.height for t in operation.tabs)
    if length < SHORTEST - 1e-6:
        faults.append(f"{show(length, units)} of length (at least {show(SHORTEST, units)})")
    if height < LOWEST - 1e-6:
        faults.append(f"{show(height, units)} of height (at least {show(LOWEST, units)})")
    if not faults:
        return ""
    return f"the tabs may break before the outline is through: {', '.join(faults)}; {advice}"
