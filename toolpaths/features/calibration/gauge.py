"""The gauge: two scratches an axis, whose measured distance shows how far the machine really moves; or four crosses.

The marks of an axis are approached from its lower side, both of them, so that backlash is not in their distance.
The crosses are the corners of a rectangle: its two diagonals show whether Y is square to X.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.features.calibration.piece import Piece
from toolpaths.features.calibration.scrap import machine_job, scrap_setup
from toolpaths.instrument.frets import cents_off, fret_distance
from toolpaths.job.bit import Bit
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.machine import Machine
from toolpaths.job.measured import Measured, Square, Stroke
from toolpaths.job.stock import Stock, Thickness
from toolpaths.job.wood import Wood
from toolpaths.operations.bit_choice import what_is_wrong

Place = tuple[float, float]

SETUP = "gauge"
LENGTH = {"mm": 400.0, "in": 16.0 * MM_PER_INCH}
"""Between the marks of an axis where nothing else is asked for and the travel is enough, mm."""
DEPTH = 0.3
"""Of the scratches, mm: deep enough to feel with a blade, and to be sanded off."""
WIDEST = 1.2
"""A wider scratch has no edge worth measuring from, mm."""
_SPARE = 60.0
"""Of the travel, left free beside the marks, mm."""
_LEAST = 50.0
_EDGE, _MARK, _APART = 15.0, 12.0, 20.0
"""From the board's edges to the marks, length of a mark, and from the x marks to the first y mark; mm."""
_THICK = 12.0
"""The least thickness of the waste board that is taken for granted, mm."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """The job in memory, the commanded distance of each axis, and the size of the waste board, mm.

    `pieces`: the marks, two for each axis; their places count from the board's left end and the middle of its width.
    `square`: the pieces are the strokes of four crosses, two each, at the corners of a rectangle of these distances.
    """

    loaded: LoadedJob
    ways: tuple[tuple[str, float], ...]
    size: tuple[float, float]
    pieces: tuple[Piece, ...]
    square: bool = False


def way_of(machine: Machine, axis: str, length: float | None = None) -> float:
    """Distance between the marks of an axis, mm: as asked, but no more than its travel allows."""
    unit, step = (MM_PER_INCH, 1.0) if machine.units == "in" else (1.0, 10.0)
    room = machine.travel.x if axis == "x" else machine.travel.y
    room -= _SPARE if axis == "x" else _SPARE + _APART
    return min(LENGTH[machine.units] if length is None else length, math.floor(room / unit / step) * step * unit)


def gauge_of(
    machine: Machine,
    bits: Mapping[str, Bit],
    bit: str,
    wood: Wood,
    length: float | None = None,
    *,
    square: bool = False,
) -> Gauge:
    """The gauge of a machine. A correction that its file already has is left out: the uncorrected machine is measured.

    `square`: four crosses at the corners of a rectangle, in place of two marks an axis.

    Raises JobError where the bit is not there or too wide, or the length is too short.
    """
    problems: list[Problem] = []
    if bit not in bits:
        words, hint = f"no bit is called `{bit[:40]}`", f"the rack has {', '.join(bits)}"
        problems.append(Problem("command line", 0, 0, "--bit", words, hint))
    elif bits[bit].shape not in ("flat", "vee"):
        words = f"{bit} {what_is_wrong(bits[bit], machine.units)}"
        problems.append(Problem("command line", 0, 0, "--bit", words, "take a pointed bit, or a narrow flat one"))
    elif bits[bit].width_at(DEPTH) > WIDEST:
        words = f"{bit} cuts a line {show(bits[bit].width_at(DEPTH), machine.units)} wide"
        hint = f"take a pointed bit, or one of {show(WIDEST, machine.units)} or less"
        problems.append(Problem("command line", 0, 0, "--bit", words, hint))
    ways = tuple((axis, way_of(machine, axis, length)) for axis in "xy")
    for axis, way in ways:
        if way < _LEAST:
            words = f"{show(way, machine.units)} along {axis} is too short to measure"
            hint = f"give at least {show(_LEAST, machine.units)}, within the machine's travel"
            problems.append(Problem("command line", 0, 0, "--length", words, hint))
    if problems:
        raise JobError(problems)
    x, y = ways[0][1], ways[1][1]
    size = (x + 2 * _EDGE, y + (0.0 if square else _APART) + 2 * _EDGE)
    marks = _crosses(x, y, size[1]) if square else _marks(x, y, size[1])
    pieces: list[Piece] = []
    for i, (label, start, end) in enumerate(marks, 1):
        piece = Piece(bit=bit, kind="line", label=label, start=start, end=end, depth=DEPTH)
        pieces.append(piece.placed(f"mark {i}", 0))
    scrap = Stock.model_construct(length=size[0], width=size[1], thickness=Thickness(min=_THICK, max=_THICK))
    setup = scrap_setup(SETUP, next(iter(machine.offsets)), scrap, pieces)
    bare = machine.model_copy(update={"measured": None})
    loaded = machine_job("gauge.yaml", f"Gauge of {machine.name}", bare, wood, {bit: bits[bit]}, setup)
    return Gauge(loaded, ways, size, tuple(pieces), square)


def square_block(machine: Machine, sides: tuple[float, float], diagonals: tuple[float, float]) -> tuple[str, str]:
    """(the block to paste into the machine file, what the error does to the work), lengths in the machine's units.

    `sides`: commanded, along X and Y; `diagonals`: as measured, from the left and from the right front corner; mm.
    Raises ValueError where they cannot be.
    """
    # What is known of the axes is in the sides already.
    fx, fy, _ = machine.correction
    square = Square(x=sides[0] / fx, y=sides[1] / fy, from_left=diagonals[0], from_right=diagonals[1])
    off = 60.0 * math.tan(square.lean)
    words = (
        f"Uncorrected, a fret line {show(60.0, machine.units, 1)} long would be {show(abs(off), machine.units, 3)} "
        "out of square from end to end."
    )
    new = (machine.measured or Measured()).model_copy(update={"square": square})
    return _block(new, machine.units), words


def measured_block(machine: Machine, axis: str, commanded: float, measured: float) -> tuple[str, str]:
    """(the block to paste into the machine file, what the error would do to frets), lengths in the machine's units.

    What the file has on the other axes, and on backlash, is kept. Raises ValueError where the two cannot be.
    """
    stroke = Stroke(commanded=commanded, measured=measured)
    old = machine.measured or Measured()
    new = old.model_copy(update={axis: stroke})
    scale = 650.0
    error = fret_distance(scale, 12) * (measured / commanded - 1)
    words = ""
    if axis == "x" and error:
        cents = cents_off(scale, 12, error)
        words = (
            f"Uncorrected, fret 12 of a {show(scale, machine.units, 1)} scale would stand "
            f"{show(abs(error), machine.units, 3)} too {'far from' if error > 0 else 'near'} the nut, "
            f"{abs(cents):.1f} cents {'sharp' if cents > 0 else 'flat'}."
        )
    return _block(new, machine.units), words


# Private


def _marks(x: float, y: float, width: float) -> Iterator[tuple[str, Place, Place]]:
    """Label, start and end of two marks an axis. A sheet's places count from its left end and its width's middle."""
    left, low = _EDGE, _EDGE - width / 2
    high = low + _APART
    yield "first mark in X", (left, low), (left, low + _MARK)
    yield "second mark in X", (left + x, low), (left + x, low + _MARK)
    yield "first mark in Y", (left, high), (left + _MARK, high)
    yield "second mark in Y", (left, high + y), (left + _MARK, high + y)


def _crosses(x: float, y: float, width: float) -> Iterator[tuple[str, Place, Place]]:
    """The same of two strokes at each corner of a rectangle, over each other's middle."""
    arm, left, low = _MARK / 2, _EDGE, _EDGE - width / 2
    for name, cx, cy in (
        ("left front", left, low),
        ("right front", left + x, low),
        ("left back", left, low + y),
        ("right back", left + x, low + y),
    ):
        yield f"{name} cross, along X", (cx - arm, cy), (cx + arm, cy)
        yield f"{name} cross, along Y", (cx, cy - arm), (cx, cy + arm)


def _block(new: Measured, units: Units) -> str:
    """`measured` of a machine file, with all that is known."""
    lines = ["measured:"]
    for name, one in (("x", new.x), ("y", new.y), ("z", new.z)):
        if one is not None:
            lines.append(
                f"  {name}: {{commanded: {_bare(one.commanded, units)}, measured: {_bare(one.measured, units)}}}"
            )
    if new.square is not None:
        keys = ", ".join(f"{key}: {_bare(getattr(new.square, key), units)}" for key in Square.model_fields)
        lines.append(f"  square: {{{keys}}}")
    if new.backlash is not None:
        play = {k: v for k, v in (("x", new.backlash.x), ("y", new.backlash.y), ("z", new.backlash.z)) if v is not None}
        lines.append("  backlash: {" + ", ".join(f"{k}: {_bare(v, units)}" for k, v in play.items()) + "}")
    return "\n".join(lines)


def _bare(mm: float, units: Units) -> str:
    value = mm / MM_PER_INCH if units == "in" else mm
    return f"{round(value, 5 if units == 'in' else 4):g}" if abs(value) < 1e5 else f"{value:.4f}"
