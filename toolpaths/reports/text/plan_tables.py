"""Tables of an instrument's plan: what is bought, what must be ready, the bookings, and the steps in order."""

from __future__ import annotations

from toolpaths.reports.text.plan_words import buy_row, details, how_long, ready_rows, what
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import minutes, plain
from toolpaths.workshop.bookings import BookedSetup
from toolpaths.workshop.plan_of_instrument import InstrumentPlan
from toolpaths.workshop.step import Step


def buy_table(plan: InstrumentPlan) -> Table:
    """What is bought, for each piece, with sizes."""
    rows = tuple(buy_row(item, plan.units) for item in plan.goods)
    return Table("To buy", ("for", "what", "how many", "size"), rows)


def ready_table(plan: InstrumentPlan) -> Table:
    """What must be ready before the machine is booked."""
    rows = tuple(ready_rows(plan.ready, plan.units))
    return Table("Ready before the machine is booked", ("for", "what", "how"), rows)


def bookings_table(plan: InstrumentPlan) -> Table:
    """The minutes of the machine, setup by setup; the last row has all of them."""
    rows: list[tuple[str, ...]] = [
        (str(booking.number), s.piece, s.setup, _numbers(s), minutes(s.minutes), str(s.changes), minutes(_whole(s)))
        for booking in plan.bookings
        for s in booking.setups
    ]
    changes = sum(s.changes for b in plan.bookings for s in b.setups)
    if len(rows) > 1:
        rows.append(("", "all", "", "", minutes(plan.cutting), str(changes), minutes(plan.minutes)))
    headers = ("booking", "of", "setup", "programs", "cutting", "bit\nchanges", "with\nchanges")
    return Table("Bookings of the machine", headers, tuple(rows), {0, 4, 5, 6})


def stretch_titles(plan: InstrumentPlan) -> list[str]:
    """Where each stretch of steps is done: in which booking, with its minutes, or by hand."""
    out: list[str] = []
    for k, stretch in enumerate(plan.stretches):
        if stretch.booking is not None:
            out.append(f"Booking {stretch.booking.number} of the machine, about {minutes(stretch.booking.minutes)}")
        else:
            later = any(s.booking is not None for s in plan.stretches[k:])
            out.append("Before the machine" if not k else "By hand, between two bookings" if later else "By hand")
    return out


def steps_tables(plan: InstrumentPlan) -> list[Table]:
    """The steps, numbered through, a table for each stretch at the machine or away from it."""
    numbers = {step.id: k for k, step in enumerate(plan.steps, 1)}
    return [
        Table(
            title,
            ("no.", "of", "what", "how long"),
            tuple((str(numbers[s.id]), s.piece, _told(s, plan), how_long(s)) for s in stretch.steps),
            {0, 3},
        )
        for title, stretch in zip(stretch_titles(plan), plan.stretches, strict=True)
    ]


def _told(step: Step, plan: InstrumentPlan) -> str:
    return "\n".join([what(step, plan), *details(step, plan)]).strip()


def _numbers(setup: BookedSetup) -> str:
    first, last = setup.programs[0], setup.programs[-1]
    bits = plain(", ".join(setup.bits))
    return f"{first} ({bits})" if first == last else f"{first} to {last} ({bits})"


def _whole(setup: BookedSetup) -> float:
    return setup.minutes + setup.change_minutes
