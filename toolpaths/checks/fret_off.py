"""Do the fret lines, as the program cuts them, stand where the formula puts them?

The grooves are measured in the wood itself: exact heights along short profiles across each line, at the
centreline and near both edges. The wanted place at each of them comes from the formula, not from what the job's
features made of it; on a fanned board the formula of the string that crosses there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from toolpaths.core.evidence import Evidence
from toolpaths.core.finding import Finding
from toolpaths.core.job import Fan
from toolpaths.core.listing import shortened
from toolpaths.core.target import Demand
from toolpaths.core.units import show
from toolpaths.trade.fans import fret_line, scale_at, string_places
from toolpaths.trade.frets import cents_off

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

LIMIT = 0.02
"""How far a line may stand from its place, mm."""
_NAME = re.compile(r"^fret (\d{1,2})$")
_BESIDE = 1.0
"""How far beside the wanted line the profile begins, and how far from the ends the outer profiles lie, mm."""
_FAR = 1e3
_STEP = 0.05
_HALVINGS = 12
"""Of the step: walls are found within 0.05 / 4096 mm."""


@dataclass(frozen=True, slots=True)
class _Profiles:
    """P profiles along x: fret and y (P,), where to look (P,), how far to each side (P,), mm.

    `level` (P,): height above the bed at half the groove's depth, mm.
    """

    fret: Ints
    y: Array
    middle: Array
    reach: Array
    level: Array


def check(evidence: Evidence) -> list[Finding]:
    """Findings `fret-off`, worst first. A line that is not there at all is told by `uncut`."""
    instrument, units, mirror = evidence.job.instrument, evidence.job.units, evidence.scene.mirror
    demands = _lines(evidence)
    worst: dict[int, tuple[float, float, float]] = {}
    for fret, y, x, wanted in _measured(evidence, demands):
        if abs(x - wanted) > abs(worst.get(fret, (0.0,))[0]):
            worst[fret] = (x - wanted, x, y)
    found: list[Finding] = []
    for fret, (error, x, y) in sorted(worst.items(), key=lambda item: -abs(item[1][0])):
        if abs(error) <= LIMIT:
            continue
        cents = cents_off(scale_at(instrument, fret, mirror * y), fret, error)
        demand = demands[fret]
        found.append(
            Finding.of(
                "fret-off",
                f"fret {fret} is cut {show(abs(error), units, 3)} too {'far from' if error > 0 else 'near'} the nut"
                f"{_under(evidence, fret, mirror * y)}, {abs(cents):.1f} cents "
                f"{'sharp' if cents > 0 else 'flat'}; {show(LIMIT, units, 3)} are allowed: "
                "correct the line's X",
                feature=demand.feature,
                job_line=demand.job_line,
                program=evidence.program.name,
                place=(x, y),
            )
        )
    return shortened(found)


def measured_frets(evidence: Evidence) -> list[tuple[int, float, float]]:
    """(fret, x as cut, x of the formula) in mm for each line that this program finishes, the worst of its profiles."""
    worst: dict[int, tuple[float, float]] = {}
    for fret, _, x, wanted in _measured(evidence, _lines(evidence)):
        if fret not in worst or abs(x - wanted) > abs(worst[fret][0] - wanted):
            worst[fret] = (x, wanted)
    return [(fret, x, wanted) for fret, (x, wanted) in sorted(worst.items())]


def _lines(evidence: Evidence) -> dict[int, Demand]:
    """The lines that this program finishes, by fret."""
    here = {o.feature for o in evidence.operations}
    return {
        int(match[1]): d
        for d in evidence.demands
        if d.feature in evidence.finished and d.feature in here and (match := _NAME.match(d.name))
    }


def _measured(evidence: Evidence, demands: dict[int, Demand]) -> list[tuple[int, float, float, float]]:
    """(fret, y, x as cut, x of the formula) of every profile in which a groove with two walls was found, mm."""
    if not demands:
        return []
    profiles = _profiles(evidence, demands)
    if not len(profiles.fret):
        return []
    steps = int(np.ceil(float(profiles.reach.max()) / _STEP))
    offsets = _STEP * np.arange(-steps, steps + 1)
    x = profiles.middle[:, None] + offsets[None, :]
    low = _below(evidence, x, profiles.y, profiles.level) & (np.abs(offsets)[None, :] <= profiles.reach[:, None])
    left, right = _groove(low)
    whole = left > 0
    rows = np.nonzero(whole)[0]
    if not len(rows):
        return []
    left, right = left[rows], right[rows]
    a = _wall(evidence, profiles, rows, x[rows, left - 1], x[rows, left])
    b = _wall(evidence, profiles, rows, x[rows, right + 1], x[rows, right])
    return [
        (fret, y, float(middle), fret_line(evidence.job.instrument, fret).at(evidence.scene.mirror * y))
        for fret, y, middle in zip(profiles.fret[rows].tolist(), profiles.y[rows].tolist(), (a + b) / 2, strict=True)
    ]


def _under(evidence: Evidence, fret: int, y: float) -> str:
    """Which string of a fanned board is meant: the nearest, with its own scale; nothing to say of others."""
    instrument = evidence.job.instrument
    if not isinstance(instrument.scale_length, Fan):
        return ""
    string = int(np.argmin(np.abs(string_places(instrument, fret)[:, 1] - y))) + 1
    return f" near string {string} (scale there {show(scale_at(instrument, fret, y), evidence.job.units)})"


def _profiles(evidence: Evidence, demands: dict[int, Demand]) -> _Profiles:
    """Three profiles a line: at its middle and near both ends, but for those that another feature's cut touches."""
    rows: list[tuple[int, float, float, float, float]] = []
    own = {d.name for d in demands.values()}
    others = shapely.union_all([d.asked for d in evidence.demands if not d.everywhere and d.name not in own])
    shapely.prepare(others)
    for fret, demand in demands.items():
        x0, y0, x1, y1 = demand.asked.bounds
        across = (y0 + y1) / 2
        inset = min(_BESIDE, (y1 - y0) / 4)
        lean = evidence.scene.mirror * fret_line(evidence.job.instrument, fret).lean
        for y in (y0 + inset, across, y1 - inset):
            if lean:
                # Where the line that is asked for crosses y: its own middle, not the formula's.
                x0, _, x1, _ = demand.asked.intersection(LineString([(x0 - _FAR, y), (x1 + _FAR, y)])).bounds
            middle, half = (x0 + x1) / 2, (x1 - x0) / 2
            reach = half + _BESIDE
            floor = float(demand.floor.height(np.array([middle]), np.array([y]))[0])
            level = (_surface(evidence, middle, reach, y) + floor) / 2
            if not others.intersects(LineString([(middle - reach, y), (middle + reach, y)])):
                rows.append((fret, y, middle, reach, level))
    table = np.array(rows).reshape(-1, 5)
    return _Profiles(table[:, 0].astype(np.int64), table[:, 1], table[:, 2], table[:, 3], table[:, 4])


def _surface(evidence: Evidence, middle: float, reach: float, y: float) -> float:
    """Height of the wood beside a line, mm: the face, unless the top is rounded in this setup."""
    face = evidence.scene.face
    if not any(f.key == "radius" for f in evidence.scene.setup.features):
        return face
    return min(face, float(evidence.standing.heights(np.array([[middle - reach, y], [middle + reach, y]])).max()))


def _below(evidence: Evidence, x: Array, y: Array, level: Array) -> NDArray[np.bool_]:
    """Whether the wood at (P, K) places x of P profiles is cut below their level."""
    points = np.stack([x, np.broadcast_to(y[:, None], x.shape)], axis=-1).reshape(-1, 2)
    return np.asarray(evidence.standing.heights(points).reshape(x.shape) < level[:, None])


def _groove(low: NDArray[np.bool_]) -> tuple[Ints, Ints]:
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


def _wall(evidence: Evidence, profiles: _Profiles, rows: Ints, high: Array, low: Array) -> Array:
    """The wall's place (R,) between one place that stands high (R,) and one that is cut (R,), by halving. mm."""
    for _ in range(_HALVINGS):
        middle = (high + low) / 2
        cut = _below(evidence, middle[:, None], profiles.y[rows], profiles.level[rows])[:, 0]
        low, high = np.where(cut, middle, low), np.where(cut, high, middle)
    return (high + low) / 2
