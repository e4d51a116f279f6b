"""Where a written place lies on one instrument."""

from __future__ import annotations

from toolpaths.core.finding import Refusal
from toolpaths.core.job import Instrument
from toolpaths.core.place import Along
from toolpaths.trade.fans import fret_x


def x_of(place: Along, instrument: Instrument, key: str) -> float:
    """x in instrument coordinates, mm; of a fret where it crosses the centreline.

    Raises Refusal, naming `key`, for a fret that the instrument lacks.
    """
    if place.fret is None:
        return float(place.x or 0.0)
    if not 0 <= place.fret <= instrument.frets:
        raise Refusal(f"there is no fret {place.fret}", f"the instrument has {instrument.frets} frets", key)
    return fret_x(instrument, place.fret)
