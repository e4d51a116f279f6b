"""`sheet.html`: the setup sheet that lies beside the machine, printed on A4 or Letter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from typing import Any

from toolpaths.common.units import MM_PER_INCH, show, size
from toolpaths.gcode.program import BESIDE, Program
from toolpaths.gcode.writer.operator_comments import lying_words
from toolpaths.reports.pages.section_drawing import section_drawings
from toolpaths.reports.pages.setup_drawing import drawing
from toolpaths.reports.pages.template import page, part
from toolpaths.reports.text.at_machine import before, bits_said, planed, zero_steps
from toolpaths.reports.text.changed import Difference
from toolpaths.reports.text.found_words import found_lines
from toolpaths.reports.text.holding import holding_sentences
from toolpaths.reports.text.measuring import measures_table
from toolpaths.reports.text.sessions import BETWEEN_SESSIONS, sessions_table, total_words
from toolpaths.reports.text.tables import Table, differences_table, findings_table
from toolpaths.reports.text.trueness import trueness
from toolpaths.reports.text.words import (
    bit_words,
    minutes,
    nut_words,
    plain,
    span,
    verdict,
    weight,
    zero_words,
)
from toolpaths.verification.outcome import Outcome, SetupReport

_SOFT = 800.0
"""Janka hardness, lbf, under which a wood dents under clamps and tears along its grain."""


def sheet(outcome: Outcome, changed: Sequence[Difference] = ()) -> str:
    """The page: what comes first, then each setup on two printed pages at most: drawing, zero, programs, measures."""
    features = [f.name for s in outcome.job.setups for f in s.features]
    return page(
        "pages/sheet.html",
        title=f"{plain(outcome.job.title)}: setup sheet",
        outcome=outcome,
        total=total_words(outcome),
        weight=weight(outcome),
        verdict=verdict(outcome),
        nut=nut_words(outcome.job.instrument, outcome.job.units),
        trueness=trueness(outcome.job, outcome.machine, outcome.job.machine),
        sessions=sessions_table(outcome) if outcome.changes.session else None,
        between=BETWEEN_SESSIONS,
        found=found_lines(outcome),
        length=partial(show, units=outcome.job.units),
        planed=list(planed(outcome)),
        soft=outcome.wood.janka < _SOFT,
        file=plain(outcome.path.name, 80),
        lift=_lift(outcome),
        feature=features[min(1, len(features) - 1)] if features else "FEATURE",
        differences=differences_table(changed, outcome.changes.words) if changed else None,
        findings=findings_table(outcome),
        setups=[_setup(outcome, setup) for setup in outcome.setups],
        sections=section_drawings(outcome),
    )


def _setup(outcome: Outcome, setup: SetupReport) -> dict[str, Any]:
    programs = [p for p in outcome.programs if p.setup == setup.context.setup.name]
    return {
        "name": setup.context.setup.name,
        "drawing": drawing(outcome, setup),
        "facts": _facts(outcome, setup),
        "zero": zero_steps(outcome, setup),
        "programs": _programs(outcome, setup, programs),
        "bits": bits_said(outcome, setup),
        "measures": measures_table(outcome, setup),
    }


def _facts(outcome: Outcome, setup: SetupReport) -> str:
    """How the wood lies, is held and travelled over, and what must be kept clear of."""
    context, length = setup.context, partial(show, units=outcome.job.units)
    return part(
        "pages/facts.html",
        outcome=outcome,
        setup=setup,
        length=length,
        size=partial(size, units=outcome.job.units),
        thickness=span(context.least, context.top, outcome.job.units),
        lying=lying_words(context, length),
        zero=zero_words(setup),
        beside=BESIDE,
        turned=f"{math.degrees(context.skew[0]):.3f}",
        holding=holding_sentences(setup, outcome.job.units),
    )


def _programs(outcome: Outcome, setup: SetupReport, programs: Sequence[Program]) -> Table:
    units = outcome.job.units
    rows = []
    for p in programs:
        bits = [(name, outcome.job.bits[name]) for name in p.bits if name in outcome.job.bits]
        about = "; ".join(f"{name}: {bit_words(b, units)}, {b.flutes} flutes" for name, b in bits)
        stickout = "; ".join(show(b.stickout, units) for _, b in bits)
        rpm = "; ".join(dict.fromkeys(_rpm(outcome, f.cutting.rpm) for f in setup.features if f.bit in p.bits))
        steps = " ".join(before(outcome, setup, p))
        rows.append((str(p.number), p.name, about, stickout, steps, rpm, minutes(p.minutes)))
    headers = ("no.", "program", "bit", "stick-out", "before it runs", "rpm", "time")
    return Table(f"Programs of setup {setup.context.setup.name}, in this order", headers, tuple(rows), {0, 6})


def _rpm(outcome: Outcome, rpm: float) -> str:
    """The speed, and the mark on the dial where a hand turns it."""
    spindle = outcome.machine.spindle
    by_hand = ", switched by hand" if spindle.set_by == "hand" else ""
    if not spindle.dialled or not spindle.dial:
        return f"{rpm:.0f}{by_hand}"
    mark, real = min(spindle.dial.items(), key=lambda d: abs(d[1] - rpm))
    return f"dial {mark} ({real}){by_hand}"


def _lift(outcome: Outcome) -> str:
    """A round lift that clears the stock by 5 mm (0.2 in) at least."""
    top = max((s.context.top for s in outcome.setups), default=10.0)
    if outcome.job.units == "in":
        return f"{math.ceil((top / MM_PER_INCH + 0.2) * 4) / 4:g}in"
    return f"{math.ceil(top / 5 + 1) * 5}mm"
