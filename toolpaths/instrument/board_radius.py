"""The rounded top of a board: how much lower its edges are, and how the radius grows along it."""

from __future__ import annotations

import math

from toolpaths.instrument.boards import board_end
from toolpaths.job.job import Board, Compound, Instrument


def sagitta(radius: float, width: float) -> float:
    """How much lower the edges of a board of that width are than its middle, mm. All lengths mm.

    R - sqrt(R^2 - (w / 2)^2). Source: elementary geometry (the height of a circle's segment).
    Raises ValueError for a width below 0 or of more than twice the radius.
    """
    if width < 0:
        raise ValueError("a width is not less than 0")
    if width > 2 * radius:
        raise ValueError("the board is wider than a circle of that radius")
    half = width / 2
    # h^2 / (R + sqrt(R^2 - h^2)) is the same, and keeps its digits where the radius is large.
    return half * half / (radius + math.sqrt(radius * radius - half * half))


def radius_at(board: Board, instrument: Instrument, x: float) -> float | None:
    """The top's radius at x, mm; None on a flat board.

    A compound radius is linear in x from the nut to the board's end, and beyond both.
    Common practice, no source: a true cone differs slightly.
    """
    if board.radius is None or not isinstance(board.radius, Compound):
        return board.radius
    return board.radius.nut + (board.radius.end - board.radius.nut) * x / board_end(instrument)


def drop_at(instrument: Instrument, x: float, y: float) -> float:
    """How far the radiused top lies below its crown at (x, y), mm; 0 on a flat board."""
    radius = radius_at(instrument.board, instrument, x)
    return 0.0 if radius is None else sagitta(radius, 2 * min(abs(y), radius))
