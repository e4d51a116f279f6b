"""A fretboard: its outline, from the nut's front to the overhang past the last fret; its binding; its rounded top.

With one scale length both ends are square to the centreline; on a fanned board they follow the nut and the last fret.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import overload

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.instrument.fans import FretLine, far_end, nut_front, nut_spread, taper_place
from toolpaths.job.job import Board, Compound, Instrument, Job
from toolpaths.job.neck import NUT_SHELF

Point = tuple[float, float]
_HALVINGS = 45


def board_end(instrument: Instrument) -> float:
    """Where the board ends on the centreline, x in mm from the nut line: the last fret plus the overhang."""
    return far_end(instrument).x


@overload
def half_width(instrument: Instrument, x: float) -> float: ...
@overload
def half_width(instrument: Instrument, x: Array) -> Array: ...
def half_width(instrument: Instrument, x: float | Array) -> float | Array:
    """Half of the board's width at x, square to the centreline, mm; a number for a number, (N,) for (N,).

    Linear through the two widths that the job gives, at the nut and at a fret or the end (each where it crosses the
    centreline), and beyond both.
    """
    width = instrument.board.width
    return (width.nut + (width.there - width.nut) * (x / taper_place(instrument))) / 2


def crossings(instrument: Instrument, line: FretLine, beside: float = 0.0) -> tuple[Point, Point]:
    """(x, y) where a line across the board meets its bass and its treble edge, mm.

    `beside`: edges so much further out, parallel to the centreline's y. x = c + m y on y = +-(w + k x), solved.
    """
    width = instrument.board.width
    middle = float(half_width(instrument, line.x)) + beside
    taper = (width.there - width.nut) / 2 / taper_place(instrument)
    bass, treble = -middle / (1.0 + taper * line.lean), middle / (1.0 - taper * line.lean)
    return (line.at(bass), bass), (line.at(treble), treble)


def blind_ends(
    instrument: Instrument, line: FretLine, wood: float, reach: Callable[[Point], float]
) -> tuple[Point, Point]:
    """Where a bit's middle stops on a line across the board so that wood stays between its cut and each edge, mm.

    `wood` is measured square to the edge; `reach`: half of what the bit cuts where it stands. Found by going back
    from the edge along the line, and halving: so far from an edge as the way back times the sine between the two.
    """
    out = []
    for side, (_, edge) in zip((-1, 1), crossings(instrument, line), strict=True):
        slope = half_width(instrument, line.x + 1.0) - half_width(instrument, line.x)
        sine = abs(1.0 - side * slope * line.lean) / math.hypot(1.0, slope) / line.stretch
        near, far = 0.0, 2 * abs(edge) * line.stretch
        for _ in range(_HALVINGS):
            back = (near + far) / 2
            y = edge - side * back / line.stretch
            near, far = (near, back) if back * sine - reach((line.at(y), y)) >= wood else (back, far)
        out.append((line.at(y), y))
    return out[0], out[1]


def nut_back(instrument: Instrument) -> float:
    """The furthest that the nut's front reaches back from x = 0 within the board's width, mm; 0 or less."""
    (bass, _), (treble, _) = crossings(instrument, nut_front(instrument))
    return min(0.0, bass, treble)


def nut_shelf(instrument: Instrument) -> float:
    """x as far back from where the neck keeps its width for the nut, mm: NUT_SHELF behind the nut's furthest place."""
    return nut_back(instrument) - NUT_SHELF


def furthest_end(instrument: Instrument) -> float:
    """The greatest x of the board's far end, mm: of its further corner on a fanned board."""
    end = far_end(instrument)
    (bass, _), (treble, _) = crossings(instrument, end)
    return max(end.x, bass, treble)


def corners(instrument: Instrument) -> list[Point]:
    """The board's four corners (x, y) in mm, counter-clockwise, the operator's nut corner first.

    Raises FeatureError where the sides would meet before the board ends.
    """
    end = far_end(instrument)
    if half_width(instrument, furthest_end(instrument)) <= 0:
        raise FeatureError(
            "the board's sides meet before its end",
            "give a second width nearer to the width at the nut",
            "width",
        )
    (near_bass, near_treble), (far_bass, far_treble) = (
        crossings(instrument, nut_front(instrument)),
        crossings(instrument, end),
    )
    return [near_bass, far_bass, far_treble, near_treble]


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
