"""Programs judged against a job, with an interpreter's canonical moves and shapely: no code of the product.

What must hold: moves within the machine's travel; no rapid through wood and no cut with the spindle off; nothing cut
lower than the job allows there; each plain feature cut as low as it asks; the rounded top where the formula has it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from tests.outside.interpreter import Canonical, Move
from tests.property.plain_part import Part, Region, machine_of
from tests.property.plain_regions import regions
from tests.tamper.field import RAPID, Field, Shape, run, sampled

Array = NDArray[np.float64]

TIGHT = 0.035
"""Beside and below a wall, mm: chords, the last digit, runout of a circle of chords, and the product's own 0.02."""
STEP = 0.08
"""Between samples of arcs, mm: a chord strays by less than 0.001 from a circle of 0.8 mm radius."""
FALL = 0.015
"""Of one piece of a sloping way, mm."""
PITCH = 1.5
_FEW = 24
LEAST = 0.02
"""Pieces smaller than this are nothing, mm2."""


@dataclass(frozen=True)
class Cut:
    """A way of one bit's tip (N, 3) in the setup's frame; the whole of one canonical move."""

    bit: Shape
    way: Array
    rapid: bool
    low: float


@dataclass(frozen=True)
class Text:
    """A program: its name, its text, what the interpreter made of it."""

    name: str
    text: str
    canon: Canonical

    @property
    def numbers(self) -> dict[int, str]:
        """The bits that its header names."""
        return {int(n): name for n, name in re.findall(r"^(?:N\d+ )?\(Bit (\d+): ([^,]+),", self.text, re.M)}

    @property
    def shift(self) -> float:
        """How far to the left of its first place the blank lies, mm, as the header has it; 0 where it says nothing."""
        words = " ".join(line.strip("()").removeprefix("+ ") for line in self.text.splitlines()[:80])
        found = re.search(r"Place \d+ of \d+, [\w-]+: the blank lies (-?[\d.]+) (mm|in) further left", words)
        return 0.0 if found is None else float(found[1]) * (25.4 if found[2] == "in" else 1.0)

    def bits(self) -> Iterator[tuple[str, list[Move]]]:
        """Bits in the order of their work, each with its moves."""
        numbers, changes = self.numbers, [(w[1], int(w[2])) for w in self.canon.words if w[0] == "T"]
        marks = [(0, next(iter(numbers)))] + [(at, n) for at, n in changes if n in numbers]
        owner = [next(n for at, n in reversed(marks) if at <= i) for i in range(len(self.canon.moves))]
        for number, group in groupby(zip(owner, self.canon.moves, strict=True), key=lambda pair: pair[0]):
            yield numbers[number], [move for _, move in group]


def faults(part: Part, texts: Sequence[Text]) -> list[str]:
    """Everything wrong with one setup's programs, in words; empty where all holds."""
    out = [f"{t.name}: {what}" for t in texts for what in _travel(part, t)]
    cuts, harms = _cuts(part, texts)
    out += harms
    found = regions(part)
    out += _too_low(part, found, cuts) + _left(part, found, cuts)
    if "radius" in part.features:
        out += _rounded(part, found, cuts)
    return out


def _travel(part: Part, text: Text) -> list[str]:
    """Spans wider than the machine."""
    machine = machine_of(part.job["machine"])
    factor = 25.4 if machine["units"] == "in" else 1.0
    places = np.array([m.end for m in text.canon.moves[1:]])
    spans = np.ptp(places, axis=0)
    return [
        f"{axis} spans {span:.2f}"
        for axis, span in zip("xyz", spans, strict=True)
        if span > machine["travel"][axis] * factor + 1e-6
    ]


def _cuts(part: Part, texts: Sequence[Text]) -> tuple[list[Cut], list[str]]:
    """All ways in the setup's frame, and rapids through wood, cuts with the spindle off, in the order of programs."""
    zero, blank = np.array(part.zero), part.blank
    box = (blank[0] - zero[0], blank[1] - zero[1], blank[2] - zero[0], blank[3] - zero[1])
    field = Field(box, part.top - zero[2], PITCH)
    machine = machine_of(part.job["machine"])
    cuts: list[Cut] = []
    harms: list[str] = []
    for text in texts:
        for name, told in text.bits():
            bit, moves = part.bit(name), [_moved(move, text.shift) for move in told]
            ran = run(field, bit, moves, spun=machine["spindle"]["set_by"] != "hand")
            field = ran.field
            if ran.harm:
                harms.append(f"{text.name}: {ran.harm}")
            here = moves[0].end
            for move in moves:
                way = np.array([here, move.end]) if move.kind < 2 else sampled(move, here, STEP)
                for piece in _pieces(way, bit):
                    cuts.append(Cut(bit, piece + zero, move.kind == RAPID, float(piece[:, 2].min() + zero[2])))
                here = move.end
    return cuts, harms


def _moved(move: Move, by: float) -> Move:
    """The move as it would be with the blank where it lay first."""
    if not by:
        return move
    x, y, z = move.end
    a, b = move.centre
    # In YZ arcs the centre has no x; in XY arcs it is the first, in XZ arcs the second figure.
    centre = {17: (a + by, b), 18: (a, b + by)}.get(move.plane, (a, b))
    return replace(move, end=(x + by, y, z), centre=centre)


def _pieces(way: Array, bit: Shape) -> list[Array]:
    """A way in pieces that only rise or only fall; of a bit whose width tells its depth, so little that each has one
    width."""
    turns = np.nonzero(np.diff(np.sign(np.diff(way[:, 2]))))[0] + 1
    out: list[Array] = []
    for a, b in pairwise([0, *turns.tolist(), len(way) - 1]):
        out += _flat_ones(way[a : b + 1]) if bit.kind != "flat" else [way[a : b + 1]]
    return out


def _flat_ones(way: Array) -> list[Array]:
    fall = float(np.ptp(way[:, 2]))
    if fall < FALL:
        return [way]
    if len(way) == 2:
        count = min(math.ceil(fall / FALL), 200)
        way = way[0] + (way[1] - way[0]) * np.linspace(0.0, 1.0, count + 1)[:, None]
    cuts = [0, *(np.nonzero(np.diff(np.floor(way[:, 2] / FALL)))[0] + 1).tolist(), len(way) - 1]
    return [way[a : b + 1] for a, b in pairwise(cuts) if b > a]


def _below(cuts: Sequence[Cut], z: float) -> BaseGeometry:
    """What all bits together cut lower than z, seen from above."""
    pieces: dict[tuple[bytes, float], LineString] = {}
    waiting: list[Array] = []
    radius, last = 0.0, -1

    def flush() -> None:
        if waiting:
            xy = shapely.get_coordinates(LineString(np.concatenate(waiting)).simplify(2e-4))
            # Short pieces: a long line that crosses itself takes long to buffer, and levels repeat one another.
            for i in range(0, max(1, len(xy) - 1), _FEW):
                piece = xy[i : i + _FEW + 1]
                pieces[np.round(piece, 4).tobytes(), radius] = LineString(piece)
            waiting.clear()

    for i, cut in enumerate(cuts):
        if cut.low >= z - 1e-9:
            continue
        low = _clipped(cut.way, z)
        wide = _radius_at(cut.bit, z - cut.low)
        if i != last + 1 or abs(wide - radius) > 1e-9 or np.any(np.abs(waiting[-1][-1] - low[0, :2]) > 1e-9):
            flush()
        radius, last = wide, i
        waiting.append(low[:, :2])
    flush()
    if not pieces:
        return Polygon()
    # A round end's chord strays by 0.0016 mm or less, whatever the bit: fewer of them are enough for a small one.
    finer: dict[int, list[tuple[LineString, float]]] = {}
    for (_, wide), piece in pieces.items():
        finer.setdefault(next(q for q in (8, 16, 32, 48) if q >= 14 * math.sqrt(wide) or q == 48), []).append(
            (piece, wide)
        )
    return shapely.union_all(
        np.concatenate(
            [shapely.buffer([p for p, _ in some], [r for _, r in some], quad_segs=q) for q, some in finer.items()]
        )
    )


def _clipped(way: Array, z: float) -> Array:
    """The part of a way that is lower than z (one piece: a way only goes up or only down)."""
    under = way[:, 2] < z - 1e-9
    if under.all():
        return way
    i = int(np.nonzero(under)[0][0])
    j = int(np.nonzero(under)[0][-1])
    out = [way[i : j + 1]]
    if i > 0:
        out.insert(0, _between(way[i - 1], way[i], z)[None])
    if j + 1 < len(way):
        out.append(_between(way[j], way[j + 1], z)[None])
    return np.concatenate(out)


def _between(a: Array, b: Array, z: float) -> Array:
    return np.asarray(a + (b - a) * (z - a[2]) / (b[2] - a[2]))


def _radius_at(bit: Shape, up: float) -> float:
    """Half of what a bit cuts at a height above its tip."""
    if bit.kind == "vee":
        return min(bit.radius, bit.tip / 2 + up * math.tan(math.radians(bit.angle / 2)))
    if bit.kind == "ball":
        return bit.radius if up >= bit.radius else math.sqrt(max(0.0, bit.radius**2 - (bit.radius - up) ** 2))
    return bit.radius


def _too_low(part: Part, found: Sequence[Region], cuts: Sequence[Cut]) -> list[str]:
    """Wood cut lower than anything allows, looked at just below the face and just below every floor."""
    blank = shapely.box(*part.blank)
    faces = {round(part.floor(0.0) if not part.flipped else part.glue, 6)}
    levels = sorted(faces | {round(r.low, 6) for r in found if r.low > 0.0}, reverse=True)
    out = []
    for z in (level - TIGHT for level in levels if level - TIGHT > 0):
        free = shapely.union_all([r.at(z) for r in found if r.low - TIGHT / 2 < z])
        over = _below(cuts, z).intersection(blank).difference(free.buffer(TIGHT))
        pieces = [p for p in shapely.get_parts(over) if p.area > LEAST]
        if pieces:
            worst = max(pieces, key=lambda p: p.area)
            x, y = worst.representative_point().coords[0]
            out.append(f"{worst.area:.2f} mm2 cut below {z:.3f} at {x:.2f}, {y:.2f}")
    return out


def _left(part: Part, found: Sequence[Region], cuts: Sequence[Cut]) -> list[str]:
    """Wood left in what a plain feature asks for, where its bit can reach."""
    blank = shapely.box(*part.blank)
    out = []
    by_level: dict[float, BaseGeometry] = {}
    for region in found:
        if not region.exact:
            continue
        z = round(region.high + TIGHT, 6)
        if z not in by_level:
            by_level[z] = _below(cuts, z).buffer(TIGHT)
        radius = region.bit.radius - 0.02
        asked = region.shape.buffer(-radius, quad_segs=48).buffer(radius, quad_segs=48).intersection(blank)
        over = asked.difference(by_level[z])
        pieces = [p for p in shapely.get_parts(over) if p.area > LEAST]
        if pieces:
            worst = max(pieces, key=lambda p: p.area)
            x, y = worst.representative_point().coords[0]
            out.append(f"{region.feature}: {worst.area:.2f} mm2 left above {z:.3f} at {x:.2f}, {y:.2f}")
    return out


def _rounded(part: Part, found: Sequence[Region], cuts: Sequence[Cut]) -> list[str]:
    """The round top on cells of a grid, away from all other features and from the edges."""
    given = part.features["radius"]
    scallop = part.mm(given.get("scallop", 0.02))
    others = [r.at(part.floor(0.0)).buffer(0.1) for r in found if r.feature not in ("radius", "outline")]
    inside: BaseGeometry = part.seen(part.outline).buffer(-0.2).difference(shapely.union_all([Polygon(), *others]))
    bit = part.bit(given["bit"])
    mine = [c for c in cuts if c.bit == bit and not c.rapid]
    x0, y0, x1, y1 = inside.bounds
    rng = np.random.default_rng(1)
    points = rng.uniform((x0, y0), (x1, y1), (600, 2))
    points = points[shapely.contains_xy(inside, points[:, 0], points[:, 1])]
    if not mine or not len(points):
        return []
    ways = [c.way for c in mine]
    a, b = np.concatenate([w[:-1] for w in ways]), np.concatenate([w[1:] for w in ways])
    out = []
    for x, y in points:
        want = part.floor(part.drop(x, y))
        got = min(part.floor(0.0), _height_under(bit, a, b, np.array([x, y])))
        if not want - TIGHT <= got <= want + scallop + TIGHT:
            out.append(f"the top at {x:.2f}, {y:.2f} is {got:.3f} high, {want:.3f} asked for")
    return out[:2]


def _height_under(bit: Shape, a: Array, b: Array, point: Array) -> float:
    """The lowest that straight ways of a bit leave at a point: the nearest places of each, and some about them."""
    way = b - a
    run = np.maximum(np.einsum("ij,ij->i", way[:, :2], way[:, :2]), 1e-12)
    nearest = np.einsum("ij,ij->i", point - a[:, :2], way[:, :2]) / run
    # Most ways never come as near to it as the bit is wide.
    away = a[:, :2] + way[:, :2] * np.clip(nearest, 0.0, 1.0)[:, None] - point
    near = np.einsum("ij,ij->i", away, away) <= (1.01 * bit.radius) ** 2
    a, way, run, nearest = a[near], way[near], run[near], nearest[near]
    reach = bit.radius / np.sqrt(run)
    best = math.inf
    if not len(a):
        return best
    for off in np.linspace(-1.0, 1.0, 21):
        part = np.clip(nearest + off * reach, 0.0, 1.0)
        tip = a + way * part[:, None]
        away = np.hypot(tip[:, 0] - point[0], tip[:, 1] - point[1])
        best = min(best, float(np.min(tip[:, 2] + bit.height(away))))
    return best
