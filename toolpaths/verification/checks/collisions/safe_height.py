"""Does everything that moves fast sideways keep above the blank and the clamps, from the first move on?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.gcode.reader.trace import RAPID
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import TOUCH, lowest_over_box
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened, worst_of_each
from toolpaths.verification.trace_queries import at_move, lowest_tip
from toolpaths.verification.wording.collisions import (
    CUTS_FROM_NOWHERE,
    SIDEWAYS_FIRST,
    low_over,
    too_low_from_nowhere,
)

CLEAR = 1.0
"""How far above stock and clamps a rapid must stay, mm, unless the machine's safe height is less.

Common practice, no source.
"""
_CODE = "safe-height"


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `safe-height`."""
    return shortened([*_from_nowhere(inputs), *_over_the_work(inputs)])


def _from_nowhere(inputs: CheckInput) -> Iterator[Finding]:
    """Moves made before the bit's place is known: the first motion must raise Z, and nothing may be cut."""
    trace, context, units = inputs.trace, inputs.context, inputs.job.units
    tallest = max([context.top, *(o.top for o in inputs.obstacles)])
    enough = tallest + _clearance(inputs)
    low = lowest_tip(inputs)
    unknown = ~np.all(np.isfinite(trace.start), axis=1)
    for i in np.nonzero(unknown)[0]:
        sideways = bool(np.any(np.isfinite(trace.end[i, :2]) & (trace.start[i, :2] != trace.end[i, :2])))
        if sideways and not np.isfinite(trace.start[i, 2]):
            said = SIDEWAYS_FIRST
        elif trace.kind[i] == RAPID and sideways and low[i] < enough - TOUCH - inputs.machine.half_digit:
            said = too_low_from_nowhere(context.above_bed(float(low[i])), context.above_bed(enough), units)
        elif trace.kind[i] != RAPID and not low[i] >= enough - TOUCH - inputs.machine.half_digit:
            said = CUTS_FROM_NOWHERE
        else:
            continue
        yield at_move(inputs, _CODE, said, int(i))


def _over_the_work(inputs: CheckInput) -> list[Finding]:
    moves, context, units = inputs.moves, inputs.context, inputs.job.units
    clear = _clearance(inputs)
    sideways = np.any(moves.start[:, :2] != moves.end[:, :2], axis=1)
    rapid = np.nonzero(sideways & (inputs.trace.kind[moves.parent] == RAPID))[0]
    bodies = [("the blank", context.stock_box, context.top)]
    bodies += [(o.name, o.bounds, o.top) for o in inputs.obstacles]
    found: list[Finding] = []
    for name, box, height in bodies:
        limit = height + clear - TOUCH - inputs.machine.half_digit
        z = np.minimum(moves.start[rapid, 2], moves.end[rapid, 2])
        near = rapid[z < limit]
        if not len(near):
            continue
        radius = np.array([inputs.bits[int(b)][1].radius if int(b) in inputs.bits else 0.0 for b in moves.bit[near]])
        low = np.full(len(near), np.inf)
        for r in np.unique(radius):
            own = radius == r
            low[own] = lowest_over_box(moves.start[near[own]], moves.end[near[own]], float(r), box)
        hit = np.nonzero(low < limit)[0]
        for i in worst_of_each(moves.parent[near[hit]], -low[hit]):
            lowest, least = context.above_bed(float(low[hit[i]])), context.above_bed(height + clear)
            message = low_over(name, lowest, least, units)
            found.append(at_move(inputs, _CODE, message, int(moves.parent[near[hit[i]]])))
    return sorted(found, key=lambda f: f.program_line)


def _clearance(inputs: CheckInput) -> float:
    return min(CLEAR, inputs.machine.safe_height)
