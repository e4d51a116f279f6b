"""Where an open line begins: so far out in the waste that its ramp ends before the finished edge.

The shape wanted allows it by a formula of its own, `IN_WASTE` further out than a line's ordinary end.
"""

from __future__ import annotations

import math

import numpy as np
from shapely import LineString, box

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Cutting
from toolpaths.operations.slots import RUN_ON
from toolpaths.operations.tool_parts import tool_parts

IN_WASTE = 4.0
"""How much further out than its ordinary end an open line may begin, mm: the ramps of fine bits are not longer."""
_SPARE = 0.1
"""More than the clearance from what holds the blank, mm."""


def from_waste(context: SetupContext, bit: Bit, cutting: Cutting, lines: Array, floor: float) -> Array:
    """Open lines (N, 2, 2) with level floors, begun further out where all of the ramp then lies in the waste.

    Both ends where levels begin at both. An end stays where the blank's edge is as near, where the ramp is longer than
    `IN_WASTE` allows, and where a holder or what is in the way would come too near.
    """
    deep = context.face - floor
    drop = deep / max(1, math.ceil(deep / cutting.pass_depth - 1e-6))
    further = cutting.ramp_reach(drop) - RUN_ON
    if not 0.0 < further <= IN_WASTE:
        return lines
    out = lines.copy()
    _, low, _, high = context.instrument_box
    for line in out:
        way = (line[1] - line[0]) / float(np.hypot(*(line[1] - line[0])))
        for end, sign in ((0, -1.0), (1, 1.0)) if cutting.lines == "both" else ((0, -1.0),):
            y, rate = float(line[end, 1]), sign * float(way[1])
            edge = high if rate > 0 else low
            # Beside the blank it comes down in the air, and need not go further.
            most = (edge + math.copysign(bit.radius + RUN_ON, rate) - y) / rate
            begin = line[end] + sign * way * min(further, max(most, 0.0))
            if _clear(context, bit, line[end], begin, floor):
                line[end] = begin
    return out


def _clear(context: SetupContext, bit: Bit, here: Array, there: Array, floor: float) -> bool:
    """Whether a bit with its tip at a height keeps clear of all that stands there, on its way between two places."""
    ends = [context.as_it_lies(float(x), context.mirror * float(y)) for x, y in (here, there)]
    way, clearance = LineString(ends), context.setup.clearance + _SPARE
    for it in context.obstacles:
        for _, radius, rises in tool_parts(bit, context.machine.collet):
            if floor + rises < it.top + clearance and way.distance(box(*it.box)) < radius + it.radius + clearance:
                return False
    return True
