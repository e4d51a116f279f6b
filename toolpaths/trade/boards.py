"""The outline of a fretboard: straight sides, from the nut to the overhang past the last fret."""

from __future__ import annotations

from typing import overload

import numpy as np
from numpy.typing import NDArray

from toolpaths.core.finding import Refusal
from toolpaths.core.job import Instrument
from toolpaths.trade.frets import fret_distance

Array = NDArray[np.float64]


def board_end(instrument: Instrument) -> float:
    """Where the board ends, x in mm from the nut: the centre of the last fret plus the overhang."""
    return fret_distance(instrument.scale_length, instrument.frets) + instrument.board.overhang


@overload
def half_width(instrument: Instrument, x: float) -> float: ...
@overload
def half_width(instrument: Instrument, x: Array) -> Array: ...
def half_width(instrument: Instrument, x: float | Array) -> float | Array:
    """Half of the board's width at x, mm; a number for a number, (N,) for (N,).

    Linear through the two widths that the job gives, at the nut and at a fret or the end, and beyond both.
    """
    width = instrument.board.width
    there = board_end(instrument) if width.at == "end" else fret_distance(instrument.scale_length, width.at)
    return (width.nut + (width.there - width.nut) * (x / there)) / 2


def corners(instrument: Instrument) -> list[tuple[float, float]]:
    """The board's four corners (x, y) in mm, counter-clockwise, the operator's nut corner first.

    Raises Refusal where the sides would meet before the board ends.
    """
    end = board_end(instrument)
    at_nut, at_end = half_width(instrument, 0.0), half_width(instrument, end)
    if at_end <= 0:
        raise Refusal(
            "the board's sides meet before its end",
            "give a second width nearer to the width at the nut",
            "width",
        )
    return [(0.0, -at_nut), (end, -at_end), (end, at_end), (0.0, at_nut)]
