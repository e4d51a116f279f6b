"""Pins of a board and of its neck, in pairs. Instrument coordinates, mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import Polygon

from toolpaths.common.units import Units, show, show_fine
from toolpaths.instrument.boards import corners
from toolpaths.job.cut_kind import CutKind
from toolpaths.verification.fits.fit_parts import FitPart, FitRow, Verdict, plain_size
from toolpaths.verification.wording import fits as words

PIN = 0.05
"""Pins of both parts stand at the same place within this, mm."""
NEAR = 10.0
"""Pins further apart than this are not taken for a pair, mm."""


@dataclass(frozen=True, slots=True)
class _Pin:
    name: str
    x: float
    y: float
    diameter: float

    def words(self, units: Units) -> str:
        return f"{show(self.diameter, units)} at {plain_size(self.x, units)}, {plain_size(self.y, units)}"


def pins(board: FitPart, neck: FitPart, units: Units) -> list[FitRow]:
    """Rows for the pins within the board's outline, in pairs; pins in waste only hold the blank."""
    inside = Polygon(corners(board.job.instrument))
    ours, theirs = _pins_of(board, inside), _pins_of(neck, inside)
    blind = [
        FitRow(f"{c.name} from the board's face", "blind", "", "", Verdict.look, words.PIN_BLIND)
        for c in board.cuts
        if c.kind is CutKind.pin_hole and not c.joint and inside.contains(c.region.centroid)
    ]
    if not ours and not theirs:
        return [FitRow("pins between board and neck", "none", "none", "", Verdict.look, words.NO_PINS)]
    out: list[FitRow] = []
    free = list(theirs)
    alone: list[_Pin] = []
    for pin in ours:
        mate = _mate(pin, free, pin.y, NEAR)
        if mate is None:
            alone.append(pin)
            continue
        off = math.dist((mate.x, mate.y), (pin.x, pin.y))
        fits = off <= PIN and abs(mate.diameter - pin.diameter) <= PIN
        todo = words.pins_apart(off, units) if off > PIN else words.PIN_DIAMETERS
        places = (pin.words(units), mate.words(units))
        out.append(FitRow(pin.name, *places, show_fine(off, units), Verdict.fits if fits else Verdict.no, todo))
    # Both are bored, and no pin of the one meets one of the other: they do not go together.
    apart = Verdict.no if alone and free and not out else Verdict.look
    for pin in alone:
        mate = _mate(pin, free, -pin.y, PIN)
        if mate is not None:
            places = (pin.words(units), mate.words(units))
            out.append(FitRow(pin.name, *places, show(2 * abs(pin.y), units), Verdict.no, words.PIN_MIRRORED))
        else:
            out.append(FitRow(f"{pin.name} of the board", pin.words(units), "none", "", apart, words.ONLY_BOARD))
    out += [FitRow(f"{pin.name} of the neck", "none", pin.words(units), "", apart, words.ONLY_NECK) for pin in free]
    return [*blind, *out]


def _mate(pin: _Pin, free: list[_Pin], y: float, within: float) -> _Pin | None:
    """The nearest of the free pins to a pin, with its y or another, taken out of them; None where it is too far off."""
    near = min(free, key=lambda p: math.dist((p.x, p.y), (pin.x, y)), default=None)
    if near is None or math.dist((near.x, near.y), (pin.x, y)) > within:
        return None
    free.remove(near)
    return near


def _pins_of(part: FitPart, inside: Polygon) -> list[_Pin]:
    out: list[_Pin] = []
    for cut in part.cuts:
        middle = cut.region.centroid
        if cut.kind is not CutKind.pin_hole or not inside.contains(middle):
            continue
        x0, y0, x1, y1 = cut.region.bounds
        pin = _Pin(cut.name, middle.x, middle.y, min(x1 - x0, y1 - y0))
        if all(math.dist((pin.x, pin.y), (p.x, p.y)) > PIN for p in out):
            out.append(pin)
    return out
