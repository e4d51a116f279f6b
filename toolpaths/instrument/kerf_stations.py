"""Where kerfs across a neck's back lie: along the shaft, between the blends of headstock and heel."""

from __future__ import annotations

import math

from toolpaths.instrument.necks import neck_end, neck_of
from toolpaths.job.job import Instrument


def kerf_stations(instrument: Instrument, every: float, width: float) -> list[float]:
    """x of kerfs of a width, `every` mm from the nut line on, as far as the shaft keeps its profile; mm.

    Raises FeatureError for an instrument without a neck.
    """
    heel = neck_of(instrument).heel
    end = neck_end(instrument) if heel is None else heel.start - heel.blend
    count = math.floor((end - width / 2) / every + 1e-9)
    return [every * n for n in range(1, count + 1)]
