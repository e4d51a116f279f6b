"""The blank's left end taken down to a wall: level passes along the grain from beside the wood, the wall skimmed last.

Where the floor rises to the wall in an arc, passes straight across cut it as a stair of low steps.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from toolpaths.common.units import show
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Rebate
from toolpaths.toolpath.levels import level_titles, rows, skimmed
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

OFF_THE_WOOD = 2.0
"""How far the bit's edge keeps off the wood where it comes down and turns around, mm."""


def stairs(operation: Rebate) -> list[tuple[float, float]]:
    """(x of the bit's right edge, height) of the passes across that shape the ramp, from the wall down. mm."""
    if not operation.ramp:
        return []
    drop = operation.face - operation.floor
    count = max(1, math.ceil(drop / operation.stair - 1e-9))
    heights = [operation.face - drop * i / count for i in range(1, count)]
    return [(_edge(operation, z), z) for z in heights]


def rebate(operation: Rebate, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections: one a level, and one for the wall or the ramp. The bit comes down beside the wood, never on it."""
    cutting, work = operation.cutting, _Work(operation, bit, pen)
    heights = skimmed(operation)
    for k, (z, title) in enumerate(zip(heights, level_titles(operation, len(heights)), strict=True), 1):
        work.level(z)
        yield pen.section(operation, title, f"level {k}")
    steps = stairs(operation)
    if steps:
        for i, (x, z) in enumerate(steps):
            work.across(x, z, upward=i % 2 == 0)
        piece = "the ramp to the wall"
        title = f"{piece}, {len(steps)} passes across"
    elif cutting.finish_allowance > 0:
        # With the cutter turning clockwise seen from above and the wood on +x, going toward +y climbs.
        work.across(operation.box[2], operation.floor, upward=cutting.finish == "climb")
        piece = "the wall"
        title = f"{piece}, last skim of {show(cutting.finish_allowance, pen.units)}"
    else:
        return
    pen.retract()
    yield pen.section(operation, title, piece)


@dataclass(frozen=True, slots=True)
class _Work:
    """The moves of one operation. Places are those of the bit's middle."""

    operation: Rebate
    bit: Bit
    pen: ToolpathBuilder

    @property
    def sides(self) -> tuple[float, float]:
        """y beside the wood, the operator's side first."""
        _, y0, _, y1 = self.operation.box
        reach = self.bit.radius + OFF_THE_WOOD
        return y0 - reach, y1 + reach

    def level(self, z: float) -> None:
        """Rows along x up to the wall (less the allowance) and back off the end, then once across along the wall."""
        cutting, pen = self.operation.cutting, self.pen
        left = self.operation.box[0] - self.bit.radius - OFF_THE_WOOD
        allowance = 0.0 if self.operation.ramp else cutting.finish_allowance
        wall = _edge(self.operation, z) - allowance - self.bit.radius
        # Going toward +x with the uncut wood on -y climbs.
        upward = not cutting.both_ways and cutting.rough == "climb"
        along = rows(self.operation, self.bit)
        pen.rows(along[::-1] if upward else along, z, left, wall, cutting)
        # The rows leave cusps at the wall.
        near, far = self.sides
        start, end = (near, far) if upward else (far, near)
        if cutting.both_ways:
            pen.cut(pen.x, start, z, cutting.feed)
            pen.cut(wall, start, z, cutting.feed)
        else:
            pen.travel(wall, start)
            pen.cut(wall, start, z, cutting.descent)
        pen.cut(wall, end, z, cutting.feed)
        pen.retract()

    def across(self, edge: float, z: float, upward: bool) -> None:
        """One pass across with the bit's right edge at x = `edge`, from beside the wood to beside it."""
        cutting, pen = self.operation.cutting, self.pen
        x, (near, far) = edge - self.bit.radius, self.sides
        if not cutting.both_ways:
            upward = cutting.finish == "climb"
        start, end = (near, far) if upward else (far, near)
        if pen.z >= pen.safe or pen.y != start:
            pen.travel(x, start)
        pen.cut(x, start, z, cutting.descent)
        pen.cut(x, end, z, cutting.feed)


def _edge(operation: Rebate, z: float) -> float:
    """x up to which the wood may be taken down to a height, mm: the wall, or where the ramp is as high."""
    if not operation.ramp:
        return operation.box[2]
    drop, length = operation.face - operation.floor, operation.ramp
    radius = (length**2 + drop**2) / (2 * drop)
    rise = min(max(z - operation.floor, 0.0), drop)
    return operation.box[2] - length + math.sqrt(max(radius**2 - (radius - rise) ** 2, 0.0))
