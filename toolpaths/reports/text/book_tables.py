"""The build book in rows and sentences: each mark as asked and as found, the wood, programs, what was said of a job."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.found.corrections import said
from toolpaths.found.mark import Mark, names_of
from toolpaths.found.meaning import Meaning
from toolpaths.instrument.boards import half_width
from toolpaths.job.job import Instrument
from toolpaths.reports.text.found_words import as_measured, digits_of, follows
from toolpaths.reports.text.words import bit_words, count, minutes, places, plain, scale_words, span
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.plan_of_instrument import InstrumentPlan
from toolpaths.workshop.ready import blanks_of
from toolpaths.workshop.step import Piece


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One mark, in words. `found`, `off` and `followed` are empty where it was not measured; `fits`: or nothing was."""

    name: str
    when: str
    what: str
    asked: str
    found: str
    off: str
    followed: str
    fits: bool


@dataclass(frozen=True, slots=True)
class ProgramRow:
    """One program, in words. `cut`: it is cut already, as far as the measured values say."""

    number: str
    name: str
    bits: str
    minutes: str
    cut: bool


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of a table of facts; `found` is empty where nobody has measured it."""

    what: str
    asked: str
    found: str = ""


def mark_rows(outcome: Outcome, setup: SetupReport) -> list[MarkRow]:
    """Every mark of a setup, in the order of work."""
    units, name = outcome.job.units, setup.context.setup.name
    return [
        MarkRow(
            name=mark.name,
            when=f"before {mark.after + 1}" if mark.before else f"after {mark.after}",
            what=mark.measure.words,
            asked=mark.wanted(units),
            found="" if value is None else as_measured(value, units),
            off="" if value is None else off_words(mark, value, units),
            followed="" if value is None else follows(mark, outcome.found, outcome.job),
            fits=value is None or mark.fits(value),
        )
        for mark in outcome.marks
        if mark.setup == name
        for value in [outcome.found.get(mark.number)]
    ]


def correction_words(outcome: Outcome, setup: SetupReport) -> list[str]:
    """What later programs follow of what was measured in a setup, a sentence each."""
    name = setup.context.setup.name
    return [f"{said(c, outcome.job)}." for c in outcome.corrections if c.marks[0].setup == name]


def program_rows(outcome: Outcome, setup: SetupReport) -> list[ProgramRow]:
    """The programs of a setup, in their order."""
    units, bits = outcome.job.units, outcome.job.bits
    return [
        ProgramRow(
            str(p.number),
            p.name,
            "; ".join(f"{b}: {bit_words(bits[b], units)}" if b in bits else b for b in p.bits),
            minutes(p.minutes),
            p.name in outcome.cut,
        )
        for p in outcome.programs
        if p.setup == setup.context.setup.name
    ]


def wood_facts(piece: Piece, outcome: Outcome) -> list[Fact]:
    """The wood as asked, and its thickness as far as it was measured; the rest is for the pen."""
    units = outcome.job.units
    whole, *sheets = blanks_of(piece, outcome)
    asked = (whole.thinnest, whole.thickest)
    marks = tuple(m for m in outcome.marks if m.meaning is Meaning.blank)
    if marks:
        # The job of an outcome has the measured thickness; its marks keep what was asked for.
        low, high = marks[0].figure.within
        asked = (marks[0].figure.value + low, marks[0].figure.value + high)
    facts = [
        Fact("wood", whole.wood),
        Fact("length", show(whole.length, units)),
        Fact("width", show(whole.width, units)),
        Fact("thickness", span(*asked, units), _thickness(outcome, marks)),
    ]
    for sheet in sheets:
        size = (
            f"{show(sheet.length, units)} x {show(sheet.width, units)}, {span(sheet.thinnest, sheet.thickest, units)}"
        )
        facts.append(Fact(f"sheet for setup {sheet.setup}", f"{sheet.wood}, {size} thick"))
    return [*facts, Fact("moisture", ""), Fact("where it came from, its number", "")]


def instrument_facts(instrument: Instrument, handed: str, units: Units) -> list[Fact]:
    """The numbers of the instrument that name it."""
    nut = 2 * float(half_width(instrument, 0.0))
    return [
        Fact("scale length", scale_words(instrument, units)),
        Fact("frets", str(instrument.frets)),
        Fact("strings", str(instrument.strings)),
        Fact("hand", handed),
        Fact("board at the nut", show(nut, units)),
    ]


def how_far(plan: InstrumentPlan, piece: Piece) -> str:
    """How much of a job is measured and cut: `10 of 21 places measured, 1 of 5 programs cut`."""
    outcome = plan.outcomes[piece]
    marks = sum(bool(m.measure.figures) for m in outcome.marks)
    measured = f"{len(outcome.found)} of {count(marks, 'place')} measured"
    return f"{measured}, {len(outcome.cut)} of {count(len(outcome.programs), 'program')} cut"


def told(outcome: Outcome) -> list[tuple[str, str, list[str]]]:
    """(weight, heading, sentences) of what was found against a job: stops, what was accepted, warnings; none empty."""
    stops = [f for f in outcome.findings if f.severity is Severity.stop]
    warned = [f for f in outcome.findings if f.severity is Severity.warn]
    accepted = [f for f in warned if f"{f.code}@{f.feature}" in outcome.accepted]
    warnings = [f for f in warned if f not in accepted]
    groups = (
        ("stop", "Must not be cut", stops),
        ("warn", "Accepted despite a stop", accepted),
        ("warn", "Warnings", warnings),
    )
    return [(weight, title, [_told(f, outcome) for f in own]) for weight, title, own in groups if own]


def cut_before(outcome: Outcome) -> Iterator[str]:
    """A sentence on programs that are cut already; none where none is."""
    if outcome.cut:
        yield (
            f"Programs cut already, as far as the measured values say: {len(outcome.cut)} of {len(outcome.programs)}. "
            "They are not judged again: what was said of them before is in the report of that time."
        )


def off_words(mark: Mark, value: float, units: Units) -> str:
    """By how much a value is off: `-0.06`, or `+0.04 from 6.00` where the tolerance is not the same to both sides.

    A blank may lie anywhere between its limits: `within`, or how far past one it is.
    """
    low, high = mark.figure.within
    base = mark.figure.value
    if mark.meaning is Meaning.blank:
        if mark.fits(value):
            return "within"
        base += low if value < base + low else high
        return f"{_signed(value - base, value, units)} past {_bare(base, units)}"
    by = _signed(value - base, value, units)
    return by if low == -high or not float(by) else f"{by} from {_bare(base, units)}"


# Private


def _thickness(outcome: Outcome, marks: tuple[Mark, ...]) -> str:
    """Least and greatest of what was measured on the blank; empty while a place is missing."""
    values = [outcome.found[m.number] for m in marks if m.number in outcome.found]
    if not values or len(values) < len(marks):
        return ""
    units = outcome.job.units
    least, most = as_measured(min(values), units), as_measured(max(values), units)
    return f"{least if least == most else f'{least} to {most}'}, {names_of(marks)}"


def _told(finding: Finding, outcome: Outcome) -> str:
    where = places(finding, outcome)
    of = f" of {plain(finding.feature)}" if finding.feature else ""
    return f"{finding.code}{of}: {plain(finding.message, 1000)}" + (f" ({where})" if where else "")


def _signed(off: float, value: float, units: Units) -> str:
    """A difference with its sign and the digits of the value, without its unit; nought has no sign."""
    digits = digits_of(value, units)
    by = round(off / MM_PER_INCH if units == "in" else off, digits) + 0.0
    return f"{by:+.{digits}f}" if by else f"{by:.{digits}f}"


def _bare(mm: float, units: Units) -> str:
    return show(mm, units).split()[0]
