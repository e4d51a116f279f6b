"""Planing: level passes along the grain that run off the wood at both ends."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Raster
from toolpaths.toolpath.levels import level_titles, rows, skimmed
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

OFF_THE_END = 2.0
"""How far the bit's edge runs off the wood at the ends, mm."""


def raster(operation: Raster, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a level. The bit comes down beside the wood, never on it, and turns around beside it."""
    x0, _, x1, _ = operation.box
    left, right = x0 - bit.radius - OFF_THE_END, x1 + bit.radius + OFF_THE_END
    # With the cutter turning clockwise seen from above, going toward -x with the uncut wood on +y is climbing.
    start, end = (left, right) if operation.cutting.rough == "conventional" else (right, left)
    heights = skimmed(operation)
    for k, (z, title) in enumerate(zip(heights, level_titles(operation, len(heights)), strict=True), 1):
        pen.rows(rows(operation, bit), z, start, end, operation.cutting)
        pen.retract()
        yield pen.section(operation, title, f"level {k}")
