"""Does every cut stay within the length of the bit's cutting edges?"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.units import show
from toolpaths.gcode.reader.trace import RAPID
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import backing_out, first_of_cylinder, highest_at, overlap
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened, worst_of_each
from toolpaths.verification.trace_queries import at_move

Array = NDArray[np.float64]

_DEEP = 0.01
"""Wood less than this above the edges is none, mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `deeper-than-flutes`: wood in the bit's way, at that move, higher than its edges reach."""
    moves, units = inputs.moves, inputs.job.units
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    feeds = (inputs.trace.kind[moves.parent] != RAPID) & ~backing_out(inputs)
    found: list[Finding] = []
    for number in np.unique(moves.bit):
        if int(number) not in inputs.bits:
            continue  # `wrong-bit` stops it
        name, bit = inputs.bits[int(number)]
        reach = bit.cutting_length
        chosen = np.nonzero(feeds & (moves.bit == number) & (low + reach < highest_at(inputs) - _DEEP))[0]

        def above(start: Array, end: Array, points: Array, r: float = bit.radius, reach: float = reach) -> Array:
            # Where the bit first meets a point it cuts the whole height there; later it meets less.
            return first_of_cylinder(start, end, points, r) + reach

        wood = overlap(inputs, chosen, bit.radius, above, _DEEP)
        hit = np.nonzero(wood.depth > _DEEP)[0]
        for i in worst_of_each(moves.parent[chosen[hit]], wood.depth[hit]):
            deep = float(wood.depth[hit[i]]) + reach
            found.append(
                at_move(
                    inputs,
                    "deeper-than-flutes",
                    f"the cut is {show(deep, units)} deep here, and the edges of {name} are {show(reach, units)} long; "
                    "take a bit with longer edges, or cut less deep at a time",
                    int(moves.parent[chosen[hit[i]]]),
                )
            )
    return shortened(sorted(found, key=lambda f: f.program_line))
