"""Does every cut stay within the length of the bit's cutting edges?"""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.gcode.reader.trace import RAPID
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import backing_out, first_of_cylinder, highest_at
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import contacts
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.collisions import edges_too_short

_DEEP = 0.01
"""Wood less than this above the edges is none, mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `deeper-than-flutes`: wood in the bit's way, at that move, higher than its edges reach."""
    moves, units = inputs.moves, inputs.job.units
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    feeds = (inputs.trace.kind[moves.parent] != RAPID) & ~backing_out(inputs)
    found: list[Finding] = []
    for number, name, bit in inputs.bits_in(moves.bit):
        reach = bit.cutting_length
        chosen = np.nonzero(feeds & (moves.bit == number) & (low + reach < highest_at(inputs) - _DEEP))[0]

        def above(start: Array, end: Array, points: Array, r: float = bit.radius, reach: float = reach) -> Array:
            # Where the bit first meets a point it cuts the whole height there; later it meets less.
            return first_of_cylinder(start, end, points, r) + reach

        for move, depth, _ in contacts(inputs, chosen, bit.radius, above, _DEEP):
            message = edges_too_short(name, depth + reach, reach, units)
            found.append(at_move(inputs, "deeper-than-flutes", message, move))
    return shortened(sorted(found, key=lambda f: f.program_line))
