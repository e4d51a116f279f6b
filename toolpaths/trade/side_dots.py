"""Where dots stand in the edge of a board that the player looks down upon: distances along that edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from toolpaths.core.finding import Refusal
from toolpaths.core.job import Instrument
from toolpaths.trade.boards import board_end, half_width
from toolpaths.trade.markers import USUAL, USUAL_DOUBLES, space

APART = 7.0
"""Between the two dots of a double, mm, at most half of the fret's space. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class SideDot:
    """One dot. `along`: from the edge's corner at the nut, along the edge, mm. `side`: which of two, in words."""

    fret: int
    along: float
    side: str = ""

    @property
    def name(self) -> str:
        """What it is called in reports."""
        return f"side dot at fret {self.fret}" + (f", {self.side}" if self.side else "")


def edge_slope(instrument: Instrument) -> float:
    """Millimetres of an edge for one along the centreline: sqrt(1 + t^2), t being how fast half the width grows."""
    end = board_end(instrument)
    grows = (float(half_width(instrument, end)) - float(half_width(instrument, 0.0))) / end
    return math.hypot(1.0, grows)


def dot_places(
    instrument: Instrument,
    frets: Sequence[int] | None = None,
    doubles: Sequence[int] = USUAL_DOUBLES,
    spacing: float | None = None,
) -> tuple[SideDot, ...]:
    """The dots, in the order of `frets` (the usual ones if None): midway between a fret and the one before it.

    A double's two stand `spacing` apart along the edge (APART if None), the nut's side first.
    Raises Refusal for a fret that there is not, and for doubles that reach beyond their frets. Common practice, no
    source.
    """
    chosen = [f for f in USUAL if f <= instrument.frets] if frets is None else list(frets)
    slope = edge_slope(instrument)
    out: list[SideDot] = []
    for fret in chosen:
        if not 1 <= fret <= instrument.frets:
            raise Refusal(f"there is no fret {fret}", f"the instrument has {instrument.frets} frets", "frets")
        x0, x1 = space(instrument, fret)
        middle, room = (x0 + x1) / 2 * slope, (x1 - x0) * slope
        if fret not in doubles:
            out.append(SideDot(fret, middle))
            continue
        apart = min(APART, room / 2) if spacing is None else spacing
        if apart >= room:
            raise Refusal(
                f"the two dots at fret {fret} would stand beyond their frets",
                f"keep them less than {room:.1f} mm apart",
                "double_spacing",
            )
        out += [SideDot(fret, middle - apart / 2, "nut side"), SideDot(fret, middle + apart / 2, "bridge side")]
    return tuple(out)
