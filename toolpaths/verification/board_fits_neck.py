"""Whether a board and a neck, made by two jobs, go together: a comparison of numbers and shapes, no program involved.

All shapes are in instrument coordinates, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import MM_PER_INCH, Units, show, show_area
from toolpaths.instrument.boards import board_end, corners, crossings, furthest_end, half_width, nut_back, nut_shelf
from toolpaths.instrument.fans import fret_x, nut_front
from toolpaths.instrument.necks import neck_end, neck_of, side_corners
from toolpaths.job.job import Fan, Instrument, Job
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Target

SAME = 0.02
"""Lengths that differ by no more are the same, mm: what a router holds."""
PIN = 0.05
"""Pins of both parts stand at the same place within this, mm."""
NUT = 0.05
"""The nut's slot ends where the board begins within this, mm. Common practice, no source."""
NEAR = 10.0
"""Pins further apart than this are not taken for a pair, mm."""
LEAST_OVER = 2.0
"""Wood that should stay between a marker's pocket and what lies under the board, mm. Common practice, no source."""
UNDER_BOARD = ("truss_rod_channel", "reinforcement_slots")
_HOLES = ("pin_bores", "bolt_bores", "marker_pockets", "pocket", "tuner_bores")
_NOTHING = 0.01
"""An area smaller than this is none, mm2."""


class Verdict(StrEnum):
    """How a line of the comparison came out."""

    fits = "fits"
    look = "look"
    no = "does not fit"


@dataclass(frozen=True, slots=True)
class FitRow:
    """One line: what is compared, what each part has, how far they differ, and what to do where they do."""

    what: str
    board: str
    neck: str
    difference: str
    verdict: Verdict = Verdict.fits
    todo: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """One thing that a job cuts: the feature's kind, its name, its shape seen from the face, its depth from there.

    `joint`: whether it is open where board and neck meet, at the board's back and at the neck's face.
    """

    kind: str
    name: str
    region: BaseGeometry
    depth: float
    joint: bool


@dataclass(frozen=True, slots=True)
class FitPart:
    """One job as this comparison sees it. `thickness`: of the finished part at its face, mm."""

    job: Job
    thickness: float
    cuts: tuple[Cut, ...]


def part_of(job: Job, scenes: Mapping[str, SetupContext], target: Target) -> FitPart:
    """The part that a laid-out job makes."""
    cuts: list[Cut] = []
    for name, scene in scenes.items():
        if scene.apart:
            continue
        kinds = {f.name: f.key for f in scene.setup.features}
        for demand in target.demands[name]:
            if not demand.must or demand.asked.is_empty:
                continue
            region = demand.asked if scene.mirror > 0 else scale(demand.asked, yfact=-1.0, origin=(0, 0))
            at = shapely.get_coordinates(demand.asked)
            z = float(np.min(demand.floor.height(at[:, 0], at[:, 1])))
            through = z <= 0
            depth = math.inf if through else scene.glue - z
            joint = through or scene.flipped == (job.part == "board")
            kind = kinds.get(demand.feature, "")
            if scene.flipped and not through and not (joint and kind == "pin_bores"):
                continue  # is not seen from the face
            cuts.append(Cut(kind, demand.name, region, depth, joint))
    return FitPart(job, next(iter(scenes.values())).glue, tuple(cuts))


def fit(board: FitPart, neck: FitPart, *, on_body: bool = False) -> tuple[FitRow, ...]:
    """Every line of the comparison; lengths in the board's units.

    `on_body`: the board's end lies on the body, so that a neck shorter than the board is meant.
    Raises FeatureError where the neck's instrument has no neck, or a board's sides meet.
    """
    units = board.job.units
    return (
        *_numbers(board, neck, units),
        *_widths(board, neck, units),
        _length(board, neck, units, on_body),
        _thickness(board, neck, units),
        *_nut_slots(board, neck, units),
        *_covered(board, neck, units),
        *_holes_over(board, neck, units),
        *_pins(board, neck, units),
    )


# Numbers


def _numbers(board: FitPart, neck: FitPart, units: Units) -> list[FitRow]:
    one, other = board.job.instrument, neck.job.instrument
    return [
        *_scales(one, other, units),
        *_nuts(one, other, units),
        _plain_row("frets", one.frets, other.frets, Verdict.look, "the two jobs end at different frets"),
        _plain_row("strings", one.strings, other.strings, Verdict.look, "the two jobs name different instruments"),
        _plain_row("handed", board.job.handed, neck.job.handed, Verdict.no, "one part is the other's mirror image"),
    ]  # fmt: skip


def _scales(one: Instrument, other: Instrument, units: Units) -> list[FitRow]:
    """One scale length, or both of a fan and the fret that stands square."""
    same_file = "give both jobs the same instrument file"
    a, b = one.scale_length, other.scale_length
    if not isinstance(a, Fan) and not isinstance(b, Fan):
        return [_scale_row("scale length", a, b, units)]
    if not isinstance(a, Fan) or not isinstance(b, Fan):
        kinds = ["fanned" if isinstance(s, Fan) else show(s, units) for s in (a, b)]
        return [FitRow("scale length", kinds[0], kinds[1], "differs", Verdict.no, same_file)]
    return [
        _scale_row("scale length, bass", a.bass, b.bass, units),
        _scale_row("scale length, treble", a.treble, b.treble, units),
        _plain_row("square fret", f"{a.square_fret:g}", f"{b.square_fret:g}", Verdict.no, same_file),
    ]


def _scale_row(what: str, a: float, b: float, units: Units) -> FitRow:
    verdict = Verdict.fits if abs(b - a) <= SAME else Verdict.no
    return _length_row(what, a, b, units, verdict, "give both jobs the same instrument file")


def _nuts(one: Instrument, other: Instrument, units: Units) -> list[FitRow]:
    """Where the nut's front stands, for instruments that move it from the nut line."""
    a, b = nut_front(one).x, nut_front(other).x
    if a == b == 0.0:
        return []
    off = abs(a - b) > SAME or bool(one.zero_fret) != bool(other.zero_fret)
    verdict = Verdict.no if off else Verdict.fits
    todo = "see `zero_fret` and `nut_compensation`: give both jobs the same instrument file"
    return [_length_row("nut's front, from the nut line", a, b, units, verdict, todo)]


def _widths(board: FitPart, neck: FitPart, units: Units) -> list[FitRow]:
    """Widths at nut, octave and far end; the taper; and where the neck stands least beside the board."""
    one, other = board.job.instrument, neck.job.instrument
    margin = neck_of(other).margin
    far = min(board_end(one), neck_end(other))
    fret = min(12, one.frets)
    places = [("nut", 0.0), (f"fret {fret}", fret_x(one, fret)), ("the end", far)]
    out: list[FitRow] = []
    for name, x in places:
        b, n = 2 * float(half_width(one, x)), 2 * _neck_half(other, x, margin)
        verdict, todo = Verdict.fits, ""
        if b - n > SAME:
            verdict, todo = Verdict.no, f"the board is wider than the shaft at {name}: give the neck more margin"
        elif n - b > 2 * margin + 1.0 and not _in_heel(other, x):
            verdict, todo = Verdict.look, f"the shaft stands out at {name}: trim it to the board"
        out.append(_length_row(f"width at {name}", b, n, units, verdict, todo))
    taper = [100 * (float(half_width(i, far)) - float(half_width(i, 0.0))) * 2 / far for i in (one, other)]
    out.append(
        FitRow(
            f"taper, {units} a 100 {units}",
            f"{taper[0]:.3f}",
            f"{taper[1]:.3f}",
            f"{taper[1] - taper[0]:+.3f}",
            Verdict.fits if abs(taper[1] - taper[0]) * far / 100 <= 2 * SAME else Verdict.look,
            "the sides of board and neck are not parallel: trim the neck to the board",
        )
    )
    xs = sorted({nut_back(one), 0.0, far, *(x for x, _ in side_corners(other, margin) if 0 < x < far)})
    beside = [(_neck_half(other, x, margin) - float(half_width(one, x)), x) for x in xs]
    least, x = min(beside)
    out.append(
        FitRow(
            "neck beside the board, least",
            "",
            f"at x {_bare(x, units)}",
            _signed(least, units),
            Verdict.no if least < -SAME / 2 else Verdict.fits,
            "the board stands over the neck there: give the neck more margin",
        )
    )
    return out


def _length(board: FitPart, neck: FitPart, units: Units, on_body: bool) -> FitRow:
    b, n = furthest_end(board.job.instrument), neck_end(neck.job.instrument)
    short = b - n > SAME
    verdict = Verdict.fits if not short else (Verdict.look if on_body else Verdict.no)
    todo = (
        "no neck lies under the board's end: give the heel a longer `to`, or say --on-body where it rests on the body"
    )
    return _length_row("end, from the nut", b, n, units, verdict, todo)


def _thickness(board: FitPart, neck: FitPart, units: Units) -> FitRow:
    counted = neck.job.instrument.board.thickness
    off = abs(counted - board.thickness) > 0.1
    return _length_row(
        "thickness of the board", board.thickness, counted, units, Verdict.look if off else Verdict.fits,
        "the neck's thickness counts another board in: its back and its walls shift by the difference",
    )  # fmt: skip


def _nut_slots(board: FitPart, neck: FitPart, units: Units) -> list[FitRow]:
    """The nut's slot must end where the board begins: under the board no nut stands, before it the frets are off."""
    one = board.job.instrument
    front = nut_front(one)
    out: list[FitRow] = []
    for slot in (c for c in neck.cuts if c.kind == "nut_slot"):
        x0, _, x1, _ = slot.region.bounds
        walls: list[tuple[float, float]] = []
        for _, y in (*crossings(one, front), (front.x, 0.0)):
            across = slot.region.intersection(LineString([(x0 - 1.0, y), (x1 + 1.0, y)]))
            if not across.is_empty:
                walls.append((float(across.bounds[2]), front.at(y)))
        wall, begins = max(walls, key=lambda w: abs(w[0] - w[1]), default=(x1, front.x))
        off = wall - begins
        todo = (
            f"{show(off, units)} of the slot lies under the board, where no nut stands: move its bridge-side wall back"
            if off > 0
            else f"the nut would stand {show(-off, units)} before the board, and every fret be off by that: "
            "move its bridge-side wall to the board"
        )
        verdict = Verdict.fits if abs(off) <= NUT + 1e-9 else Verdict.no
        out.append(_length_row("nut slot's wall, board's beginning", begins, wall, units, verdict, f"{todo} (`edge`)"))
    return out


# What lies under the board


def _covered(board: FitPart, neck: FitPart, units: Units) -> list[FitRow]:
    """Channels and bars must lie under board or nut; an adjuster's pocket may come out to be reached."""
    one = board.job.instrument
    end, shelf = board_end(one), nut_shelf(one)
    # What the nut covers, from the shelf to its front.
    bass, treble = crossings(one, nut_front(one))
    nut = Polygon([(shelf, bass[1]), (bass[0] + 1e-3, bass[1]), (treble[0] + 1e-3, treble[1]), (shelf, treble[1])])
    cover = shapely.union(Polygon(corners(one)), nut)
    out: list[FitRow] = []
    for cut in _under(neck):
        x0, _, x1, _ = cut.region.bounds
        bare = cut.region.difference(cover)
        beyond = max(shelf - x0, x1 - end)
        verdict, todo, difference = Verdict.fits, "", "covered"
        if bare.area > _NOTHING:
            difference = f"{show_area(bare.area, units)} bare" if beyond <= SAME else f"{_bare(beyond, units)} bare"
            adjuster = "adjuster" in cut.name
            verdict = Verdict.look if adjuster else Verdict.no
            where = "beyond the board's end" if x1 > end else ("behind the nut" if x0 < shelf else "at its side")
            todo = (
                "it stays open, to be reached: see that it clears the body"
                if adjuster
                else f"the board does not cover it {where}: shorten it or move it"
            )
        neck_words = f"{_bare(x0, units)} to {_bare(x1, units)}"
        out.append(
            FitRow(f"{cut.name} under the board", f"0 to {_bare(end, units)}", neck_words, difference, verdict, todo)
        )
    return out


def _holes_over(board: FitPart, neck: FitPart, units: Units) -> list[FitRow]:
    """Holes of the board over channels and bars: through is a fault, nearly through is worth a look."""
    out: list[FitRow] = []
    for hole in (c for c in board.cuts if c.kind in _HOLES and (not c.joint or math.isinf(c.depth))):
        for slot in _under(neck):
            if hole.region.intersection(slot.region).area <= _NOTHING:
                continue
            left = board.thickness - hole.depth
            if left >= LEAST_OVER:
                continue
            through = left <= 0
            out.append(
                FitRow(
                    f"{hole.name} over {slot.name}",
                    "through" if through else f"{show(hole.depth, units)} deep",
                    f"{show(slot.depth, units)} deep",
                    "open" if through else f"{show(left, units)} left",
                    Verdict.no if through else Verdict.look,
                    "the hole opens into it: move one of them"
                    if through
                    else f"less than {show(LEAST_OVER, units)} of board stays between them",
                )
            )
    return out


# Pins


@dataclass(frozen=True, slots=True)
class _Pin:
    name: str
    x: float
    y: float
    diameter: float


def _pins(board: FitPart, neck: FitPart, units: Units) -> list[FitRow]:
    """Pins within the board's outline, in pairs; those in waste hold the work and are no concern of the joint."""
    inside = Polygon(corners(board.job.instrument))
    ours, theirs = _pins_of(board, inside), _pins_of(neck, inside)
    todo = "it does not come out at the board's back, where the neck lies: bore it through, or from the back"
    blind = [
        FitRow(f"{c.name} from the board's face", "blind", "", "", Verdict.look, todo)
        for c in board.cuts
        if c.kind == "pin_bores" and not c.joint and inside.contains(c.region.centroid)
    ]
    if not ours and not theirs:
        todo = "the board can slide while it is glued: clamp with care, or bore both for pins"
        return [FitRow("pins between board and neck", "none", "none", "", Verdict.look, todo)]
    out: list[FitRow] = []
    free = list(theirs)
    alone: list[_Pin] = []
    for pin in ours:
        mate = min(free, key=lambda p: math.dist((p.x, p.y), (pin.x, pin.y)), default=None)
        if mate is None or math.dist((mate.x, mate.y), (pin.x, pin.y)) > NEAR:
            alone.append(pin)
            continue
        free.remove(mate)
        off = math.dist((mate.x, mate.y), (pin.x, pin.y))
        wider = abs(mate.diameter - pin.diameter)
        fits = off <= PIN and wider <= PIN
        todo = f"the holes lie {show(off, units)} apart" if off > PIN else "the holes differ in diameter"
        words = (_pin_words(pin, units), _pin_words(mate, units))
        out.append(FitRow(pin.name, *words, show(off, units), Verdict.fits if fits else Verdict.no, todo))
    # Both are bored, and no pin of the one meets one of the other: they do not go together.
    apart = Verdict.no if alone and free and not out else Verdict.look
    for pin in alone:
        mate = next((p for p in free if math.dist((p.x, -p.y), (pin.x, pin.y)) <= PIN), None)
        if mate is not None:
            free.remove(mate)
            todo = "they lie on opposite sides of the centreline: in both jobs y counts toward the treble side"
            words = (_pin_words(pin, units), _pin_words(mate, units))
            out.append(FitRow(pin.name, *words, show(2 * abs(pin.y), units), Verdict.no, todo))
            continue
        todo = "only the board is bored here"
        out.append(FitRow(f"{pin.name} of the board", _pin_words(pin, units), "none", "", apart, todo))
    for pin in free:
        todo = "only the neck is bored here"
        out.append(FitRow(f"{pin.name} of the neck", "none", _pin_words(pin, units), "", apart, todo))
    return [*blind, *out]


def _pins_of(part: FitPart, inside: Polygon) -> list[_Pin]:
    out: list[_Pin] = []
    for cut in part.cuts:
        middle = cut.region.centroid
        if cut.kind != "pin_bores" or not inside.contains(middle):
            continue
        x0, y0, x1, y1 = cut.region.bounds
        pin = _Pin(cut.name, middle.x, middle.y, min(x1 - x0, y1 - y0))
        if all(math.dist((pin.x, pin.y), (p.x, p.y)) > PIN for p in out):
            out.append(pin)
    return out


# Pieces


def _under(neck: FitPart) -> Iterable[Cut]:
    return (c for c in neck.cuts if c.kind in UNDER_BOARD)


def _neck_half(instrument: Instrument, x: float, margin: float) -> float:
    side = side_corners(instrument, margin)
    return float(np.interp(x, [c[0] for c in side], [c[1] for c in side]))


def _in_heel(instrument: Instrument, x: float) -> bool:
    heel = neck_of(instrument).heel
    return heel is not None and x > heel.start - heel.blend


def _length_row(what: str, b: float, n: float, units: Units, verdict: Verdict, todo: str) -> FitRow:
    return FitRow(what, show(b, units), show(n, units), _signed(n - b, units), verdict, todo)


def _plain_row(what: str, b: object, n: object, differ: Verdict, todo: str) -> FitRow:
    return FitRow(what, str(b), str(n), "" if b == n else "differs", Verdict.fits if b == n else differ, todo)


def _pin_words(pin: _Pin, units: Units) -> str:
    return f"{show(pin.diameter, units)} at {_bare(pin.x, units)}, {_bare(pin.y, units)}"


def _bare(mm: float, units: Units) -> str:
    value = round(mm / MM_PER_INCH, 3) if units == "in" else round(mm, 2)
    return f"{value + 0.0:g}"


def _signed(mm: float, units: Units) -> str:
    digits = 3 if units == "in" else 2
    value = round(mm / MM_PER_INCH if units == "in" else mm, digits) + 0.0
    return f"{value:+.{digits}f} {units}" if value else f"0 {units}"
