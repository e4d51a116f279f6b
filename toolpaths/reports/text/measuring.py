"""The measuring list: what to measure, where, the value asked for, what was found, and what follows.

From the design, never from the cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from toolpaths.common.units import Units
from toolpaths.found.mark import Mark
from toolpaths.found.meaning import CORRECTED
from toolpaths.job.job import Job
from toolpaths.reports.text.found_words import as_measured, follows, if_off
from toolpaths.reports.text.tables import Table
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import measures

HEADERS = ("mark", "after no.", "what and where", "should be", "found", "if it is off")


@dataclass(frozen=True, slots=True)
class MarkLine:
    """One mark on the sheet: its name, what it measures of its entry, the value asked for, and what was found so far.

    `wanted` is empty where the entry says it for all of its lines. `followed`: later programs take its value over.
    """

    name: str
    what: str
    wanted: str
    found: str
    followed: bool


@dataclass(frozen=True, slots=True)
class MarkEntry:
    """Marks on one thing: several places of it that want the same, or several sizes of one cut."""

    subject: str
    wanted: str
    lines: tuple[MarkLine, ...]


def entries_before(outcome: Outcome, setup: SetupReport, number: int) -> list[MarkEntry]:
    """What is measured before a program, as the blank lies there."""
    return _entries(outcome, [m for p, m in measures(outcome, setup) if p.number == number and m.before])


def entries_after(outcome: Outcome, setup: SetupReport, number: int) -> list[MarkEntry]:
    """What is measured after a program."""
    return _entries(outcome, [m for p, m in measures(outcome, setup) if p.number == number and not m.before])


def grouped(marks: Iterable[Mark], units: Units) -> list[tuple[Mark, ...]]:
    """Marks that say something only together, and want the same, as one; the others by themselves."""
    return [
        tuple(group)
        for _, group in groupby(marks, key=lambda m: (m.together or (m.number,), m.measure.what, m.wanted(units)))
    ]


def words_of(group: tuple[Mark, ...], units: Units) -> str:
    """What several marks measure, the value asked for, and where each."""
    wanted, first = group[0].wanted(units), group[0].measure
    if len(group) == 1:
        return f"{first.words}: {wanted}"
    subject = ": ".join(part for part in (first.of, first.what) if part)
    return f"{subject}: {wanted}, at {len(group)} places: {'; '.join(m.measure.where for m in group)}"


def whole_list(job: Job, marks: Iterable[Mark], found: Mapping[int, float]) -> Table:
    """Every mark of a job. `found`: mm by mark number."""
    rows = tuple(_row(m, f"before {m.after + 1}" if m.before else str(m.after), found, job.units) for m in marks)
    return Table("The measuring list", HEADERS, rows, {1})


def found_table(job: Job, marks: Iterable[Mark], found: Mapping[int, float]) -> Table:
    """What was found beside what was asked for, and what follows from it. `found`: mm by mark number."""
    units = job.units
    rows = tuple(
        (
            m.name,
            m.measure.words,
            m.wanted(units),
            as_measured(found[m.number], units),
            follows(m, found, job),
        )
        for m in marks
        if m.number in found
    )
    return Table("What was measured", ("mark", "what and where", "should be", "found", "what follows"), rows)


# Private


def _entries(outcome: Outcome, marks: list[Mark]) -> list[MarkEntry]:
    units, out = outcome.job.units, list[MarkEntry]()
    groups = grouped(marks, units)
    for of, same in groupby(groups, key=lambda g: (g[0].measure.of if len(g) == 1 else "", g[0].number * (len(g) > 1))):
        out += _entry(outcome, of[0], list(same))
    return out


def _entry(outcome: Outcome, of: str, groups: list[tuple[Mark, ...]]) -> list[MarkEntry]:
    """The entry of several sizes of one cut; else one for each group."""
    if of:
        marks = [mark for group in groups for mark in group]
        return [MarkEntry(of, "", tuple(_line(outcome, m, m.measure.what, m.wanted(outcome.job.units)) for m in marks))]
    return [_places(outcome, group) for group in groups]


def _places(outcome: Outcome, group: tuple[Mark, ...]) -> MarkEntry:
    first, units = group[0], outcome.job.units
    if len(group) == 1:
        return MarkEntry("", "", (_line(outcome, first, first.measure.words, first.wanted(units)),))
    subject = ": ".join(part for part in (first.measure.of, first.measure.what) if part)
    return MarkEntry(subject, first.wanted(units), tuple(_line(outcome, m, m.measure.where, "") for m in group))


def _line(outcome: Outcome, mark: Mark, what: str, wanted: str) -> MarkLine:
    value = outcome.found.get(mark.number)
    found = "" if value is None else as_measured(value, outcome.job.units)
    return MarkLine(mark.name, what, wanted, found, mark.later and mark.meaning in CORRECTED)


def _row(mark: Mark, when: str, found: Mapping[int, float], units: Units) -> tuple[str, ...]:
    written = as_measured(found[mark.number], units) if mark.number in found else ""
    return mark.name, when, mark.measure.words, mark.wanted(units), written, if_off(mark)
