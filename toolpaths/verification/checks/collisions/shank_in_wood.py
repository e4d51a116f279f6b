"""Do shank, collet nut and holder stay out of the wood that stands beside the cut?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import TOUCH, Low, backing_out, highest_at, lowest_of_cylinder
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import contacts
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.collisions import runs_against_wood

_RUBS = 0.02
"""A shank as thick as the cut rubs its wall: it is taken this much thicker, mm. Common practice, no source."""
_DEEP = 0.01
"""Contact less than this high is none, mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `shank-in-wood`. Wood right above the bit's own edges is asked about by `deeper-than-flutes`."""
    moves, units = inputs.moves, inputs.job.units
    low = np.where(backing_out(inputs), np.inf, np.minimum(moves.start[:, 2], moves.end[:, 2]))
    found: list[Finding] = []
    for number, _, bit in inputs.bits_in(moves.bit):
        for name, radius, rises, clear_of in _parts(inputs, bit):
            chosen = np.nonzero((moves.bit == number) & (low + rises < highest_at(inputs) - _DEEP))[0]
            for move, depth, (x, y) in contacts(inputs, chosen, radius, _low(radius, rises, clear_of), _DEEP):
                finding = at_move(inputs, "shank-in-wood", runs_against_wood(name, depth, units), move)
                found.append(replace(finding, x=float(x), y=float(y)))
    return shortened(sorted(found, key=lambda f: f.program_line))


def _parts(inputs: CheckInput, bit: Bit) -> Iterator[tuple[str, float, float, float]]:
    """What turns above the edges: name, radius, how far above the tip it begins, and the radius the bit clears; mm."""
    collet = inputs.machine.collet
    if bit.shank >= bit.cut_diameter - TOUCH:
        yield "the shank", max(bit.shank / 2, bit.radius) + _RUBS, bit.cutting_length, bit.radius
    yield "the collet nut", collet.nut_diameter / 2, bit.stickout, 0.0
    yield "the tool holder", collet.holder_diameter / 2, bit.stickout + collet.nut_height, 0.0


def _low(radius: float, rises: float, clear_of: float) -> Low:
    """Height that the part leaves free, but for what the bit itself has under its edges."""

    def low(start: Array, end: Array, points: Array) -> Array:
        free = lowest_of_cylinder(start, end, points, radius) + rises
        if clear_of > 0:
            under = np.isfinite(lowest_of_cylinder(start, end, points, clear_of + TOUCH))
            free = np.where(under, np.inf, free)
        return free

    return low
