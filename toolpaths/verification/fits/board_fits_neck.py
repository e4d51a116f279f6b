"""Whether a board and a neck, made by two jobs, go together: a comparison of numbers and shapes, no program involved.

All shapes are in instrument coordinates, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import numpy as np
import shapely
from shapely import LineString, Polygon

from toolpaths.common.units import Units, show, show_area
from toolpaths.instrument.boards import board_end, corners, crossings, furthest_end, half_width, nut_back, nut_shelf
from toolpaths.instrument.fans import fret_x, nut_front
from toolpaths.instrument.necks import neck_end, neck_of, side_corners
from toolpaths.job.cut_kind import HOLES, ROD_AND_BARS, CutKind
from toolpaths.job.job import Fan, Instrument
from toolpaths.verification.fits.fit_parts import (
    Cut,
    FitPart,
    FitRow,
    Verdict,
    length_row,
    plain_row,
    plain_size,
    signed,
)
from toolpaths.verification.fits.heel_in_pocket import heel_in_pocket
from toolpaths.verification.fits.pin_pairs import pins
from toolpaths.verification.fits.strings_at_bridge import strings_at_bridge
from toolpaths.verification.wording import fits as words

SAME = 0.02
"""Lengths that differ by no more are the same, mm: what a router holds."""
NUT = 0.05
"""The nut's slot ends where the board begins within this, mm. Common practice, no source."""
LEAST_OVER = 2.0
"""Wood that should stay between a marker's pocket and what lies under the board, mm. Common practice, no source."""
_HOLES = HOLES | {CutKind.marker, CutKind.pocket}
_NOTHING = 0.01
"""An area smaller than this is none, mm2."""


def fit(board: FitPart, neck: FitPart, *, on_body: bool = False) -> tuple[FitRow, ...]:
    """Every line of the comparison; lengths in the board's units.

    `on_body`: the board's end lies on the body, so that a neck shorter than the board is meant.
    Raises FeatureError where the neck's instrument has no neck, or a board's sides meet.
    """
    units = board.job.units
    one, other = board.job.instrument, neck.job.instrument
    return (
        *_scales(one, other, units),
        *_nuts(one, other, units),
        plain_row("frets", one.frets, other.frets, Verdict.look, words.FRETS),
        plain_row("strings", one.strings, other.strings, Verdict.look, words.STRINGS),
        plain_row("handed", board.job.handed, neck.job.handed, Verdict.no, words.HANDED),
        *_widths(one, other, units),
        _length(one, other, units, on_body),
        _thickness(board, other, units),
        *heel_in_pocket(one, other, units),
        *strings_at_bridge(other, units),
        *_nut_slots(one, neck, units),
        *_covered(one, neck, units),
        *_holes_over(board, neck, units),
        *pins(board, neck, units),
    )


# Numbers


def _scales(one: Instrument, other: Instrument, units: Units) -> list[FitRow]:
    """One scale length, or both of a fan and the fret that stands square."""
    a, b = one.scale_length, other.scale_length
    if not isinstance(a, Fan) and not isinstance(b, Fan):
        return [_scale_row("scale length", a, b, units)]
    if not isinstance(a, Fan) or not isinstance(b, Fan):
        kinds = ["fanned" if isinstance(s, Fan) else show(s, units) for s in (a, b)]
        return [FitRow("scale length", kinds[0], kinds[1], "differs", Verdict.no, words.SAME_FILE)]
    return [
        _scale_row("scale length, bass", a.bass, b.bass, units),
        _scale_row("scale length, treble", a.treble, b.treble, units),
        plain_row("square fret", f"{a.square_fret:g}", f"{b.square_fret:g}", Verdict.no, words.SAME_FILE),
    ]


def _scale_row(what: str, a: float, b: float, units: Units) -> FitRow:
    return length_row(what, a, b, units, Verdict.fits if abs(b - a) <= SAME else Verdict.no, words.SAME_FILE)


def _nuts(one: Instrument, other: Instrument, units: Units) -> list[FitRow]:
    """Where the nut's front stands, for instruments that move it from the nut line."""
    a, b = nut_front(one).x, nut_front(other).x
    if a == b == 0.0:
        return []
    off = abs(a - b) > SAME or bool(one.zero_fret) != bool(other.zero_fret)
    verdict = Verdict.no if off else Verdict.fits
    return [length_row("nut's front, from the nut line", a, b, units, verdict, words.NUT_FRONT)]


def _widths(one: Instrument, other: Instrument, units: Units) -> list[FitRow]:
    """Widths at nut, octave and far end; the taper; and where the neck stands least beside the board."""
    margin = neck_of(other).margin
    far = min(board_end(one), neck_end(other))
    fret = min(12, one.frets)
    out: list[FitRow] = []
    for name, x in (("nut", 0.0), (f"fret {fret}", fret_x(one, fret)), ("the end", far)):
        b, n = 2 * float(half_width(one, x)), 2 * _neck_half(other, x, margin)
        verdict, todo = Verdict.fits, ""
        if b - n > SAME:
            verdict, todo = Verdict.no, words.board_too_wide(name)
        elif n - b > 2 * margin + 1.0 and not _in_heel(other, x):
            verdict, todo = Verdict.look, words.neck_too_wide(name)
        out.append(length_row(f"width at {name}", b, n, units, verdict, todo))
    b, n = (100 * (float(half_width(i, far)) - float(half_width(i, 0.0))) * 2 / far for i in (one, other))
    verdict = Verdict.fits if abs(n - b) * far / 100 <= 2 * SAME else Verdict.look
    name, differs = f"taper, {units} a 100 {units}", f"{round(n - b, 3) + 0.0:+.3f}"
    out.append(FitRow(name, f"{b:.3f}", f"{n:.3f}", differs, verdict, words.NOT_PARALLEL))
    xs = sorted({nut_back(one), 0.0, far, *(x for x, _ in side_corners(other, margin) if 0 < x < far)})
    least, x = min((_neck_half(other, x, margin) - float(half_width(one, x)), x) for x in xs)
    verdict = Verdict.no if least < -SAME / 2 else Verdict.fits
    at = f"at x {plain_size(x, units)}"
    out.append(FitRow("neck beside the board, least", "", at, signed(least, units), verdict, words.BOARD_OVER_NECK))
    return out


def _length(one: Instrument, other: Instrument, units: Units, on_body: bool) -> FitRow:
    b, n = furthest_end(one), neck_end(other)
    short = Verdict.look if on_body else Verdict.no
    verdict = short if b - n > SAME else Verdict.fits
    return length_row("end, from the nut", b, n, units, verdict, words.NO_NECK_UNDER_END)


def _thickness(board: FitPart, other: Instrument, units: Units) -> FitRow:
    b, n = board.thickness, other.board.thickness
    verdict = Verdict.look if abs(n - b) > 0.1 else Verdict.fits
    return length_row("thickness of the board", b, n, units, verdict, words.BOARD_THICKNESS)


def _nut_slots(one: Instrument, neck: FitPart, units: Units) -> list[FitRow]:
    """The nut's slot must end where the board begins: under the board no nut stands, before it the frets are off."""
    front = nut_front(one)
    out: list[FitRow] = []
    for slot in (c for c in neck.cuts if c.kind is CutKind.nut_slot):
        x0, _, x1, _ = slot.region.bounds
        walls: list[tuple[float, float]] = []
        for _, y in (*crossings(one, front), (front.x, 0.0)):
            across = slot.region.intersection(LineString([(x0 - 1.0, y), (x1 + 1.0, y)]))
            if not across.is_empty:
                walls.append((float(across.bounds[2]), front.at(y)))
        wall, begins = max(walls, key=lambda w: abs(w[0] - w[1]), default=(x1, front.x))
        off = wall - begins
        todo = words.nut_slot_off(off, units)
        verdict = Verdict.fits if abs(off) <= NUT + 1e-9 else Verdict.no
        out.append(length_row("nut slot's wall, board's beginning", begins, wall, units, verdict, todo))
    return out


# What lies under the board


def _covered(one: Instrument, neck: FitPart, units: Units) -> Iterator[FitRow]:
    """Channels and bars must lie under board or nut; an adjuster's pocket may come out to be reached."""
    end, shelf = board_end(one), nut_shelf(one)
    # What the nut covers, from the shelf to its front.
    bass, treble = crossings(one, nut_front(one))
    nut = Polygon([(shelf, bass[1]), (bass[0] + 1e-3, bass[1]), (treble[0] + 1e-3, treble[1]), (shelf, treble[1])])
    cover = shapely.union(Polygon(corners(one)), nut)
    for cut in _under(neck):
        x0, _, x1, _ = cut.region.bounds
        bare, beyond = cut.region.difference(cover), max(shelf - x0, x1 - end)
        verdict, todo, difference = Verdict.fits, "", "covered"
        if bare.area > _NOTHING:
            size = show_area(bare.area, units) if beyond <= SAME else plain_size(beyond, units)
            difference = f"{size} uncovered"
            where = words.PAST_END if x1 > end else words.BEHIND_NUT if x0 < shelf else words.AT_SIDE
            verdict, todo = Verdict.no, words.not_covered(where)
            if "adjuster" in cut.name:
                verdict, todo = Verdict.look, words.ADJUSTER_OPEN
        reaches = f"{plain_size(x0, units)} to {plain_size(x1, units)}"
        whole = f"0 to {plain_size(end, units)}"
        yield FitRow(f"{cut.name} under the board", whole, reaches, difference, verdict, todo)


def _holes_over(board: FitPart, neck: FitPart, units: Units) -> Iterator[FitRow]:
    """Holes of the board over channels and bars: through is a fault, nearly through is worth a look."""
    for hole in (c for c in board.cuts if c.kind in _HOLES and (not c.joint or math.isinf(c.depth))):
        left = board.thickness - hole.depth
        for slot in _under(neck):
            if hole.region.intersection(slot.region).area <= _NOTHING or left >= LEAST_OVER:
                continue
            what, under = f"{hole.name} over {slot.name}", f"{show(slot.depth, units)} deep"
            if left <= 0:
                yield FitRow(what, "through", under, "open", Verdict.no, words.OPENS_INTO)
            else:
                todo = words.thin_over(LEAST_OVER, units)
                deep, stays = f"{show(hole.depth, units)} deep", f"{show(left, units)} left"
                yield FitRow(what, deep, under, stays, Verdict.look, todo)


# Pieces


def _under(neck: FitPart) -> Iterable[Cut]:
    return (c for c in neck.cuts if c.kind in ROD_AND_BARS)


def _neck_half(instrument: Instrument, x: float, margin: float) -> float:
    side = side_corners(instrument, margin)
    return float(np.interp(x, [c[0] for c in side], [c[1] for c in side]))


def _in_heel(instrument: Instrument, x: float) -> bool:
    heel = neck_of(instrument).heel
    return heel is not None and x > heel.start - heel.blend
