"""Handwork of the whole instrument: the top, the frets, the back, the glue.

The order of work and its rules: common practice, no source; the figures: elementary geometry.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.instrument.boards import board_end, crossings, half_width, radius_at, sagitta
from toolpaths.instrument.fans import fret_line, fret_x, nut_front
from toolpaths.instrument.handwork.handwork import Figure, Handwork
from toolpaths.instrument.handwork.uncut import cuts_of, outline_words
from toolpaths.instrument.necks import back_depth, half_width_at, neck_end
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import SAWN_FIRST, Job
from toolpaths.job.stage import Stage

STATIONS = (1, 3, 5, 7, 9, 12, 15)
"""Frets at which a back is measured while it is carved. Common practice, no source."""
_FINEST = 64


@dataclass(frozen=True, slots=True)
class Place:
    """A place along the neck. `x`: from the nut line, mm."""

    name: str
    x: float


@dataclass(frozen=True, slots=True)
class BackStation:
    """The finished neck at a place: thickness on the centreline with and without the board, and width, mm."""

    place: Place
    with_board: float
    below: float
    width: float


@dataclass(frozen=True, slots=True)
class TopRadius:
    """The radiused top at a place: its radius, the board's width there, how much comes off at the edges, mm."""

    place: Place
    radius: float
    width: float
    off: float


def general(job: Job, pins: int, face: str) -> list[Handwork]:
    """Handwork of the whole part, in working order; none for a coupon or a gauge.

    `pins`: how many stand in the glue face within the finished board; `face`: the setup that cuts the outline,
    empty where none does.
    """
    if job.part == "jig":
        return list(_of_jig(job))
    cuts = cuts_of(job)
    if CutKind.trial in cuts:
        return []
    return list(_of_neck(job, pins, face) if job.part == "neck" else _of_board(job, cuts))


def sixty_fourths(mm: float) -> tuple[str, float]:
    """(inches to the nearest 1/64, such as `12 5/16`; what is left over, mm, positive where the place lies further)."""
    steps = round(mm / MM_PER_INCH * _FINEST)
    whole, part = divmod(steps, _FINEST)
    fraction = "" if part == 0 else str(Fraction(part, _FINEST))
    text = " ".join(word for word in (str(whole) if whole or not fraction else "", fraction) if word)
    return text, mm - steps / _FINEST * MM_PER_INCH


def domes(job: Job) -> list[TopRadius]:
    """The top at the nut, at fret 12 and at the board's end; none on a flat board."""
    instrument = job.instrument
    last = min(12, instrument.frets)
    places = [Place("nut", 0.0), Place(f"fret {last}", fret_x(instrument, last)), Place("end", board_end(instrument))]
    out = []
    for place in places:
        radius, width = radius_at(instrument.board, instrument, place.x), 2 * float(half_width(instrument, place.x))
        if radius is not None:
            out.append(TopRadius(place, radius, width, sagitta(radius, min(width, 2 * radius))))
    return out


def stations(job: Job) -> list[BackStation]:
    """Where the back is measured while it is carved: usual frets as far as the shaft reaches, and the heel."""
    instrument = job.instrument
    neck = instrument.neck
    if neck is None:
        return []
    end = neck.heel.start if neck.heel is not None else neck_end(instrument)
    places = [Place(f"fret {n}", fret_x(instrument, n)) for n in STATIONS if n <= instrument.frets]
    places = [p for p in places if p.x < end]
    if neck.heel is not None:
        places.append(Place("heel", neck.heel.start))
    out = []
    for place in places:
        at = np.array([place.x])
        below = float(back_depth(instrument, at, np.zeros(1))[0])
        width = 2 * float(half_width_at(instrument, at)[0])
        out.append(BackStation(place, below + instrument.board.thickness, below, width))
    return out


# Private


def _of_jig(job: Job) -> Iterator[Handwork]:
    """What keeps a jig true until all that lies on it is cut."""
    offset = job.setups[0].offset
    yield Handwork(
        "jig",
        "Screw the jig to the bed before its first program, the screws' heads below everything that is cut. Never take "
        "it off between board and neck: its pins, its stops and its zero are right only where it was cut.",
        when="before the setup",
    )
    yield Handwork(
        "jig",
        f"Write down the zero of offset {offset} once the jig is cut. X and Y stay the same for all that lies on it. Z "
        "is set anew with each bit, on the jig's planed top.",
        stage=Stage.off_router,
    )
    yield Handwork(
        "jig",
        "If the jig was taken off, or if the machine has lost its place: bring a V-bit's point over the engraved "
        "centreline at both ends, and turn the jig until both are at Y 0. Then set X 0 over the nut line. The floor of "
        "the seat is no longer level with the machine: cut a new jig where that matters.",
        stage=Stage.off_router,
    )


def _of_board(job: Job, cuts: frozenset[CutKind]) -> Iterator[Handwork]:
    units, instrument = job.units, job.instrument
    if CutKind.outline not in cuts:
        # The saw's guide needs the blank's parallel edges: the slots come first.
        yield Handwork("board", f"Once the slots are sawn: {outline_words(job)}", stage=Stage.slots)
    found = domes(job)
    if found and CutKind.top not in cuts:
        most = max(d.off for d in found)
        sizes = f"{_radius_words(found, units)}, with a block of that radius"
        if len({round(d.radius, 6) for d in found}) > 1:
            sizes = f"{_radius_words(found, units)}, changing evenly between them, with a straight beam along the board"
        when = "once the slots are sawn" if SAWN_FIRST in job.by_hand else "before the slots are sawn"
        yield Handwork(
            "board",
            f"Radius the top to {sizes}, {when}. Up to {show(most, units)} comes off at the edges, nothing on the "
            "centreline. Try a gauge of the radius on it. Stop when no light shows under the gauge.",
            stage=Stage.top,
        )
    front = nut_front(instrument).x
    last = min(12, instrument.frets)
    wires = "1 length" if len(positions(job)) == 1 else f"{len(positions(job))} lengths"
    measured = "the nut's end" if abs(front) < 1e-9 else "the nut line"
    yield Handwork(
        "board",
        f"Before a fret goes in, lay a rule along the centreline and check the slots from {measured}: fret {last} is "
        "at "
        f"{show(fret_x(instrument, last), units)}. All distances: table Slots from the nut line, or neckpath frets.",
        stage=Stage.frets,
    )
    yield Handwork(
        "board",
        f"Fit the frets: {wires} of wire, bent a little tighter than the top. Press or tap "
        "them in "
        "from the edges to the middle. Cut and bevel the ends. Level, crown and polish.",
        stage=Stage.frets,
    )


def _of_neck(job: Job, count: int, face: str) -> Iterator[Handwork]:
    units = job.units
    held = "Hold it with clamped cauls, so that it cannot slide."
    if count:
        held = (
            f"If the board has holes for the {count} pins, glue it on these pins: neckpath fit checks that. "
            f"If not: {held[:1].lower()}{held[1:]}"
        )
    yield Handwork(
        "neck",
        f"Glue the board on: centreline on centreline, its nut's end at the nut line. {held} A glue with little water "
        "bows the neck least. Leave it clamped overnight.",
        stage=Stage.glue,
    )
    beside = _beside_board(job, face)
    if beside:
        yield Handwork(
            "neck",
            f"The programs left {show(beside[0].value, units)} of wood beside the board on both sides. Trim the shaft "
            "flush with the board's edges.",
            stage=Stage.trim,
            figures=beside,
        )
    elif not face:
        yield Handwork("neck", "Trim the shaft flush with the board's edges.", stage=Stage.trim)
    found = stations(job)
    if found:
        few = "; ".join(f"{s.place.name} {show(s.with_board, units)}" for s in found)
        words = f"Carve the back. Measure its thickness with the board on, on the centreline: {few}."
        yield Handwork("neck", words, stage=Stage.back)
    yield Handwork(
        "neck",
        "Drill the holes that no program bores: pilot holes for screws, ferrules for the strings, access to the rod's "
        "adjuster. Try each bit in an offcut first.",
        stage=Stage.holes,
    )


def _beside_board(job: Job, face: str) -> tuple[Figure, ...]:
    """The margin that the outline leaves beside the board, on both sides at a fret on the shaft; none without."""
    neck, x = job.instrument.neck, fret_x(job.instrument, min(3, job.instrument.frets))
    if not face or neck is None or neck.margin == 0.0:
        return ()
    edge = float(half_width(job.instrument, x))
    return tuple(Figure("beyond", neck.margin, face, (x, sign * edge), (0.0, sign)) for sign in (-1.0, 1.0))


def _radius_words(found: list[TopRadius], units: Units) -> str:
    first, last = found[0].radius, found[-1].radius
    if abs(first - last) < 1e-9:
        return show(first, units)
    return f"{show(first, units)} at the nut and {show(last, units)} at the end"


def positions(job: Job) -> list[tuple[int, float, float, float]]:
    """(fret, x at the bass edge, on the centreline, at the treble edge), mm from the nut line, by the formula."""
    instrument = job.instrument
    out = []
    for n in range(0 if instrument.zero_fret else 1, instrument.frets + 1):
        line = fret_line(instrument, n)
        (bass, _), (treble, _) = crossings(instrument, line)
        out.append((n, bass, line.x, treble))
    return out
