"""Time beside the machine's own minutes: bit changes and booked sessions."""

from __future__ import annotations

from itertools import groupby

from toolpaths.common.units import show_feed
from toolpaths.gcode.program import Program, bit_changes
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import minutes
from toolpaths.verification.outcome import Outcome

BETWEEN_SESSIONS = (
    "Every session begins with setting the bit. "
    "The blank must lie as it lay in the session before, within a few hundredths: leave it clamped, or put it back "
    "against the same stops and pins and set X, Y and Z again. Time for that, and for turning the blank over, is yours "
    "to add."
)


def total_words(outcome: Outcome) -> str:
    """`about 45 min of cutting, 57 min with 4 bits put in`."""
    cutting, changes = sum(p.minutes for p in outcome.programs), sum(bit_changes(outcome.programs))
    whole = cutting + changes * outcome.machine.change_minutes
    bits = f"{changes} bit{'s' if changes != 1 else ''} put in"
    return f"about {minutes(cutting)} of cutting, {minutes(whole)} with {bits}"


def sessions_table(outcome: Outcome) -> Table:
    """Each booking with its programs and minutes; no rows where the work is not divided."""
    rows = []
    for number, programs in _sessions(outcome):
        bits = list(dict.fromkeys(b for p in programs for b in p.bits))
        cutting = sum(p.minutes for p in programs)
        rows.append(
            (
                str(number),
                _range(programs),
                ", ".join(dict.fromkeys(p.setup for p in programs)),
                ", ".join(bits),
                minutes(cutting),
                minutes(_spent(outcome, programs)),
            )
        )
    headers = ("session", "programs", "setup", "bits", "cutting", "with changes of bits")
    title = f"Sessions of at most {outcome.changes.session:g} min"
    return Table(title, headers, tuple(rows), frozenset({0, 4, 5}))


def passes_table(outcome: Outcome) -> Table:
    """Minutes of every pass or piece, and the feed that its cuts ask for, reach, and have on the average."""
    units = outcome.job.units
    rows = tuple(
        (
            str(p.number),
            one.feature,
            one.title,
            f"{one.minutes:.2f}",
            *(show_feed(value, units).split()[0] for value in (one.feed, one.peak, one.mean)),
        )
        for p in outcome.programs
        for one in p.passes
    )
    unit = f"{units}/min"
    headers = ("no.", "feature", "pass or piece", "time\nmin", f"feed\n{unit}", f"reached\n{unit}", f"average\n{unit}")
    return Table("Minutes pass by pass", headers, rows, frozenset({0, 3, 4, 5, 6}))


def _sessions(outcome: Outcome) -> list[tuple[int, list[Program]]]:
    divided = [p for p in outcome.programs if p.session]
    return [(number, list(programs)) for number, programs in groupby(divided, key=lambda p: p.session)]


def _spent(outcome: Outcome, programs: list[Program]) -> float:
    return sum(p.minutes for p in programs) + sum(bit_changes(programs)) * outcome.machine.change_minutes


def _range(programs: list[Program]) -> str:
    first, last = programs[0].number, programs[-1].number
    return str(first) if first == last else f"{first}-{last}"
