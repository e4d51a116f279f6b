"""Fans and nuts that cannot be built: every fault in words, with the key of the instrument that it lies in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from toolpaths.common.units import Units, show, size
from toolpaths.instrument.boards import crossings, nut_shelf
from toolpaths.instrument.fans import fret_line, fret_x, nut_front
from toolpaths.job.job import Fan, Instrument

STEEPEST = 45.0
"""A fret that leans more is a slip of the pen, degrees. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class FanFault:
    """What is wrong, what to do, and the key it lies in, from the instrument's top."""

    key: tuple[str, ...]
    problem: str
    hint: str


def fan_faults(instrument: Instrument, kerf: float, units: Units) -> list[FanFault]:
    """Every fault of an instrument's fan, zero fret and nut. `kerf`: width of the fret slots, mm."""
    try:
        return [*_nut(instrument, units), *_fan(instrument, kerf, units)]
    except (ZeroDivisionError, OverflowError):
        return [_impossible("no fan is possible with these scale lengths, this taper and this square fret")]


def _nut(instrument: Instrument, units: Units) -> Iterator[FanFault]:
    given = instrument.nut_compensation
    if not given:
        return
    if instrument.zero_fret:
        yield FanFault(
            ("nut_compensation",),
            "with a zero fret the strings sound from that fret, not from the nut",
            "leave out `nut_compensation` or `zero_fret`",
        )
    elif not isinstance(instrument.scale_length, Fan) and given >= fret_x(instrument, 1) / 2:
        yield _too_near(units)


def _fan(instrument: Instrument, kerf: float, units: Units) -> Iterator[FanFault]:
    fan = instrument.scale_length
    if not isinstance(fan, Fan):
        return
    if instrument.strings < 2:
        yield FanFault(
            ("scale_length",), "one string has only one scale length", "give one length, or the number of `strings`"
        )
        return
    if not 0 <= fan.square_fret <= instrument.frets:
        yield FanFault(
            ("scale_length", "square_fret"),
            f"fret {fan.square_fret:g} is not on this board",
            f"give from 0 (the nut) to {instrument.frets}, also fractions; 5 to 9 is usual",
        )
        return
    yield from _lines(instrument, kerf, units)


def _lines(instrument: Instrument, kerf: float, units: Units) -> Iterator[FanFault]:
    """Lean, and the room between neighbours at both edges of the board."""
    lines = [fret_line(instrument, n) for n in range(instrument.frets + 1)]
    if not all(math.isfinite(line.x) and math.isfinite(line.lean) for line in lines):
        raise OverflowError
    (b0, t0), (b1, t1) = (crossings(instrument, lines[0]), crossings(instrument, lines[-1]))
    steepest = max(range(len(lines)), key=lambda n: abs(lines[n].lean))
    if abs(lines[steepest].angle) > STEEPEST:
        yield _impossible(
            f"{_name(steepest)} would be {abs(lines[steepest].angle):.1f} degrees from square; {STEEPEST:g} is the most"
        )
        return
    if b1[1] >= 0 or t1[1] <= 0 or b0[1] >= 0 or t0[1] <= 0:
        yield _impossible("the outer strings meet before the last fret")
        return
    front = nut_front(instrument)
    if instrument.nut_compensation and (
        front.x >= lines[1].x / 2
        or any(a[0] >= b[0] for a, b in zip(crossings(instrument, front), crossings(instrument, lines[1]), strict=True))
    ):
        yield _too_near(units)
    for n, (one, other) in enumerate(pairwise(lines)):
        for side, a, b in zip(
            ("bass", "treble"), crossings(instrument, one), crossings(instrument, other), strict=True
        ):
            # Square to the slots, where they lie as near to each other as the board lets them.
            gap = min((b[0] - one.at(b[1])) / one.stretch, (other.at(a[1]) - a[0]) / other.stretch)
            if gap <= kerf:
                what = "would cross" if gap <= 0 else f"would be only {show(max(gap, 0.0), units)} apart"
                yield _impossible(f"{_name(n)} and {_name(n + 1)} {what} at the {side} edge")
                return
    yield from _head(instrument, units)


def _head(instrument: Instrument, units: Units) -> Iterator[FanFault]:
    head = None if instrument.neck is None else instrument.neck.headstock
    if head is not None and head.length is not None and head.length <= head.flare - nut_shelf(instrument):
        yield FanFault(
            ("neck", "headstock", "length"),
            f"the nut's shelf reaches back to x {show(nut_shelf(instrument), units)}, and the flare further than "
            "the headstock",
            "make the headstock longer, or `flare` shorter",
        )


def _too_near(units: Units) -> FanFault:
    return FanFault(
        ("nut_compensation",),
        "the nut would be nearer to fret 1 than to the nut line",
        f"give how far the nut moves toward fret 1; {size(0.3, units)} to {size(1.0, units)} is usual",
    )


def _name(fret: int) -> str:
    return f"fret {fret}" if fret else "the nut"


def _impossible(problem: str) -> FanFault:
    return FanFault(
        ("scale_length",), problem, "bring `bass` and `treble` nearer to each other, or `square_fret` to the middle"
    )
