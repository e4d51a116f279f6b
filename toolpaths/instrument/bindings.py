"""A bound board: strips glued along both long edges after the router, and the narrower board that is cut for them."""

from __future__ import annotations

import math

from toolpaths.instrument.fans import nut_spread, taper_place
from toolpaths.job.job import Instrument, Job


def as_cut(job: Job) -> Job:
    """The job with its board as the router leaves it: narrower than the finished one by the binding on both sides.

    A neck carries the finished board, and its job stays as it is.
    """
    if job.part != "board" or job.instrument.board.binding == 0.0:
        return job
    return job.model_copy(update={"instrument": unbound(job.instrument)})


def unbound(instrument: Instrument) -> Instrument:
    """An instrument as described, with the width of its board before it is bound. The strings stay where they are.

    An edge of taper k (mm a mm) moves inwards by b square to itself, so by b sqrt(1 + k^2) across the board.
    Derived (elementary geometry).
    """
    board = instrument.board
    if board.binding == 0.0:
        return instrument
    taper = (board.width.there - board.width.nut) / 2 / taper_place(instrument)
    less = 2 * board.binding * math.hypot(1.0, taper)
    width = board.width.model_copy(update={"nut": board.width.nut - less, "there": board.width.there - less})
    narrow = board.model_copy(update={"width": width})
    return instrument.model_copy(update={"board": narrow, "nut_spread": nut_spread(instrument)})
