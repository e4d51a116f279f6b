"""`plan.html`: the work on a whole instrument in one order, to be taken along and ticked off."""

from __future__ import annotations

from toolpaths.reports.pages.template import page
from toolpaths.reports.text import plan_words as words
from toolpaths.reports.text.page_head import head_of_jobs, instrument_words
from toolpaths.reports.text.plan_tables import bookings_table, buy_table, ready_table, stretch_titles
from toolpaths.reports.text.words import verdict, weight
from toolpaths.workshop.plan_of_instrument import InstrumentPlan


def plan_page(plan: InstrumentPlan) -> str:
    """The page: whether it may be cut, what is bought and made ready, the bookings, the steps with boxes to tick."""
    numbers = {step.id: k for k, step in enumerate(plan.steps, 1)}
    outcomes = list(plan.outcomes.values())
    base = plan.outcomes.get("board", outcomes[0]).job
    head = head_of_jobs("Plan of the work", words.titles(plan), outcomes, instrument_words(base.instrument, plan.units))
    return page(
        "pages/plan.html",
        title=head.page_title,
        head=head,
        jobs=[(piece, o, verdict(o), weight(o)) for piece, o in plan.outcomes.items()],
        stops=words.not_to_be_cut(plan),
        total=words.total(plan),
        buy=buy_table(plan),
        ready=ready_table(plan),
        bookings=bookings_table(plan),
        several=len(plan.bookings) > 1,
        jig="jig" in plan.outcomes,
        stretches=[
            {
                "title": title,
                "steps": [
                    {
                        "number": numbers[step.id],
                        "piece": step.piece,
                        "kind": step.kind.value.replace(" ", "-"),
                        "what": words.what(step, plan),
                        "details": words.details(step, plan),
                        "long": words.how_long(step),
                    }
                    for step in stretch.steps
                ],
            }
            for title, stretch in zip(stretch_titles(plan), plan.stretches, strict=True)
        ],
        allowances=words.ALLOWANCES,
        rests=words.RESTS,
        not_counted=words.NOT_COUNTED,
        outcome=outcomes[0],
        woods=list(dict.fromkeys(o.wood.caution for o in outcomes[1:] if o.wood.caution != outcomes[0].wood.caution)),
    )
