"""The blank's left end taken down to a wall: level passes along the grain from beside the wood, the wall skimmed last.

Where the floor rises to the wall in an arc, passes straight across cut it as a stair of low steps.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.common.units import show
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Rebate
from toolpaths.toolpath.levels import skimmed
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

OFF_THE_WOOD = 2.0
"""How far the bit's edge keeps off the wood where it comes down and turns around, mm."""
PAST_THE_SIDE = 0.5
"""How far the last pass reaches past the side, mm."""


def passes(operation: Rebate) -> list[float]:
    """Heights of the levels, mm, the last skim no thicker than a pass may be. One level even where nothing is above."""
    return skimmed(operation.top, operation.floor, operation.cutting.pass_depth, operation.skim)


def stairs(operation: Rebate) -> list[tuple[float, float]]:
    """(x of the bit's right edge, height) of the passes across that shape the ramp, from the wall down. mm."""
    if not operation.ramp:
        return []
    drop = operation.face - operation.floor
    count = max(1, math.ceil(drop / operation.stair - 1e-9))
    heights = [operation.face - drop * i / count for i in range(1, count)]
    return [(_edge(operation, z), z) for z in heights]


def rebate(operation: Rebate, bit: Bit, pen: ToolpathBuilder) -> list[Section]:
    """Sections: one a level, and one for the wall or the ramp. The bit comes down beside the wood, never on it."""
    cutting, work = operation.cutting, _Work(operation, bit, pen)
    heights = passes(operation)
    sections: list[Section] = []
    for k, z in enumerate(heights, 1):
        work.level(z)
        last = ", the last skim" if k == len(heights) and len(heights) > 1 else ""
        title = f"{operation.title}, level {k} of {len(heights)}{last}"
        sections.append(Section(operation.feature, operation.bit, title, pen.taken(), cutting.rpm))
    steps = stairs(operation)
    if steps:
        for i, (x, z) in enumerate(steps):
            work.across(x, z, upward=i % 2 == 0)
        title = f"the ramp to the wall, {len(steps)} passes across"
    elif cutting.finish_allowance > 0:
        # With the cutter turning clockwise seen from above and the wood on +x, going toward +y climbs.
        work.across(operation.box[2], operation.floor, upward=cutting.finish == "climb")
        title = f"the wall, last skim of {show(cutting.finish_allowance, pen.units)}"
    else:
        return sections
    pen.retract()
    sections.append(Section(operation.feature, operation.bit, title, pen.taken(), cutting.rpm))
    return sections


@dataclass(frozen=True, slots=True)
class _Work:
    """The moves of one operation. Places are those of the bit's middle."""

    operation: Rebate
    bit: Bit
    pen: ToolpathBuilder

    @property
    def both_ways(self) -> bool:
        """Whether passes go there and back: unless the job asks for one direction."""
        return self.operation.cutting.reasons.get("direction") != "the job"

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
        rows = self._rows()
        # Going toward +x with the uncut wood on -y climbs.
        if not self.both_ways and cutting.rough == "climb":
            rows.reverse()
        at = left
        for i, y in enumerate(rows):
            if i == 0 or not self.both_ways:
                at = left
                pen.travel(at, y)
                pen.cut(at, y, z, cutting.descent)
            else:
                pen.cut(at, y, z, cutting.feed)
            at = wall if at == left else left
            pen.cut(at, y, z, cutting.feed)
        # The rows leave cusps at the wall.
        near, far = self.sides
        upward = not self.both_ways and cutting.rough == "climb"
        start, end = (near, far) if upward else (far, near)
        if self.both_ways:
            pen.cut(at, start, z, cutting.feed)
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
        if not self.both_ways:
            upward = cutting.finish == "climb"
        start, end = (near, far) if upward else (far, near)
        if pen.z >= pen.safe or pen.y != start:
            pen.travel(x, start)
        pen.cut(x, start, z, cutting.descent)
        pen.cut(x, end, z, cutting.feed)

    def _rows(self) -> list[float]:
        """Middles of the rows in y: each takes at most a step-over of wood, the last reaches past the side."""
        _, y0, _, y1 = self.operation.box
        step = self.operation.cutting.step_over * self.bit.cut_diameter
        need = (y1 - y0) + PAST_THE_SIDE
        count = max(1, math.ceil(need / step - 1e-9))
        return [y0 - self.bit.radius + need / count * (i + 1) for i in range(count)]


def _edge(operation: Rebate, z: float) -> float:
    """x up to which the wood may be taken down to a height, mm: the wall, or where the ramp is as high."""
    if not operation.ramp:
        return operation.box[2]
    drop, length = operation.face - operation.floor, operation.ramp
    radius = (length**2 + drop**2) / (2 * drop)
    rise = min(max(z - operation.floor, 0.0), drop)
    return operation.box[2] - length + math.sqrt(max(radius**2 - (radius - rise) ** 2, 0.0))
