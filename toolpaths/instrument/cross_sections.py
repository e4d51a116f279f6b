"""The finished neck sawn through: its section across, with the board on top.

y from the centreline, z up from the glue face; mm.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.instrument.boards import board_end, half_width, nut_shelf, radius_at
from toolpaths.instrument.necks import back_depth, half_width_at
from toolpaths.job.job import Instrument

_PIECES = 96
_TOP = 24


def section(
    instrument: Instrument, x: float, head_drop: float = 0.0, sides: tuple[float, float] | None = None
) -> Array:
    """The finished neck at x with the board on top, a closed outline (K, 2) of (y, z), counter-clockwise, mm.

    `head_drop`: the headstock's face below the glue face; `sides`: least and greatest y where the headstock is drawn.
    Empty beyond the neck's ends. Raises FeatureError for an instrument without a neck.
    """
    wood = neck_section(instrument, x, head_drop, sides)
    board = board_section(instrument, x)
    if not len(board) or not len(wood):
        return wood
    # Both meet in the glue face, which is as wide as the board: the outline goes round the two.
    under, over = wood[wood[:, 1] <= 0], board[board[:, 1] > 0]
    return np.concatenate([under, over])


def neck_section(
    instrument: Instrument, x: float, head_drop: float = 0.0, sides: tuple[float, float] | None = None
) -> Array:
    """The neck alone: from the bass edge of its face down around the back to the treble edge, (K, 2) of (y, z), mm."""
    half = float(half_width_at(instrument, np.array([x]))[0])
    low, high = (-half, half) if sides is None else sides
    if high - low <= 0:
        return np.empty((0, 2))
    face = -head_drop if x < nut_shelf(instrument) else 0.0
    # Evenly around an ellipse, so that the steep flanks are as fine as the middle.
    around = np.sin(np.linspace(-np.pi / 2, np.pi / 2, _PIECES + 1))
    y = (low + high) / 2 + around * (high - low) / 2
    depth = back_depth(instrument, np.full(len(y), x), np.clip(y, low + 1e-9, high - 1e-9), head_drop)
    z = np.minimum(-depth, face)
    return np.concatenate([[[low, face]], np.stack([y, z], axis=1), [[high, face]]])


def board_section(instrument: Instrument, x: float) -> Array:
    """The board alone with its radius, (K, 2) of (y, z) from its bass lower edge round; empty beside it."""
    if not 0.0 <= x <= board_end(instrument):
        return np.empty((0, 2))
    half, thickness = float(half_width(instrument, x)), instrument.board.thickness
    y = np.linspace(half, -half, _TOP + 1)
    radius = radius_at(instrument.board, instrument, x)
    drop = np.zeros(len(y)) if radius is None else radius - np.sqrt(radius**2 - np.minimum(np.abs(y), radius) ** 2)
    top = np.stack([y, thickness - drop], axis=1)
    return np.concatenate([[[-half, 0.0], [half, 0.0]], top])
