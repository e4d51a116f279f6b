"""Round holes: down a helix to the floor, then once around at the wall; straight down only where nothing else can."""

from __future__ import annotations

import math

from toolpaths.core.bit import Bit
from toolpaths.core.geometry import Loop
from toolpaths.core.levels import levels
from toolpaths.core.operation import Bore
from toolpaths.core.toolpath import Pen, Section
from toolpaths.core.track import Track

_LEAST_HELIX = 0.05
"""Below this radius of the bit's path the hole is as wide as the bit, mm."""
_LEAST_WALL = 0.002
"""Below this the wall need not be followed, mm."""
_CHIP_GAP = 0.5
"""How far above the last depth a pecking bit goes down fast again, mm."""


def bore(operation: Bore, bit: Bit, pen: Pen) -> list[Section]:
    """Sections, one a hole."""
    out: list[Section] = []
    for (x, y), diameter, name in zip(operation.centres, operation.diameters, operation.names, strict=True):
        path = float(diameter) / 2 - bit.radius
        if path < _LEAST_HELIX:
            _peck(operation, pen, float(x), float(y), path)
        else:
            _helix(operation, bit, pen, float(x), float(y), path)
        out.append(Section(operation.feature, operation.bit, name, pen.taken(), operation.cutting.rpm))
    return out


def _peck(operation: Bore, pen: Pen, x: float, y: float, path: float) -> None:
    """Straight down in steps, clearing the chips; then once around the wall where the hole is a little wider."""
    cutting = operation.cutting
    pen.travel(x, y)
    pen.approach(operation.top, cutting.descent)
    above = operation.top
    for z in levels(operation.top, operation.floor, min(cutting.pass_depth, 2.0)):
        pen.cut(x, y, above + _CHIP_GAP, cutting.descent)
        pen.cut(x, y, z, cutting.plunge)
        if path < _LEAST_WALL or z > operation.floor:
            pen.cut(x, y, operation.top + _CHIP_GAP, cutting.descent)
        above = z
    if path >= _LEAST_WALL:
        wall = Track.along(Loop.circle(x, y, path), backwards=cutting.finish == "conventional")
        pen.cut(*wall.at(0.0), operation.floor, cutting.feed)
        wall.run(pen, 0.0, wall.length, operation.floor, operation.floor, cutting.feed)
        pen.cut(x, y, operation.floor, cutting.feed)
    pen.retract()


def _helix(operation: Bore, bit: Bit, pen: Pen, x: float, y: float, path: float) -> None:
    cutting = operation.cutting
    allowance = cutting.finish_allowance if path - cutting.finish_allowance >= _LEAST_HELIX else 0.0
    rough = Track.along(Loop.circle(x, y, path - allowance), backwards=cutting.rough == "conventional")
    sx, sy = rough.at(0.0)
    pen.travel(sx, sy)
    pen.approach(operation.top, cutting.descent)
    pen.cut(sx, sy, operation.top, cutting.plunge)
    fall = min(cutting.pass_depth, rough.length * math.tan(math.radians(cutting.ramp_angle)))
    depth = operation.top - operation.floor
    turns = max(1, math.ceil(depth / fall - 1e-9))
    rough.run(pen, 0.0, turns * rough.length, operation.top, operation.floor, cutting.ramp)
    rough.run(pen, 0.0, rough.length, operation.floor, operation.floor, cutting.feed)
    if allowance > 0:
        wall = Track.along(Loop.circle(x, y, path), backwards=cutting.finish == "conventional")
        s = wall.nearest(pen.x, pen.y)
        pen.cut(*wall.at(s), operation.floor, cutting.feed)
        wall.run(pen, s, s + wall.length, operation.floor, operation.floor, cutting.feed)
    pen.cut(x, y, operation.floor, cutting.feed)
    pen.retract()
