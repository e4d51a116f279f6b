"""Where a fret's line lies across the board, for the wanted shape: formulas of the design, not of any cut.

Apart from `instrument/fans.py`, by which the cuts are made. A fan is drawn here from its nut line: with h half of the
outer strings' spread, k the edges' taper and D = (bass - treble) (1 - 2^(-square_fret / 12)), the nut line leans by
the small root of D k^2 m^2 + 2 h m - D = 0; each outer string begins on it, runs at +-k, and every fret divides both
in the same part. Derived here (elementary geometry); the parts are those of equal temperament, docs/sources.md.
Frame: x from the nut line on the centreline toward the bridge, y from the centreline toward the treble side; mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import Point, Polygon

from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Figure, Measure
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import GENERAL
from toolpaths.job.job import Fan, Instrument
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.bit_choice import cone_of
from toolpaths.target_shape.crown_floor import CrownFloor

Place = tuple[float, float]

_SPREAD = 0.82
"""From the first to the last string, as a part of the board's width at the nut. Common practice, no source."""
_ROUNDS = 40
_WIDE = 50.0
"""More than any line is wide, mm."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A line across the board: `x` on the centreline, `lean` along x a mm of y, the board's half width at that x, and
    its `taper`, mm of half width a mm of x."""

    x: float
    lean: float
    half: float
    taper: float

    def at(self, y: float) -> Place:
        """The place on the line at y."""
        return self.x + self.lean * y, y

    def moved(self, by: float) -> Strip:
        """The same line, moved along x."""
        return replace(self, x=self.x + by, half=self.half + self.taper * by)

    @property
    def ends(self) -> tuple[Place, Place]:
        """Where it meets the bass and the treble edge."""
        return self.inside(-1, 0.0), self.inside(1, 0.0)

    @property
    def board(self) -> Polygon:
        """The board about the line, as far as any line is wide."""
        far = _WIDE + 2 * abs(self.lean) * self.half
        near, beyond = self.half - self.taper * far, self.half + self.taper * far
        x0, x1 = self.x - far, self.x + far
        return Polygon([(x0, -near), (x1, -beyond), (x1, beyond), (x0, near)])

    def inside(self, side: int, distance: float) -> Place:
        """The place on the line at a distance within the bass (-1) or the treble edge (1), measured square to it."""
        return self.at(side * (self.half - distance * math.hypot(1.0, self.taper)) / self._closing(side))

    def stops(self, bit: Bit, depth: float, dome: CrownFloor | None, wood: float) -> tuple[Place, Place]:
        """Positions of a bit's axis at blind ends: `wood` mm stay between its cut and the edge, square to the edge.

        In the flat face a bit cuts r = f + (depth + q) T to each side: f the radius of its flat end, T how far its
        cone opens a mm, q how far the dome falls to its end's inner side. On the bass or treble side, Y from the
        centreline: what stays, (half - c Y) / hypot(1, taper) - r, is `wood`, and q lies on the dome's circle:
        q^2 - 2 R q + (Y - f)^2 = 0. Both together are quadratic in Y. Derived here.
        """
        return self._stop(-1, bit, depth, dome, wood), self._stop(1, bit, depth, dome, wood)

    def _closing(self, side: int) -> float:
        """How much nearer the line comes to an edge a mm of y, as seen across the board."""
        return 1.0 - side * self.taper * self.lean

    def _stop(self, side: int, bit: Bit, depth: float, dome: CrownFloor | None, wood: float) -> Place:
        flat, opens = cone_of(bit)
        if dome is None or not opens:
            return self.inside(side, wood + bit.width_at(depth) / 2)
        whole = self.inside(side, wood + bit.radius)
        stretch = math.hypot(1.0, self.taper)
        # q = a - b Y, R = r + g Y.
        a = (self.half / stretch - wood - flat) / opens - depth
        b = self._closing(side) / (stretch * opens)
        r = dome.nut + (dome.end - dome.nut) * self.x / dome.length
        g = (dome.end - dome.nut) / dome.length * self.lean * side
        two, one, none = 1.0 + b * b + 2 * g * b, 2 * (r * b - flat - a * b - g * a), flat * flat + a * a - 2 * r * a
        y = side * -2 * none / (one + math.sqrt(max(one * one - 4 * two * none, 0.0)))
        # Where the bit is in with its whole width it grows no wider.
        return self.at(y) if abs(y) > abs(whole[1]) else whole


def across(instrument: Instrument, fret: float) -> Strip:
    """The line of a fret: one scale, square at L (1 - 2^(-n/12)); fanned, through its places on both outer strings."""
    taper = _taper(instrument)
    x, lean = _line(instrument, fret, taper)
    return Strip(x, lean, instrument.board.width.nut / 2 + taper * x, taper)


def square_across(instrument: Instrument, x: float) -> Strip:
    """The line square across the board at x, mm."""
    taper = _taper(instrument)
    return Strip(x, 0.0, instrument.board.width.nut / 2 + taper * x, taper)


def _taper(instrument: Instrument) -> float:
    """The edges' taper, mm of half width a mm of x."""
    width = instrument.board.width
    grow = (width.there - width.nut) / 2
    last, beyond = (instrument.frets, instrument.board.overhang) if width.at == "end" else (width.at, 0.0)
    taper = 0.0
    # The second width stands where its fret crosses the centreline, which a fan's taper decides, and hardly moves.
    for _ in range(_ROUNDS):
        taper = grow / (_line(instrument, last, taper)[0] + beyond)
    return taper


def _line(instrument: Instrument, fret: float, taper: float) -> tuple[float, float]:
    """(x on the centreline, lean) of a fret where the outer strings widen by a taper."""
    scale, part = instrument.scale_length, 1.0 - 2.0 ** (-fret / 12.0)
    if not isinstance(scale, Fan):
        return scale * part, 0.0
    spread = instrument.nut_spread
    half = (_SPREAD * instrument.board.width.nut if spread is None else spread) / 2
    apart = (scale.bass - scale.treble) * (1.0 - 2.0 ** (-scale.square_fret / 12.0))
    nut = apart / (half + math.hypot(half, apart * taper))
    begin_bass, begin_treble = -half / (1.0 + taper * nut), half / (1.0 - taper * nut)
    bx, by = nut * begin_bass + scale.bass * part, begin_bass - taper * scale.bass * part
    tx, ty = nut * begin_treble + scale.treble * part, begin_treble + taper * scale.treble * part
    lean = (tx - bx) / (ty - by)
    return bx - lean * by, lean


def line_measures(
    context: SetupContext, near: Surfaces, feature: Feature, frets: Sequence[int], width: float
) -> list[Measure]:
    """How far apart the first line and the last are; how wide and how deep the line nearest to fret 12 is."""
    n = min(frets, key=lambda fret: abs(fret - 12))
    strip = across(context.job.instrument, n)
    lean, name, at = strip.lean, context.setup.name, (strip.x, 0.0)
    square = (1 / math.hypot(1.0, lean), -context.mirror * lean / math.hypot(1.0, lean))
    ends = [(across(context.job.instrument, fret).x, fret) for fret in (min(frets), max(frets))]
    low, high = feature.within
    # Runout widens the line, never the other way.
    wider = context.bits[feature.bit].widening(context.machine.runout)
    wide = Figure("width", width, name, at, square, within=(low, high + wider))
    out = [
        _far_apart(context, *ends),
        Measure("width in the flat face, on the centreline", (wide,), of=f"line {n}"),
    ]
    demand = next((d for d in near.own(context, feature) if d.asked.covers(Point(at))), None)
    deep = None if demand is None else near.depth(context, demand, at, square, feature.within_depth)
    return out if deep is None else [*out, Measure(f"depth there from {deep.surface}", (deep,), of=f"line {n}")]


def _far_apart(context: SetupContext, first: tuple[float, int], last: tuple[float, int]) -> Measure:
    """How far apart two lines (x, fret) are on the centreline; of a single line how far from the nut line it is."""
    (x0, m), (x, n), name = first, last, context.setup.name
    if m == n:
        what = f"from the nut line to the middle of line {n}, on the centreline"
        return Measure(what, (Figure("place", x, name, (x, 0.0), within=GENERAL),))
    between = Figure("between", x - x0, name, (x, 0.0), beside=(x0, 0.0), within=GENERAL)
    what = f"from the edge of line {m} to the same edge of line {n}, on the centreline"
    return Measure(what, (between,))
