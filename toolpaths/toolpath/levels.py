"""Heights of the passes from the wood's top down to a floor, and rows beside each other on one of them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Clear, Raster, Rebate

_NOTHING = 1e-9
"""A pass thinner than this is none, mm."""
_PAST_THE_SIDE = 0.5
"""How far the last row reaches past the wood's side, mm."""


def skimmed(operation: Raster | Rebate | Clear) -> list[float]:
    """Heights of even passes and, last, of a skim no thicker than a pass may be; one where nothing is above, mm."""
    top, floor, pass_depth = operation.top, operation.floor, operation.cutting.pass_depth
    skim = min(operation.skim, pass_depth)
    if top - floor <= skim + _NOTHING:
        return [floor]
    rough = levels(top, floor + skim, pass_depth)
    return [*rough, floor] if skim > _NOTHING else rough


def rows(operation: Raster | Rebate, bit: Bit) -> list[float]:
    """y of rows along x: each takes at most a step-over of wood, the level part of the last reaches past the side."""
    _, y0, _, y1 = operation.box
    step = operation.cutting.step_over * bit.cut_diameter
    need = (y1 - y0) + _PAST_THE_SIDE + (bit.radius - bit.level_radius)
    count = max(1, math.ceil(need / step - 1e-9))
    return [y0 - bit.radius + need / count * (i + 1) for i in range(count)]


def level_titles(operation: Raster | Rebate, count: int) -> list[str]:
    """Titles of the sections, one for each level."""
    plain = [f"{operation.title}, level {k} of {count}" for k in range(1, count + 1)]
    return plain if count == 1 else [*plain[:-1], f"{plain[-1]}, last skim"]


def levels(top: float, floor: float, pass_depth: float, also: Iterable[float] = ()) -> list[float]:
    """Heights (mm, falling) of even passes of at most `pass_depth`, the last at `floor`; `also` are hit exactly.

    Empty where there is nothing above the floor.
    """
    marks = sorted({floor, *(h for h in also if floor + _NOTHING < h < top)}, reverse=True)
    out: list[float] = []
    above = top
    for mark in marks:
        drop = above - mark
        if drop <= _NOTHING:
            continue
        count = max(1, math.ceil(drop / pass_depth - 1e-6))
        out += [above - drop * (i + 1) / count for i in range(count - 1)] + [mark]
        above = mark
    return out
