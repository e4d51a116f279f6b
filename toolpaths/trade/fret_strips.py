"""Where a fret's line lies across the board, as the wanted shape sees it: from the formulas, not from any cut."""

from __future__ import annotations

from shapely import Polygon

from toolpaths.core.geometry import box_polygon
from toolpaths.core.job import Fan, Instrument
from toolpaths.trade.boards import half_width
from toolpaths.trade.fans import outer_places

Place = tuple[float, float]

_WIDE = 50.0
"""More than any line is wide, mm."""


def across(instrument: Instrument, fret: int) -> tuple[float, float, Polygon, tuple[Place, Place]]:
    """(x on the centreline, lean along x a mm of y, the board about the line, where it meets bass and treble edge). mm.

    One scale: x = L (1 - 2^(-n/12)), square across. Fanned: the line through the places on the two outer strings.
    """
    scale = instrument.scale_length
    if not isinstance(scale, Fan):
        x = scale * (1.0 - 2.0 ** (-fret / 12.0))
        edge = float(half_width(instrument, x))
        return x, 0.0, box_polygon(x - _WIDE, -edge, x + _WIDE, edge), ((x, -edge), (x, edge))
    (bx, by), (tx, ty) = outer_places(instrument, fret)
    lean = (tx - bx) / (ty - by)
    x = bx - lean * by
    far = max(abs(by), ty) + instrument.board.width.nut
    # The taper is straight: two places on each edge are the whole edge.
    x0, x1 = min(bx, tx) - far, max(bx, tx) + far
    low, high = (float(half_width(instrument, at)) for at in (x0, x1))
    board = Polygon([(x0, -low), (x1, -high), (x1, high), (x0, low)])
    taper = (high - low) / (x1 - x0)
    middle = float(half_width(instrument, x))
    bass, treble = -middle / (1.0 + taper * lean), middle / (1.0 - taper * lean)
    return x, lean, board, ((x + lean * bass, bass), (x + lean * treble, treble))
