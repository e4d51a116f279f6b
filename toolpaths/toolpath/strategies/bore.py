"""Round holes: down a helix to the floor, then once around at the wall; straight down only where nothing else can."""

from __future__ import annotations

import math
from collections.abc import Iterator

from toolpaths.geometry.loop import Loop
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Bore
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_LEAST_HELIX = 0.05
"""Below this radius of the bit's path the hole is as wide as the bit, mm."""
_LEAST_WALL = 0.002
"""Below this the wall need not be followed, mm."""
_NO_POST = 0.95
"""A helix of a smaller radius than this part of the bit's leaves nothing standing in its middle."""
_PECK = 2.0
"""Most that a bit which is no drill goes straight down before it clears its chips, mm. Common practice, no source."""
_CHIP_GAP = 0.5
"""How far above the last depth, or the top, a bit moves fast, mm."""


def bore(operation: Bore, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a hole."""
    for (x, y), diameter, name in zip(operation.centres, operation.diameters, operation.names, strict=True):
        # A drill never goes sideways.
        path = 0.0 if bit.shape == "drill" else float(diameter) / 2 - bit.radius
        if path < _LEAST_HELIX:
            most = operation.cutting.pass_depth if bit.shape == "drill" else min(operation.cutting.pass_depth, _PECK)
            _peck(operation, pen, float(x), float(y), path, most)
        else:
            _helix(operation, bit, pen, float(x), float(y), path)
        yield pen.section(operation, name, name)


def _peck(operation: Bore, pen: ToolpathBuilder, x: float, y: float, path: float, most: float) -> None:
    """Straight down in steps of at most `most` mm, clearing the chips; then once around where the hole is wider."""
    cutting = operation.cutting
    pen.travel(x, y)
    pen.approach(operation.top, cutting.descent)
    above = operation.top
    for z in levels(operation.top, operation.floor, most):
        pen.cut(x, y, above + _CHIP_GAP, cutting.descent)
        pen.cut(x, y, z, cutting.plunge)
        if path < _LEAST_WALL or z > operation.floor:
            pen.cut(x, y, operation.top + _CHIP_GAP, cutting.descent)
        above = z
    if path >= _LEAST_WALL:
        wall = ArcLengthPath.along(Loop.circle(x, y, path), backwards=cutting.finish == "conventional")
        pen.cut(*wall.at(0.0), operation.floor, cutting.feed)
        wall.run(pen, 0.0, wall.length, operation.floor, operation.floor, cutting.feed)
        pen.cut(x, y, operation.floor, cutting.feed)
    pen.retract()


def _helix(operation: Bore, bit: Bit, pen: ToolpathBuilder, x: float, y: float, path: float) -> None:
    """Helices from the middle outwards, as many as leave no post standing, then the wall at the floor."""
    cutting = operation.cutting
    allowance = cutting.finish_allowance if path - cutting.finish_allowance >= _LEAST_HELIX else 0.0
    for i, radius in enumerate(_radii(path - allowance, cutting.step_over * bit.cut_diameter, bit.radius)):
        ring = ArcLengthPath.along(Loop.circle(x, y, radius), backwards=cutting.rough == "conventional")
        if i == 0:
            pen.travel(*ring.at(0.0))
            pen.approach(operation.top, cutting.descent)
        else:
            # Up where the last helix went down, and over above the wood.
            pen.cut(pen.x, pen.y, operation.top + _CHIP_GAP, cutting.descent)
            pen.cut(*ring.at(0.0), operation.top + _CHIP_GAP, cutting.feed)
        pen.cut(*ring.at(0.0), operation.top, cutting.plunge)
        _down(operation, pen, ring)
    if allowance > 0:
        _wall(operation, bit, pen, (x, y), path)
    pen.cut(x, y, operation.floor, cutting.feed)
    pen.retract()


def _down(operation: Bore, pen: ToolpathBuilder, ring: ArcLengthPath) -> None:
    """Around a ring from the top to the floor, and once around level."""
    cutting = operation.cutting
    fall = min(cutting.pass_depth, ring.length * cutting.slope)
    turns = max(1, math.ceil((operation.top - operation.floor) / fall - 1e-9))
    ring.run(pen, 0.0, turns * ring.length, operation.top, operation.floor, cutting.ramp)
    ring.run(pen, 0.0, ring.length, operation.floor, operation.floor, cutting.feed)


def _wall(operation: Bore, bit: Bit, pen: ToolpathBuilder, centre: tuple[float, float], path: float) -> None:
    """Once around at the wall, reached over a widening half turn, so that the bit meets its full height gradually."""
    cutting, floor = operation.cutting, operation.floor
    x, y = centre
    feed = cutting.along_wall(operation.top - floor, bit.diameter)
    part = path / math.hypot(pen.x - x, pen.y - y)
    over = x - part * (pen.x - x), y - part * (pen.y - y)
    wall = ArcLengthPath.along(Loop.circle(x, y, path), backwards=cutting.finish == "conventional")
    middle = (pen.x + over[0]) / 2, (pen.y + over[1]) / 2
    pen.arc(*over, floor, middle, cutting.finish != "conventional", feed)
    s = wall.nearest(*over)
    wall.run(pen, s, s + wall.length, floor, floor, feed)


def _radii(outer: float, step: float, reach: float) -> list[float]:
    """Radii of the helices from the middle outwards, mm, at most `step` apart; the innermost leaves no post."""
    count = 1 if outer < reach * _NO_POST else math.ceil(outer / step - 1e-9)
    radii = [outer * (i + 1) / count for i in range(count)]
    return radii if radii[0] < reach * _NO_POST else [radii[0] / 2, *radii]
