"""Does a rapid go through wood? Judged against the wood that stands before that move, never against the end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.units import show
from toolpaths.gcode.reader.trace import RAPID
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import TOUCH, backing_out, highest, highest_at, overlap
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened, worst_of_each
from toolpaths.verification.trace_queries import at_move, lowest_tip

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `rapid-in-wood`."""
    return shortened([*_unknown(inputs), *_known(inputs)])


def _unknown(inputs: CheckInput) -> list[Finding]:
    """Rapids from or to where nobody knows: they may be anywhere over the wood."""
    trace, wood = inputs.trace, highest(inputs)
    known = np.all(np.isfinite(trace.start) & np.isfinite(trace.end), axis=1)
    low = lowest_tip(inputs)
    limit = wood - TOUCH - inputs.machine.half_digit
    units = inputs.job.units
    return [
        at_move(
            inputs,
            "rapid-in-wood",
            f"a rapid to {show(float(low[i]), units)} above the bed while the place is not known yet; the wood stands "
            f"up to {show(wood, units)} high: raise the bit clear of it first",
            int(i),
        )
        for i in np.nonzero((trace.kind == RAPID) & ~known & (low < limit))[0]
    ]


def _known(inputs: CheckInput) -> list[Finding]:
    moves, tolerance = inputs.moves, TOUCH + inputs.machine.half_digit
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    rapid = inputs.trace.kind[moves.parent] == RAPID
    chosen = np.nonzero(rapid & (low < highest_at(inputs) - tolerance) & ~backing_out(inputs))[0]
    found: list[Finding] = []
    for number in np.unique(moves.bit[chosen]):
        if int(number) not in inputs.bits:
            continue  # `wrong-bit` stops it
        bit = inputs.bits[int(number)][1]
        own = chosen[moves.bit[chosen] == number]
        wood = overlap(inputs, own, bit.radius, bit.swept_height, tolerance)
        hit = np.nonzero(wood.depth > tolerance)[0]
        for i in worst_of_each(moves.parent[own[hit]], wood.depth[hit]):
            found.append(_finding(inputs, int(own[hit[i]]), float(wood.depth[hit[i]]), wood.place[hit[i]]))
    return sorted(found, key=lambda f: f.program_line)


def _finding(inputs: CheckInput, move: int, depth: float, place: Array) -> Finding:
    units = inputs.job.units
    return at_move(
        inputs,
        "rapid-in-wood",
        f"a rapid goes {show(depth, units, 3)} deep through wood at x {show(place[0], units)}, "
        f"y {show(place[1], units)}; go there above the wood, or feed",
        int(inputs.moves.parent[move]),
    )
