"""Do bit, shank, collet nut and holder keep clear of all that holds the blank or is in the way, rapids and cuts alike?

Beside and above it by the setup's clearance; steel goes down to the bed, so what is sunk counts beside a kerf too.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.job.obstacles import Obstacle
from toolpaths.operations.tool_parts import tool_parts
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import TOUCH, backing_out, lowest_over_box
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.trace_queries import at_move, lowest_tip
from toolpaths.verification.wording.collisions import hits, may_hit, too_near
from toolpaths.verification.wording.message import Message

_FAR = 1e6
"""Passing through weighs more than passing too near, however deep that is."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `keep-out`: for each obstacle the lines that come too near, worst first."""
    found = [one for it in inputs.obstacles for near in (_unknown, _known) for one in near(inputs, it)]
    found.sort(key=lambda one: -one[0])
    return shortened([at_move(inputs, "keep-out", message, move) for _, message, move in found])


def _unknown(inputs: CheckInput, it: Obstacle) -> Iterator[tuple[float, Message, int]]:
    """(depth in mm, words, move) of moves whose place is not known: they may be over the obstacle."""
    trace, units, bed = inputs.trace, inputs.job.units, inputs.context.bed
    limit = it.top + inputs.context.setup.clearance
    known = np.all(np.isfinite(trace.start) & np.isfinite(trace.end), axis=1)
    low = lowest_tip(inputs)
    for i in np.nonzero(~known & (low < limit - TOUCH - inputs.machine.half_digit))[0].tolist():
        message = may_hit(it.name, float(low[i]) - bed, limit - bed, units)
        yield limit - float(low[i]), message, i


def _known(inputs: CheckInput, it: Obstacle) -> Iterator[tuple[float, Message, int]]:
    """(depth in mm, words, move) of moves on which a part of what turns passes too near the obstacle."""
    units, clear = inputs.job.units, inputs.context.setup.clearance
    deep, part = _passes(inputs, it, clear)
    if not deep.any():
        return
    through, _ = _passes(inputs, it, 0.0)
    top = inputs.context.above_bed(it.top)
    for i in np.nonzero(deep > 0)[0].tolist():
        below = float(through[i])
        if below > 0:
            yield below, hits(part[i], it.name, below, top, units), i
        else:
            yield float(deep[i]) / _FAR, too_near(part[i], it.name, top, clear, units), i


def _passes(inputs: CheckInput, it: Obstacle, clear: float) -> tuple[Array, dict[int, str]]:
    """(how far each of the trace's moves (N,) goes below the obstacle's top and that distance, mm, 0 where it passes
    beside; which part of what turns does so, by move).
    """
    moves, trace, rounding = inputs.at_machine, inputs.trace, inputs.machine.half_digit
    worst, part = np.zeros(len(trace)), dict[int, str]()
    limit, collet = it.top + clear, inputs.machine.collet
    radii = [radius for _, bit in inputs.bits.values() for _, radius, _ in tool_parts(bit, collet)]
    around = max(radii, default=0.0) + clear
    x0, y0, x1, y1 = it.bounds
    low_xy, high_xy = np.minimum(moves.start, moves.end)[:, :2], np.maximum(moves.start, moves.end)[:, :2]
    going = np.all((high_xy >= [x0 - around, y0 - around]) & (low_xy <= [x1 + around, y1 + around]), axis=1)
    going &= ~backing_out(inputs)
    for number, _, bit in inputs.bits_in(moves.bit):
        for name, radius, rises in tool_parts(bit, collet):
            low = np.minimum(moves.start[:, 2], moves.end[:, 2]) + rises
            near = np.nonzero(going & (moves.bit == number) & (low < limit - TOUCH))[0]
            if not len(near):
                continue
            wide = radius + it.radius + clear - rounding
            deep = limit - rises - lowest_over_box(moves.start[near], moves.end[near], wide, it.box)
            hit = deep > TOUCH + rounding
            parent, deep = moves.parent[near[hit]], deep[hit]
            before = worst[parent]
            np.maximum.at(worst, parent, deep)
            part |= dict.fromkeys(parent[worst[parent] > before].tolist(), name)
    return worst, part
