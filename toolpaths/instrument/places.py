"""Where a place of the job file is on one instrument."""

from __future__ import annotations

from toolpaths.common.errors import FeatureError
from toolpaths.instrument.fans import fret_x
from toolpaths.job.job import Instrument
from toolpaths.job.place import Along


def x_of(place: Along, instrument: Instrument, key: str) -> float:
    """x in instrument coordinates, mm; of a fret where it crosses the centreline.

    Raises FeatureError, naming `key`, for a fret that the instrument lacks.
    """
    if place.fret is None:
        return float(place.x or 0.0)
    if not 0 <= place.fret <= instrument.frets:
        raise FeatureError(f"there is no fret {place.fret}", f"the instrument has {instrument.frets} frets", key)
    return fret_x(instrument, place.fret)


def fret_near(instrument: Instrument, x: float) -> str:
    """The fret nearest to x, mm: `fret 7`, or `the nut`."""
    nearest = min(range(instrument.frets + 1), key=lambda fret: abs(fret_x(instrument, fret) - x))
    return f"fret {nearest}" if nearest else "the nut"


def nearest_fret(instrument: Instrument, x: float) -> str:
    """The fret nearest to x, mm, in words."""
    return f"nearest to {fret_near(instrument, x)}"
