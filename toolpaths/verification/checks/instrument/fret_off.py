"""Are the fret lines, as the program cuts them, at the places of equal temperament?

The grooves are measured in the wood that the text's moves leave: exact heights along short profiles square to each
line, at its middle and near both ends. The wanted place comes from a derivation of the judge's own, apart from those
that demands and cuts are made by: each outer string is divided from its bridge, what is left of it growing shorter by
the twelfth root of 2 a fret; the nut line is found by halving.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely import LineString

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Fan, Instrument
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.wording import instrument as words

LIMIT = 0.02
"""How far a line may stand from its place, mm."""
SEMITONE = 1.0594630943592953
"""The twelfth root of 2. Source: equal temperament, docs/sources.md."""
SPREAD = 0.82
"""From the first to the last string, as a part of the board's width at the nut. Common practice, no source."""
_BESIDE = 1.0
"""How far beside the wanted line the profile begins, and how far from the ends the outer profiles lie, mm."""
_FAR = 1e3
_STEP = 0.05
_HALVINGS = 12
"""Of the step: walls are found within 0.05 / 4096 mm."""
_ROUNDS, _CLOSER = 20, 60

Place = tuple[float, float, float]
"""(x, y, scale length) of a string where it meets a fret, mm."""


@dataclass(frozen=True, slots=True)
class _Line:
    """The wanted line of a fret: its places on the outer bass and treble string, mm."""

    bass: Place
    treble: Place

    def at(self, y: float) -> tuple[float, float]:
        """(x, scale length) at y: even between the outer strings, and beyond them."""
        (x0, y0, scale0), (x1, y1, scale1) = self.bass, self.treble
        part = (y - y0) / (y1 - y0)
        return x0 + part * (x1 - x0), scale0 + part * (scale1 - scale0)


@dataclass(frozen=True, slots=True)
class _Profiles:
    """P profiles: fret (P,), their middles and units (P, 2), how far to each side (P,), mm.

    `level` (P,): height above the bed at half the groove's depth, mm.
    """

    fret: Ints
    middle: Array
    unit: Array
    reach: Array
    level: Array

    def places(self, rows: Ints, offsets: Array) -> Array:
        """(R, K, 2) at offsets (R, K) or (1, K) from the middles of some profiles."""
        return np.asarray(self.middle[rows][:, None] + offsets[..., None] * self.unit[rows][:, None])


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `fret-off`, worst first. A line that is not there at all is told by `uncut`."""
    here = {o.feature for o in inputs.operations} & inputs.finished
    demands = {d.fret: d for d in inputs.demands if d.feature in here and d.fret is not None}
    worst: dict[int, tuple[float, float, float]] = {}
    for fret, y, x, wanted in measured_frets(inputs, demands):
        if abs(x - wanted) > abs(worst.get(fret, (0.0,))[0]):
            worst[fret] = (x - wanted, x, y)
    found: list[Finding] = []
    for fret, (error, x, y) in sorted(worst.items(), key=lambda item: -abs(item[1][0])):
        if abs(error) <= LIMIT:
            continue
        sounding = _wanted(inputs, fret).at(y)[1] / SEMITONE**fret
        cents = 1200.0 * math.log2(sounding / (sounding - error))
        string = _under(inputs, fret, y)
        said = words.fret_off(fret, error, LIMIT, cents, string=string, units=inputs.job.units)
        found.append(at_feature(inputs, "fret-off", said, demands[fret], (x, y)))
    return shortened(found)


def measured_frets(inputs: CheckInput, demands: dict[int, Demand]) -> list[tuple[int, float, float, float]]:
    """(fret, y, x as cut, x of the formula) of every profile in which a groove with two walls was found, mm."""
    if not demands:
        return []
    profiles = _profiles(inputs, demands)
    if not len(profiles.fret):
        return []
    steps = int(np.ceil(float(profiles.reach.max()) / _STEP))
    offsets = np.asarray(_STEP * np.arange(-steps, steps + 1), dtype=np.float64)
    every = np.arange(len(profiles.fret))
    low = _below(inputs, profiles, every, offsets[None, :]) & (np.abs(offsets)[None, :] <= profiles.reach[:, None])
    left, right = _groove(low)
    rows = np.nonzero(left > 0)[0]
    if not len(rows):
        return []
    left, right = left[rows], right[rows]
    a = _wall(inputs, profiles, rows, offsets[left - 1], offsets[left])
    b = _wall(inputs, profiles, rows, offsets[right + 1], offsets[right])
    middles = profiles.places(rows, (a + b)[:, None] / 2)[:, 0]
    return [
        (fret, y, x, _wanted(inputs, fret).at(y)[0])
        for fret, (x, y) in zip(profiles.fret[rows].tolist(), middles.tolist(), strict=True)
    ]


def _wanted(inputs: CheckInput, fret: int) -> _Line:
    """The fret's line as the setup sees it."""
    line, mirror = _line(inputs.job.instrument, fret), inputs.context.mirror
    return _Line(*((x, mirror * y, scale) for x, y, scale in (line.bass, line.treble)))


@lru_cache(maxsize=256)
def _line(instrument: Instrument, fret: int) -> _Line:
    """The wanted line of a fret, x from the nut line.

    The strings run at the edges' taper, and the board's second width stands where a fret crosses the centreline: a
    few rounds settle both. With one scale the strings are divided alike.
    """
    width = instrument.board.width
    last, beyond = (instrument.frets, instrument.board.overhang) if width.at == "end" else (width.at, 0.0)
    line = _strung(instrument, 0.0, last)
    for _ in range(_ROUNDS if isinstance(instrument.scale_length, Fan) else 1):
        taper = (width.there - width.nut) / 2 / (line.at(0.0)[0] + beyond)
        line = _strung(instrument, taper, last)
    return _strung(instrument, taper, fret)


def _strung(instrument: Instrument, taper: float, fret: float) -> _Line:
    """A fret's line on strings of a taper, mm of y a mm of x: each string's nut place and the rest of its length."""
    scale, spread = instrument.scale_length, instrument.nut_spread
    bass, treble = (scale.bass, scale.treble) if isinstance(scale, Fan) else (scale, scale)
    half = (SPREAD * instrument.board.width.nut if spread is None else spread) / 2
    square = scale.square_fret if isinstance(scale, Fan) else 0.0
    # The square fret stands equally far along on both: so far does the treble string's nut lie past the bass string's.
    apart = (bass - bass / SEMITONE**square) - (treble - treble / SEMITONE**square)
    low, high = -2 * abs(apart), 2 * abs(apart)
    for _ in range(_CLOSER):
        # The nut line crosses the centreline at 0: further back for a bass end that is too far along.
        nut = (low + high) / 2
        crossing = nut * (half + taper * (nut + apart)) + (nut + apart) * (half + taper * nut)
        low, high = (low, nut) if crossing > 0 else (nut, high)
    b, t = nut + bass - bass / SEMITONE**fret, nut + apart + treble - treble / SEMITONE**fret
    return _Line((b, -half - taper * b, bass), (t, half + taper * t, treble))


def _under(inputs: CheckInput, fret: int, y: float) -> int:
    """The string of a fanned board that is nearest; 0 where there is one scale for all."""
    instrument, line = inputs.job.instrument, _wanted(inputs, fret)
    if not isinstance(instrument.scale_length, Fan):
        return 0
    strings = np.linspace(line.treble[1], line.bass[1], instrument.strings)
    return int(np.argmin(np.abs(strings - y))) + 1


def _profiles(inputs: CheckInput, demands: dict[int, Demand]) -> _Profiles:
    """Three profiles a line: at its middle and near both ends, but for those that another feature's cut touches.

    Square to the line, because the walls of one that grows wider lie evenly beside it only there.
    """
    rows: list[tuple[float, ...]] = []
    others = shapely.union_all([d.asked for d in inputs.demands if not d.everywhere and d.fret not in demands])
    shapely.prepare(others)
    for fret, demand in demands.items():
        _, y0, _, y1 = demand.asked.bounds
        inset = min(_BESIDE, (y1 - y0) / 4)
        line = _wanted(inputs, fret)
        lean = line.at(1.0)[0] - line.at(0.0)[0]
        unit = np.array([1.0, -lean]) / math.hypot(1.0, lean)
        for y in (y0 + inset, (y0 + y1) / 2, y1 - inset):
            # Where the line that is asked for is crossed: its own middle, not the formula's.
            there = np.array([line.at(y)[0], y])
            chord = demand.asked.intersection(LineString([there - _FAR * unit, there + _FAR * unit]))
            if chord.is_empty:
                continue
            along = (shapely.get_coordinates(chord) - there) @ unit
            middle = there + unit * (along.min() + along.max()) / 2
            reach = float(np.ptp(along)) / 2 + _BESIDE
            floor = float(demand.floor.height(middle[:1], middle[1:])[0])
            level = (_surface(inputs, middle, reach * unit) + floor) / 2
            if not others.intersects(LineString([middle - reach * unit, middle + reach * unit])):
                rows.append((fret, *middle, *unit, reach, level))
    table = np.array(rows).reshape(-1, 7)
    return _Profiles(table[:, 0].astype(np.int64), table[:, 1:3], table[:, 3:5], table[:, 5], table[:, 6])


def _surface(inputs: CheckInput, middle: Array, side: Array) -> float:
    """Height of the wood beside a line, mm: the face, unless the top is rounded in this setup."""
    face = inputs.context.face
    if not any(CutKind.top in f.cuts for f in inputs.context.setup.features):
        return face
    return min(face, float(inputs.standing.heights(np.stack([middle - side, middle + side])).max()))


def _below(inputs: CheckInput, profiles: _Profiles, rows: Ints, offsets: Array) -> Mask:
    """Whether the wood at offsets (R, K) or (1, K) along some profiles is cut below their level, (R, K)."""
    points = profiles.places(rows, offsets)
    heights = inputs.standing.heights(points.reshape(-1, 2)).reshape(points.shape[:2])
    return np.asarray(heights < profiles.level[rows][:, None])


def _groove(low: Mask) -> tuple[Ints, Ints]:
    """First and last place (P,), (P,) of the run of low ones nearest to the middle; -1 where none has both walls."""
    count, width = low.shape
    left, right = np.full(count, -1, dtype=np.int64), np.full(count, -1, dtype=np.int64)
    for row in range(count):
        edge = np.diff(np.concatenate([[0], low[row].astype(np.int8), [0]]))
        begins, ceases = np.nonzero(edge == 1)[0], np.nonzero(edge == -1)[0] - 1
        inside = (begins > 0) & (ceases < width - 1)
        begins, ceases = begins[inside], ceases[inside]
        if len(begins):
            near = int(np.argmin(np.abs((begins + ceases) / 2 - (width - 1) / 2)))
            left[row], right[row] = begins[near], ceases[near]
    return left, right


def _wall(inputs: CheckInput, profiles: _Profiles, rows: Ints, high: Array, low: Array) -> Array:
    """The wall's offset (R,) between one place that stands high (R,) and one that is cut (R,), by halving. mm."""
    for _ in range(_HALVINGS):
        middle = (high + low) / 2
        cut = _below(inputs, profiles, rows, middle[:, None])[:, 0]
        low, high = np.where(cut, middle, low), np.where(cut, high, middle)
    return (high + low) / 2
