"""What to measure after each program, where, and the wanted value, as a table: from the design, never from the cut."""

from __future__ import annotations

from toolpaths.reports.text.tables import Table
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.measures import measures


def measures_table(outcome: Outcome, setup: SetupReport) -> Table:
    """One row for each thing to measure, in the order of the programs, with room for what was found."""
    units = outcome.job.units
    rows = []
    for program, _, measure in measures(outcome, setup):
        wanted = measure.figures[0].wanted(units) if measure.figures else measure.said
        rows.append((str(program.number), measure.what, wanted, ""))
    title = "After each program, measure; where it is off, find out why (how far it may be: common practice, no source)"
    return Table(title, ("after no.", "what and where", "should be", "found"), tuple(rows), {0})
