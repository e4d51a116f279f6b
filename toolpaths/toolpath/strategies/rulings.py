"""A rounded top: straight passes along the lines that lie in it, from the crown outwards, one beside the other.

Each pass begins where the last ended, a step further out and hardly lower, so that nothing is plunged and nothing
ramped. Where more stands above the surface than the bit bears at once, higher passes of the same shape come first.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Rulings
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder


def rulings(operation: Rulings, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a side and layer. Raises nothing: the feature has refused what cannot be."""
    for k, (raised, sides) in enumerate(operation.layers):
        for lines, side in zip(sides, ("operator's side", "far side"), strict=True):
            if not len(lines):
                continue
            _side(operation, pen, lines + np.array([0.0, 0.0, raised]))
            layer = "" if len(operation.layers) == 1 else f"layer {k + 1} of {len(operation.layers)}, "
            piece = f"layer {k + 1}, {side}"
            title = f"{layer}{side}, {len(lines)} passes {operation.title}"
            yield pen.section(operation, title, piece)


def _side(operation: Rulings, pen: ToolpathBuilder, lines: Array) -> None:
    """There and back along lines (N, 2, 3), or always the one way where the job says which."""
    cutting = operation.cutting
    for i, (a, b) in enumerate(lines):
        pen.row()
        start, end = (a, b) if i % 2 == 0 or not cutting.both_ways else (b, a)
        if i == 0 or not cutting.both_ways:
            pen.enter(*_xyz(start), operation.top, cutting)
        else:
            # Beside a steep edge the step to the next pass goes down more than aside.
            pen.cut(*_xyz(start), cutting.feed)
        pen.cut(*_xyz(end), cutting.feed)
        if not cutting.both_ways:
            pen.retract()
    pen.retract()


def _xyz(place: Array) -> tuple[float, float, float]:
    return float(place[0]), float(place[1]), float(place[2])
