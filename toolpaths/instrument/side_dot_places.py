"""Where dots stand in the edge of a board that the player looks down upon: distances along that edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import marked
from toolpaths.instrument.boards import crossings
from toolpaths.instrument.fans import far_end, fret_line, nut_front
from toolpaths.instrument.markers import USUAL_DOUBLES, Edge, marked_frets
from toolpaths.job.job import Instrument

APART = 7.0
"""Between the two dots of a double, mm, at most half of the fret's space. Common practice, no source."""
_SIDE: dict[Edge, int] = {"bass": 0, "treble": 1}


@dataclass(frozen=True, slots=True)
class SideDot:
    """One dot. `along`: from the edge's corner at the nut, along the edge, mm. `side`: which of two, in words."""

    fret: int
    along: float
    side: str = ""

    @property
    def name(self) -> str:
        """Its name in reports."""
        return f"side dot at fret {self.fret}" + (f", {self.side}" if self.side else "")


def edge_length(instrument: Instrument, edge: Edge) -> float:
    """How long an edge of the board is, from its corner at the nut to the far end, mm."""
    near, far = (crossings(instrument, line)[_SIDE[edge]] for line in (nut_front(instrument), far_end(instrument)))
    return math.dist(near, far)


def dot_places(
    instrument: Instrument,
    edge: Edge,
    frets: Sequence[int] | None = None,
    doubles: Sequence[int] = USUAL_DOUBLES,
    spacing: float | None = None,
) -> tuple[SideDot, ...]:
    """The dots, in the order of `frets` (the usual ones if None): midway between a fret and the one before it, there
    where both meet the edge.

    A double's two stand `spacing` apart along the edge (APART if None), the nut's side first.
    Raises FeatureError for a fret that there is not, and for doubles that reach beyond their frets. Common practice, no
    source.
    """
    corner = crossings(instrument, nut_front(instrument))[_SIDE[edge]]
    out: list[SideDot] = []
    for fret in marked_frets(instrument, frets):
        before, behind = (crossings(instrument, fret_line(instrument, n))[_SIDE[edge]] for n in (fret - 1, fret))
        room = math.dist(before, behind)
        middle = math.dist(corner, before) * math.copysign(1.0, before[0] - corner[0]) + room / 2
        if fret not in doubles:
            out.append(SideDot(fret, middle))
            continue
        apart = min(APART, room / 2) if spacing is None else spacing
        if apart >= room:
            raise FeatureError(
                f"the two dots at fret {fret} would be past the frets beside them",
                f"keep them less than {marked(room)} apart",
                "double_spacing",
            )
        out += [SideDot(fret, middle - apart / 2, "nut side"), SideDot(fret, middle + apart / 2, "bridge side")]
    return tuple(out)
