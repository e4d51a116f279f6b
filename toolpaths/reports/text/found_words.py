"""What follows from a measured value, in words: for the programs to come, for the hands, or for the part."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import assert_never

from toolpaths.common.units import MM_PER_INCH, Units, show, show_fine
from toolpaths.found.axis import READ
from toolpaths.found.corrections import said
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.found.values import SAME
from toolpaths.job.cut_kind import HOLES, CutKind
from toolpaths.job.job import Job
from toolpaths.verification.outcome import Outcome

_EXACT = 1e-6
"""Lengths nearer than this are the same, in the units in which they are read."""
LOST = 0.5
"""A size of the part that is smaller by more than this is told as lost, mm. Common practice, no source."""

_LOOSE: tuple[tuple[frozenset[CutKind], str], ...] = (
    (frozenset({CutKind.line, CutKind.line_in_waste}), "the saw follows its middle: no harm"),
    (
        frozenset({CutKind.fret_slot}),
        "frets sit loose in it: glue them in, or take wire with a wider tang",
    ),
    (
        frozenset({CutKind.marker, CutKind.side_dot, CutKind.pocket, CutKind.engraving}),
        "fill the gap with filler, or with glue and dust of the same wood",
    ),
    (
        frozenset({CutKind.rod_channel, CutKind.adjuster_pocket, CutKind.bar_slot}),
        "line it with veneer until rod or bar sits without play",
    ),
    (frozenset({CutKind.nut_slot}), "line it with veneer, or take a wider nut"),
    (
        HOLES | {CutKind.jig_pin, CutKind.pilot_hole, CutKind.stop_pin, CutKind.bed_hole},
        "pin, bolt or bush sits loose: glue a dowel in and bore it again",
    ),
)
UNEVEN = 0.1
"""Corners of a planed face that differ by more say that something moved, mm. Common practice, no source."""
_TIGHT = "open it by hand, with a file or a scraper, until the part goes in"


def found_lines(outcome: Outcome) -> list[str]:
    """What later programs take from the measured values, and which programs are cut already, in sentences."""
    out = uneven_faces(outcome.marks, outcome.found, outcome.job.units)
    out += dict.fromkeys(f"Found: {said(c, outcome.job)}." for c in outcome.corrections)
    cut = [p.number for p in outcome.programs if p.name in outcome.cut]
    if cut:
        one = len(cut) == 1
        which = f"Program {cut[0]} is" if one else f"Programs {cut[0]} to {cut[-1]} are"
        out.append(
            f"{which} cut already, not changed and not checked again. The others are checked on the wood as it is."
        )
    return out


def uneven_faces(marks: Iterable[Mark], found: Mapping[int, float], units: Units) -> list[str]:
    """A sentence for each planed face whose corners differ by more than a planed face can: something moved there.

    `found`: mm by mark number.
    """
    faces = {m.together: m for m in marks if m.meaning is Meaning.face and m.later and m.whole(found)}
    out = []
    for numbers, mark in faces.items():
        apart = max(found[n] for n in numbers) - min(found[n] for n in numbers)
        if apart > UNEVEN:
            out.append(
                f"Warning: the corners of the planed face (M{min(numbers)} to M{max(numbers)}) differ by "
                f"{show(apart, units)}. A planed face is level in the machine: the blank has moved, a chip is under "
                f"it, or a value is wrong. Look before you cut on; later programs take the mean of {mark.name} and "
                "the others."
            )
    return out


def as_measured(mm: float, units: Units) -> str:
    """A measured length with the digits that it was typed with: one more than usual where it has one more."""
    return show(mm, units, digits_of(mm, units))


def digits_of(mm: float, units: Units) -> int:
    """Digits behind the point of a length as it was typed: two of mm, three of inches, or one more."""
    value, usual = (mm / MM_PER_INCH, 3) if units == "in" else (mm, 2)
    return usual if abs(round(value, usual) - value) < _EXACT else usual + 1


def if_off(mark: Mark) -> str:
    """What follows from a wrong value, in a few words for the sheet."""
    if mark.meaning is Meaning.look:
        return "look again"
    if not mark.later:
        return "by hand"
    match mark.meaning:
        case Meaning.blank:
            return "later programs follow it"
        case Meaning.face:
            return "later depths follow it" if mark.figure.kind == "height" else "later programs follow it"
        case Meaning.bit:
            return "later cuts follow it"
        case Meaning.sides:
            return "this side is moved"
        case Meaning.axis:
            return "X is corrected"
        case Meaning.depth | Meaning.part:
            return "by hand"
        case _:
            assert_never(mark.meaning)


def follows(mark: Mark, found: Mapping[int, float], job: Job) -> str:
    """What follows from a mark's value: nothing, a correction of later programs, work by hand, or a lost part.

    `found`: every value so far, mm by mark number, its own among them.
    """
    units, value = job.units, found[mark.number]
    off = value - mark.figure.value
    if mark.later and not mark.whole(found):
        return f"used once all {len(mark.together)} places are measured"
    if mark.meaning is Meaning.blank:
        return "later programs follow it"
    if mark.fits(value):
        followed = mark.later and mark.meaning in (Meaning.face, Meaning.bit, Meaning.sides) and abs(off) > SAME
        return "fine; later programs follow it" if followed else "fine"
    by = _by(off, units)
    match mark.meaning:
        case Meaning.face:
            rest = "it stays thinner" if off < 0 else "sand the rest off at the end"
            return f"{by}: later depths follow it; {rest}" if mark.later else f"{by}: {rest}"
        case Meaning.bit:
            own = _of_width(mark, off, job)
            return f"{by}: later cuts of {mark.bit} follow it. This one: {own}" if mark.later else f"{by}: {own}"
        case Meaning.sides:
            if not mark.later:
                return "nothing comes after it on this side"
            return "the programs of this side that are still to come are moved"
        case Meaning.axis:
            if abs(off) <= READ:
                return "fine"
            return f"{by}: later programs are corrected in X" if mark.later else f"{by}: no program comes after it"
        case Meaning.depth:
            return f"{by}: {_of_depth(mark, off)}"
        case Meaning.part:
            return f"{by}: {_of_part(mark, off, job)}"
        case Meaning.look:
            return "fine"
        case _:
            assert_never(mark.meaning)


def _by(off: float, units: Units) -> str:
    small = show_fine(abs(off), units) if abs(off) < READ else show(abs(off), units)
    return f"{small} too {'much' if off > 0 else 'little'}"


def _cuts(mark: Mark, job: Job) -> frozenset[CutKind]:
    return next((f.cuts for s in job.setups for f in s.features if f.name == mark.feature), frozenset())


def _of_width(mark: Mark, off: float, job: Job) -> str:
    if off < 0:
        return _TIGHT
    cuts = _cuts(mark, job)
    return next((words for kinds, words in _LOOSE if cuts & kinds), "what goes into it sits loose: fit that to it")


def _of_depth(mark: Mark, off: float) -> str:
    if off < 0:
        return f"deepen it by hand, or cut it again (`--only '{mark.feature}'`) if the blank has not moved"
    return "wood cannot be put back: shim what goes into it, and check that enough wood is left under it"


def _of_part(mark: Mark, off: float, job: Job) -> str:
    match mark.figure.kind:
        case "width":
            return _of_width(mark, off, job)
        case "place":
            return "no later program moves it: fit the other parts to it"
        case _ if off > 0:
            return "take the rest off by hand"
        case _ if off < -LOST:
            return "wood cannot be put back: unless what goes with it can be made smaller too, the part is lost"
        case _:
            return "wood cannot be put back: make what goes with it fit"
