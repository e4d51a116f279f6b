"""Where frets lie across a board: square to it with one scale length, fanned with one for each outer string.

The outer strings run beside the board's edges at an even distance from them. Bass and treble scale length are
measured along the neck, parallel to the centreline, where those strings are; the strings between are spread evenly
from one to the other, at the nut line and at the bridge line alike. A fret is the straight line through the places on
the two outer strings, and so meets every string between them at the same part of that string's own length.
Frame: x from the nut line on the centreline toward the bridge, y from the centreline toward the treble side; mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.instrument.frets import fret_distance
from toolpaths.job.job import Fan, Instrument, ZeroFret

SPREAD = 0.82
"""From the first to the last string, as a part of the board's width at the nut. Common practice, no source."""
_ROUNDS = 60
_CLOSE = 1e-13


@dataclass(frozen=True, slots=True)
class FretLine:
    """A straight line across the board: `x` where it crosses the centreline, `lean` mm along the neck a mm of y."""

    x: float
    lean: float = 0.0

    def at(self, y: float) -> float:
        """x at y, mm."""
        return self.x + self.lean * y

    @property
    def angle(self) -> float:
        """Degrees from square; positive where the treble end lies nearer to the bridge than the bass end."""
        return math.degrees(math.atan(self.lean))

    @property
    def stretch(self) -> float:
        """How much longer a width square to the line is along x: sqrt(1 + lean^2)."""
        return math.sqrt(1.0 + self.lean * self.lean)


@dataclass(frozen=True, slots=True)
class _Strings:
    """The outer strings: y = -(half + taper x) and half + taper x; x of their places on the nut line. mm."""

    half: float
    taper: float
    bass: float
    treble: float

    def places(self, fan: Fan, fret: float) -> tuple[float, float]:
        """x of a fret on the bass and on the treble string, mm."""
        return self.bass + fret_distance(fan.bass, fret), self.treble + fret_distance(fan.treble, fret)

    def line(self, fan: Fan, fret: float) -> FretLine:
        """The line through both places."""
        b, t = self.places(fan, fret)
        low, high = self.half + self.taper * b, self.half + self.taper * t
        return FretLine((b * high + t * low) / (low + high), (t - b) / (low + high))


def nut_spread(instrument: Instrument) -> float:
    """From the first to the last string at the nut, mm: the instrument's, else SPREAD of the board's width there.

    Square to the centreline, on the nut line's height (x = 0).
    """
    return SPREAD * instrument.board.width.nut if instrument.nut_spread is None else instrument.nut_spread


def fret_line(instrument: Instrument, fret: float) -> FretLine:
    """The line of a fret; 0 is the nut line, a fraction lies between two frets.

    One scale: square at L (1 - 2^(-n/12)). Fanned: through the places on the outer strings; the line of `square_fret`
    is square, and the nut line crosses the centreline at x = 0. Source: as `fret_distance`; the fan is derived.
    """
    fan = instrument.scale_length
    if not isinstance(fan, Fan):
        return FretLine(fret_distance(fan, fret))
    line = _strings(instrument).line(fan, fret)
    return FretLine(0.0, line.lean) if fret == 0 else line


def fret_x(instrument: Instrument, fret: float) -> float:
    """x where a fret crosses the centreline, mm."""
    return fret_line(instrument, fret).x


def nut_front(instrument: Instrument) -> FretLine:
    """The nut's front, where the strings leave it: the nut line, unless the instrument moves it along the neck.

    `nut_compensation` brings it nearer to fret 1; behind a zero fret it stands further back.
    """
    behind = instrument.zero_fret
    line = fret_line(instrument, 0)
    if isinstance(behind, ZeroFret):
        return FretLine(-behind.nut_behind, line.lean)
    return FretLine(-ZeroFret().nut_behind if behind else instrument.nut_compensation, line.lean)


def far_end(instrument: Instrument) -> FretLine:
    """The board's far end: parallel to the last fret, the overhang past it on the centreline."""
    last = fret_line(instrument, instrument.frets)
    return FretLine(last.x + instrument.board.overhang, last.lean)


def taper_place(instrument: Instrument) -> float:
    """x of the board's second width, mm: its fret on the centreline, or the board's end there."""
    width = instrument.board.width
    return far_end(instrument).x if width.at == "end" else fret_x(instrument, width.at)


def string_scales(instrument: Instrument) -> Array:
    """Scale length (N,) of each string, mm, from the treble side (string 1) to the bass side."""
    fan = instrument.scale_length
    if not isinstance(fan, Fan):
        return np.full(instrument.strings, fan)
    return np.linspace(fan.treble, fan.bass, instrument.strings)


def outer_places(instrument: Instrument, fret: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """(x, y) of a fanned fret on the bass and on the treble string, mm. Raises ValueError for one scale length."""
    fan = instrument.scale_length
    if not isinstance(fan, Fan):
        raise ValueError("this instrument has one scale length")
    strings = _strings(instrument)
    b, t = strings.places(fan, fret)
    return (b, -(strings.half + strings.taper * b)), (t, strings.half + strings.taper * t)


def string_places(instrument: Instrument, fret: float) -> Array:
    """(x, y) (N, 2) where each string meets a fret, mm, from the treble side (string 1) to the bass side."""
    bass, treble = outer_places(instrument, fret)
    return np.linspace(treble, bass, instrument.strings)


def scale_at(instrument: Instrument, fret: float, y: float) -> float:
    """Scale length, mm, of a string that crosses a fret at y; beyond the outer strings it goes on evenly."""
    fan = instrument.scale_length
    if not isinstance(fan, Fan):
        return fan
    (_, y0), (_, y1) = outer_places(instrument, fret)
    return fan.bass + (fan.treble - fan.bass) * (y - y0) / (y1 - y0)


# Private


@lru_cache(maxsize=64)
def _strings(instrument: Instrument) -> _Strings:
    """The outer strings of a fanned instrument.

    The board's second width stands at a place that the fan decides, and the fan lies on strings that follow the
    board's taper: a few rounds settle both. Raises ZeroDivisionError where the two cannot be (`fan_faults` tells).
    """
    fan, width = instrument.scale_length, instrument.board.width
    assert isinstance(fan, Fan)
    half = nut_spread(instrument) / 2
    fret = instrument.frets if width.at == "end" else width.at
    beyond = instrument.board.overhang if width.at == "end" else 0.0
    there = fret_distance((fan.bass + fan.treble) / 2, fret) + beyond
    strings = _settled(fan, half, 0.0)
    for _ in range(_ROUNDS):
        strings = _settled(fan, half, (width.there - width.nut) / 2 / there)
        before, there = there, strings.line(fan, fret).x + beyond
        if abs(there - before) <= _CLOSE * abs(there):
            break
    return strings


def _settled(fan: Fan, half: float, taper: float) -> _Strings:
    """The strings for a known taper, mm a mm.

    With d = (bass - treble) (1 - 2^(-square_fret/12)) the treble string's nut lies d nearer to the bridge than the
    bass string's, at u; the line between them crosses the centreline at 0 where
    2 taper u^2 + 2 (half + taper d) u + half d = 0. Its small root, in the form that loses no digits. Derived.
    """
    apart = fret_distance(fan.bass, fan.square_fret) - fret_distance(fan.treble, fan.square_fret)
    shift = taper * apart
    bass = -half * apart / (half + shift + math.hypot(half, shift))
    return _Strings(half, taper, bass, bass + apart)
