"""Does the bit stick out far enough for its cut, with air to spare under the collet nut?

Wood that nut, holder or shank would run against is `shank-in-wood`, and wood above the edges `deeper-than-flutes`.
Here a near thing is told: chips, dust and a blank a little thicker than measured take the last millimetre.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array, Ints
from toolpaths.job.bit import Bit
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import backing_out, highest_at, lowest_of_cylinder, overlap
from toolpaths.verification.finding import Entry, Finding, Remedy
from toolpaths.verification.remedies import depth, in_words
from toolpaths.verification.trace_queries import at_line, at_move
from toolpaths.verification.wording.collisions import flutes_in_collet, nut_near_wood

SPARE = 1.0
"""Air wanted between the collet nut and the wood, mm. Common practice, no source."""
_DEEP = 0.01


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `reach`: for each bit, edges that end inside the collet, and the nut's nearest pass over wood."""
    moves = inputs.moves
    low = np.where(backing_out(inputs), np.inf, np.minimum(moves.start[:, 2], moves.end[:, 2]))
    found: list[Finding] = []
    for number, name, bit in inputs.bits_in(moves.bit):
        if bit.cutting_length > bit.stickout + _DEEP:
            found.append(_in_collet(inputs, name, bit))
        chosen = np.nonzero((moves.bit == number) & (low + bit.stickout < highest_at(inputs) + SPARE - _DEEP))[0]
        if len(chosen):
            found += _near(inputs, name, bit, chosen)
    return found


def _in_collet(inputs: CheckInput, name: str, bit: Bit) -> Finding:
    units, remedies = inputs.job.units, _stickout(inputs, name, bit.cutting_length)
    message = flutes_in_collet(name, bit.stickout, bit.cutting_length, in_words(remedies, ""), units)
    return at_line(inputs, "reach", message, remedies=remedies)


def _near(inputs: CheckInput, name: str, bit: Bit, chosen: Ints) -> list[Finding]:
    radius = inputs.machine.collet.nut_diameter / 2

    def under_nut(start: Array, end: Array, points: Array) -> Array:
        return lowest_of_cylinder(start, end, points, radius) + bit.stickout - SPARE

    wood = overlap(inputs, chosen, radius, under_nut, _DEEP)
    if not np.any(wood.depth > _DEEP) or np.any(wood.depth > SPARE + _DEEP):
        return []  # where it touches, `shank-in-wood` stops it
    worst = int(np.argmax(wood.depth))
    parent, units = int(inputs.moves.parent[chosen[worst]]), inputs.job.units
    gap = max(SPARE - float(wood.depth[worst]), 0.0)
    remedies = _stickout(inputs, name, bit.stickout + SPARE - gap)
    message = nut_near_wood(gap, SPARE, in_words(remedies, ""), units)
    return [at_move(inputs, "reach", message, parent, remedies=remedies)]


def _stickout(inputs: CheckInput, name: str, mm: float) -> tuple[Remedy, ...]:
    return ((Entry("bits", f"{{{name}: {{stickout: {depth(mm, inputs.job.units, up=True)}}}}}", of="job"),),)
