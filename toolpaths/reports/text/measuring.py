"""The measuring list as tables: what to measure, where, the wanted value, what was found, and what follows.

From the design, never from the cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from toolpaths.common.units import Units
from toolpaths.found.mark import Mark
from toolpaths.job.job import Job
from toolpaths.reports.text.found_words import as_measured, follows, if_off
from toolpaths.reports.text.tables import Table
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import measures

HEADERS = ("mark", "after no.", "what and where", "should be", "found", "where it is off")


def measures_table(outcome: Outcome, setup: SetupReport) -> Table:
    """One row for each thing to measure, in the order of the programs, with room for what was found."""
    units = outcome.job.units
    rows = tuple(
        _row(mark, f"before {program.number}" if before else str(program.number), outcome.found, units)
        for program, before, mark in measures(outcome, setup)
    )
    title = f"Measure, and tell: neckpath found {outcome.path.name} (how far it may be off: common practice, no source)"
    return Table(title, HEADERS, rows, {1})


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
            m.measure.what,
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
    return mark.name, when, mark.measure.what, mark.wanted(units), written, if_off(mark)
