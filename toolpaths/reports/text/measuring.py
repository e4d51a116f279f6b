"""The measuring list as tables: what to measure, where, the wanted value, what was found, and what follows.

From the design, never from the cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import groupby

from toolpaths.common.units import Units
from toolpaths.found.mark import Mark, names_of
from toolpaths.job.job import Job
from toolpaths.reports.text.found_words import as_measured, follows, if_off
from toolpaths.reports.text.tables import Table
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import measures

HEADERS = ("mark", "after no.", "what and where", "should be", "found", "where it is off")


def measures_table(outcome: Outcome, setup: SetupReport) -> Table:
    """One row for each thing to measure, in the order of the programs, with room for what was found.

    Places of one thing stand in one row.
    """
    units = outcome.job.units
    whens = {
        mark.number: f"before {program.number}" if mark.before else str(program.number)
        for program, mark in measures(outcome, setup)
    }
    every = [mark for mark in outcome.marks if mark.number in whens]
    rows = tuple(
        (
            names_of(group),
            whens[group[0].number],
            words_of(group),
            group[0].wanted(units),
            ", ".join(as_measured(outcome.found[m.number], units) for m in group if m.number in outcome.found),
            if_off(group[0]),
        )
        for group in grouped(every, units)
    )
    title = f"Measure, and tell: neckpath found {outcome.path.name} (how far it may be off: common practice, no source)"
    return Table(title, HEADERS, rows, {1})


def grouped(marks: Iterable[Mark], units: Units) -> list[tuple[Mark, ...]]:
    """Marks that say something only together, and want the same, as one; the others by themselves."""
    return [
        tuple(group)
        for _, group in groupby(marks, key=lambda m: (m.together or (m.number,), m.measure.what, m.wanted(units)))
    ]


def words_of(group: tuple[Mark, ...]) -> str:
    """What several marks measure, and where each."""
    if len(group) == 1:
        return group[0].measure.words
    return f"{group[0].measure.what}: {'; '.join(m.measure.where for m in group)}"


def whole_list(job: Job, marks: Iterable[Mark], found: Mapping[int, float]) -> Table:
    """Every mark of a job. `found`: mm by mark number."""
    rows = tuple(_row(m, f"before {m.after + 1}" if m.before else str(m.after), found, job.units) for m in marks)
    return Table("The measuring list", HEADERS, rows, {1})


def found_table(job: Job, marks: Iterable[Mark], found: Mapping[int, float]) -> Table:
    """What was found beside what was asked, and what follows from it. `found`: mm by mark number."""
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
    return Table("What was found", ("mark", "what and where", "asked", "found", "what follows"), rows)


def _row(mark: Mark, when: str, found: Mapping[int, float], units: Units) -> tuple[str, ...]:
    written = as_measured(found[mark.number], units) if mark.number in found else ""
    return mark.name, when, mark.measure.words, mark.wanted(units), written, if_off(mark)
