"""Planing: level passes along the grain that run off the wood at both ends."""

from __future__ import annotations

import math

from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Raster
from toolpaths.toolpath.levels import skimmed
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

OFF_THE_END = 2.0
"""How far the bit's edge runs off the wood at the ends, mm."""
PAST_THE_SIDE = 0.5
"""How far the last pass reaches past the side, mm."""


def passes(operation: Raster) -> list[float]:
    """Heights of the levels, mm, the last skim no thicker than a pass may be. One level even where nothing is above."""
    return skimmed(operation.top, operation.floor, operation.cutting.pass_depth, operation.skim)


def raster(operation: Raster, bit: Bit, pen: ToolpathBuilder) -> list[Section]:
    """Sections, one a level. The bit comes down beside the wood, never on it, and turns around beside it."""
    cutting = operation.cutting
    x0, _, x1, _ = operation.box
    left, right = x0 - bit.radius - OFF_THE_END, x1 + bit.radius + OFF_THE_END
    rows = _rows(operation, bit)
    heights = passes(operation)
    there_and_back = cutting.reasons.get("direction") != "the job"
    # With the cutter turning clockwise seen from above, going toward -x with the uncut wood on +y is climbing.
    first = left if cutting.rough == "conventional" else right
    sections: list[Section] = []
    for k, z in enumerate(heights, 1):
        at = first
        for i, y in enumerate(rows):
            if i == 0 or not there_and_back:
                at = first
                pen.travel(at, y)
                pen.cut(at, y, z, cutting.descent)
            else:
                pen.cut(at, y, z, cutting.feed)
            at = right if at == left else left
            pen.cut(at, y, z, cutting.feed)
        pen.retract()
        last = ", the last skim" if k == len(heights) and len(heights) > 1 else ""
        title = f"{operation.title}, level {k} of {len(heights)}{last}"
        sections.append(Section(operation.feature, operation.bit, title, pen.taken(), cutting.rpm))
    return sections


def _rows(operation: Raster, bit: Bit) -> list[float]:
    """Centre lines in y: each takes at most a step-over of wood, the level part of the last reaches past the side."""
    _, y0, _, y1 = operation.box
    step = operation.cutting.step_over * bit.cut_diameter
    need = (y1 - y0) + PAST_THE_SIDE + (bit.radius - bit.level_radius)
    count = max(1, math.ceil(need / step - 1e-9))
    step = need / count
    return [y0 - bit.radius + step * (i + 1) for i in range(count)]
