"""Does a rapid go through wood? It is compared with the wood as it is before that move, not at the end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from toolpaths.gcode.reader.trace import RAPID
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import TOUCH, backing_out, highest, highest_at
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import contacts
from toolpaths.verification.trace_queries import at_move, lowest_tip
from toolpaths.verification.wording.collisions import rapid_may_hit_wood, rapid_through_wood


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `rapid-in-wood`."""
    return shortened([*_unknown(inputs), *_known(inputs)])


def _unknown(inputs: CheckInput) -> Iterator[Finding]:
    """Rapids from or to an unknown place: they may be anywhere over the wood."""
    trace, wood, units = inputs.trace, highest(inputs), inputs.job.units
    known = np.all(np.isfinite(trace.start) & np.isfinite(trace.end), axis=1)
    low = lowest_tip(inputs)
    limit, above_bed = wood - TOUCH - inputs.machine.half_digit, inputs.context.above_bed
    for i in np.nonzero((trace.kind == RAPID) & ~known & (low < limit))[0].tolist():
        message = rapid_may_hit_wood(above_bed(float(low[i])), above_bed(wood), units)
        yield at_move(inputs, "rapid-in-wood", message, i)


def _known(inputs: CheckInput) -> list[Finding]:
    moves, units, tolerance = inputs.moves, inputs.job.units, TOUCH + inputs.machine.half_digit
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    rapid = inputs.trace.kind[moves.parent] == RAPID
    chosen = np.nonzero(rapid & (low < highest_at(inputs) - tolerance) & ~backing_out(inputs))[0]
    found: list[Finding] = []
    for number, _, bit in inputs.bits_in(moves.bit[chosen]):
        own = chosen[moves.bit[chosen] == number]
        for move, depth, (x, y) in contacts(inputs, own, bit.radius, bit.swept_height, tolerance):
            finding = at_move(inputs, "rapid-in-wood", rapid_through_wood(depth, units), move)
            found.append(replace(finding, x=float(x), y=float(y)))
    return sorted(found, key=lambda f: f.program_line)
