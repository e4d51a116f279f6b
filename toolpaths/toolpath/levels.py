"""Heights of the passes from the wood's top down to a floor."""

from __future__ import annotations

import math
from collections.abc import Iterable

_NOTHING = 1e-9
"""A pass thinner than this is none, mm."""


def skimmed(top: float, floor: float, pass_depth: float, skim: float) -> list[float]:
    """Heights of even passes and, last, of a skim no thicker than a pass may be; one where nothing is above, mm."""
    skim = min(skim, pass_depth)
    if top - floor <= skim + _NOTHING:
        return [floor]
    rough = levels(top, floor + skim, pass_depth)
    return [*rough, floor] if skim > _NOTHING else rough


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
