"""Time beside the machine's own minutes: bit changes and booked sessions."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from toolpaths.common.units import show_feed
from toolpaths.gcode.program import Program, bit_changes
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import bare, count, minutes
from toolpaths.verification.outcome import Outcome

BETWEEN_SESSIONS = (
    "Every session begins with setting the bit. The blank must lie exactly as in the session before: leave it clamped, "
    "or put it back against the same stops and pins and set X, Y and Z again. Add time for that, and for turning the "
    "blank over."
)


def total_words(outcome: Outcome) -> str:
    """`about 45 min of cutting, 57 min including 4 bit changes`."""
    cutting = minutes(sum(p.minutes for p in outcome.programs))
    changes = count(sum(bit_changes(outcome.programs)), "bit change")
    return f"about {cutting} of cutting, {minutes(_spent(outcome, outcome.programs))} including {changes}"


def sessions_table(outcome: Outcome) -> Table:
    """Each booking with its programs and minutes; no rows where the work is not divided."""
    rows = []
    divided = (p for p in outcome.programs if p.session)
    for session, group in groupby(divided, key=lambda p: p.session):
        programs = list(group)
        first, last = programs[0].number, programs[-1].number
        rows.append(
            (
                str(session),
                str(first) if first == last else f"{first}-{last}",
                ", ".join(dict.fromkeys(p.setup for p in programs)),
                ", ".join(dict.fromkeys(bit for p in programs for bit in p.bits)),
                minutes(sum(p.minutes for p in programs)),
                minutes(_spent(outcome, programs)),
            )
        )
    headers = ("session", "programs", "setup", "bits", "cutting", "with bit changes")
    return Table(f"Sessions of at most {outcome.changes.session:g} min", headers, tuple(rows), {0, 4, 5})


def passes_table(outcome: Outcome) -> Table:
    """Minutes of every pass or piece, and the feed that its cuts ask for, reach, and have on the average."""
    units = outcome.job.units
    rows = []
    for p in outcome.programs:
        for one in p.passes:
            reached = (bare(show_feed(value, units)) for value in (one.feed, one.peak, one.mean))
            rows.append((str(p.number), one.feature, one.title, f"{one.minutes:.2f}", *reached))
    feeds = (f"{what}\n{units}/min" for what in ("feed", "reached", "average"))
    headers = ("no.", "feature", "pass or piece", "time\nmin", *feeds)
    return Table("Minutes pass by pass", headers, tuple(rows), {0, 3, 4, 5, 6})


def _spent(outcome: Outcome, programs: Sequence[Program]) -> float:
    """Minutes of programs and of their bit changes."""
    return sum(p.minutes for p in programs) + sum(bit_changes(programs)) * outcome.machine.change_minutes
