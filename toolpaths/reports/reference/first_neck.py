"""Rod and bars of a first neck, and where their channel and slots lie in it.

The sizes that nobody was asked for are usual ones (common practice, no source). Lengths mm.
"""

from __future__ import annotations

import math
from typing import Any

from toolpaths.features.kinds.locating_pins import DIAMETER
from toolpaths.instrument.frets import fret_distance
from toolpaths.instrument.rods import BARS_FROM, channel_for, slot_width
from toolpaths.job.neck import Bars
from toolpaths.reports.reference.first_answers import Answers

_UNDER_BOARD, _UNDER_ROD = 14.5, 4.0
"""Wood of the neck under the board at fret 1; under the rod's channel where that is deepest."""
_BETWEEN = 3.2
"""Wood between a bar's slot and what lies beside it."""
_WITHOUT_ROD = 4.0
"""From the centreline to a bar's slot where no rod lies between the two."""
_BEFORE_HEEL = 10.0


def under_board(a: Answers) -> float:
    """Wood of the neck under the board at fret 1: the rod's channel, and a wall under it."""
    rod = a.bought_rod
    return max(_UNDER_BOARD, channel_for(rod).middle + _UNDER_ROD if rod else 0.0)


def bars_of(a: Answers, heel: float) -> dict[str, Any] | None:
    """The bars as they are bought, and `offset` and `from` of their slots; None without bars. `heel`: its beginning."""
    if a.bars is None:
        return None
    width, depth = a.bars
    slot = slot_width(Bars.model_construct(width=width, depth=depth, length=1.0))
    rod = a.bought_rod
    inner = channel_for(rod).width / 2 + _BETWEEN if rod else _WITHOUT_ROD
    offset = math.ceil(2 * (inner + slot / 2)) / 2
    begin, end = BARS_FROM, heel - _BEFORE_HEEL
    if a.pinned:
        near, far = (fret_distance(a.scale, fret) for fret in a.pin_frets)
        for x in (near, far):
            beside = a.width(x) / 2 - a.pin_side - DIAMETER / 2 - offset - slot / 2
            if beside < _BETWEEN and x == near:
                begin = near + DIAMETER / 2 + _BETWEEN
            elif beside < _BETWEEN:
                end = min(end, far - DIAMETER / 2 - _BETWEEN)
    begin = math.ceil(begin)
    return {
        "width": width,
        "depth": depth,
        "length": math.floor(end - begin - slot),
        "offset": offset,
        "from": begin,
    }
