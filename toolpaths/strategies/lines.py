"""Grooves: every line approached from the same side in x, cut in passes that the bit can bear."""

from __future__ import annotations

import math

from toolpaths.core.bit import Bit
from toolpaths.core.levels import levels
from toolpaths.core.operation import Lines
from toolpaths.core.toolpath import Pen, Section

FROM_LOWER_X = 3.0
"""How far below a line's x the bit stops before it goes there, so that screw backlash has one sign, mm."""


def passes(operation: Lines, length: float) -> list[float]:
    """Heights at the ends of the passes of a line so long, mm: no deeper, and no steeper, than the bit bears."""
    slope = math.tan(math.radians(operation.cutting.ramp_angle))
    return levels(operation.top, operation.floor, min(operation.cutting.pass_depth, length * slope))


def lines(operation: Lines, bit: Bit, pen: Pen) -> list[Section]:
    """Sections, one a line. Each pass slopes down over the whole line and comes back level; nothing is plunged."""
    cutting = operation.cutting
    sections: list[Section] = []
    for (a, b), name in zip(operation.lines, operation.names, strict=True):
        (ax, ay), (bx, by) = (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))
        heights = passes(operation, math.hypot(bx - ax, by - ay))
        pen.travel(min(ax, bx) - FROM_LOWER_X, ay)
        pen.travel(ax, ay)
        pen.approach(operation.top, cutting.descent)
        pen.cut(ax, ay, operation.top, cutting.plunge)
        for z in heights:
            pen.cut(bx, by, z, cutting.feed)
            pen.cut(ax, ay, z, cutting.feed)
        pen.retract()
        title = f"{name}, {len(heights)} pass{'es' if len(heights) > 1 else ''}"
        sections.append(Section(operation.feature, operation.bit, title, pen.taken(), cutting.rpm))
    return sections
