"""`sheet.html`: the setup sheet that lies beside the machine, printed on A4 or Letter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from toolpaths.common.units import MM_PER_INCH, Units, show, size
from toolpaths.gcode.program import BESIDE, Program
from toolpaths.gcode.writer.operator_comments import lying_words
from toolpaths.job.setup_context import SetupContext
from toolpaths.reports.pages.section_drawing import section_drawings
from toolpaths.reports.pages.setup_drawing import LETTERS, drawing
from toolpaths.reports.pages.template import page
from toolpaths.reports.text.at_machine import before, bits_said, preparation, stopped, zero_steps
from toolpaths.reports.text.changed import Difference
from toolpaths.reports.text.measuring import measures_table
from toolpaths.reports.text.sessions import BETWEEN_SESSIONS, sessions_table, total_words
from toolpaths.reports.text.tables import Table, differences_table, findings_table
from toolpaths.reports.text.words import (
    CAUTIONS,
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


def sheet(outcome: Outcome, changed: Sequence[Difference] = ()) -> str:
    """The page: what comes first, then each setup on two printed pages at most: drawing, zero, programs, measures."""
    return page(
        "pages/sheet.html",
        title=f"{plain(outcome.job.title)}: setup sheet",
        outcome=outcome,
        total=total_words(outcome),
        weight=weight(outcome),
        verdict=verdict(outcome),
        nut=nut_words(outcome.job.instrument, outcome.job.units),
        sessions=sessions_table(outcome) if outcome.changes.session else None,
        between=BETWEEN_SESSIONS,
        preparation=preparation(outcome),
        cautions=_cautions(outcome),
        stopped=stopped(outcome),
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


def _facts(outcome: Outcome, setup: SetupReport) -> list[str]:
    """How the work lies, is held and travelled over, and what must be kept clear of."""
    context, units = setup.context, outcome.job.units
    stock, thick = context.stock, span(context.least, context.top, units)
    facts = [
        f"Stock {size(stock.length, units)} long, {size(stock.width, units)} wide, {thick} thick.",
        *_lying(context, units),
        f"Zero ({context.setup.offset}): {zero_words(setup)}.",
        _holding(setup),
        *_words_beside(outcome),
        f"Between cuts the bit travels {show(context.travel_height, units)} above the bed.",
    ]
    if context.flipped:
        facts.insert(0, "Turn the blank over about its centreline, face down: the left end stays left.")
    if context.setup.skew is not None:
        turn, shift = context.skew
        facts.append(
            f"The programs follow the blank as measured: turned {math.degrees(turn):.3f} degrees, "
            f"{show(shift, units)} aside. Measure again whenever it was moved."
        )
    if outcome.changes.air:
        facts.insert(0, f"AIR RUN: every move of these programs is lifted by {show(outcome.changes.air, units)}.")
    keep_outs = [
        f"Keep out {letter}: {plain(k.name, 60)}, x {show(k.x[0], units)} to {show(k.x[1], units)}, "
        f"y {show(k.y[0], units)} to {show(k.y[1], units)}, {show(k.height, units)} high."
        for letter, k in zip(LETTERS.ljust(len(context.setup.keep_out)), context.setup.keep_out, strict=False)
    ]
    return facts + keep_outs


def _lying(context: SetupContext, units: Units) -> list[str]:
    if context.apart:
        return [f"Of {context.wood.name}.", *lying_words(context, lambda mm: show(mm, units))]
    return [
        f"The nut line lies {show(context.setup.nut_at, units)} from the stock's left end, the centreline "
        f"{show(context.centre_at, units)} from the edge on the operator's side."
    ]


def _words_beside(outcome: Outcome) -> list[str]:
    if outcome.machine.comments:
        return []
    return [
        f"The controller takes no comments: what a program has to say stands in a file beside it, ending in {BESIDE}. "
        "Read it before the start, and keep it open: it says what each pause is for."
    ]


def _holding(setup: SetupReport) -> str:
    hold = setup.context.setup.hold
    if hold is None:
        return "Holding: the job does not say. Make sure that nothing can move, and that the cut-out part cannot lift."
    return f"Held by {hold}. Try by hand that the blank does not move before the first start."


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


def _cautions(outcome: Outcome) -> list[str]:
    top = max((s.context.top for s in outcome.setups), default=10.0)
    # A round lift that clears the stock by 5 mm (0.2 in) at least.
    inches = outcome.job.units == "in"
    lift = f"{math.ceil((top / MM_PER_INCH + 0.2) * 4) / 4:g}in" if inches else f"{math.ceil(top / 5 + 1) * 5}mm"
    air = (
        f"In the air first: `neckpath write {plain(outcome.path.name, 80)} --air {lift}` writes the same set "
        "lifted clear of the stock, proven to touch nothing."
    )
    wood = [outcome.wood.caution] if outcome.wood.caution else []
    return [*([] if outcome.changes.air else [air]), *wood, *CAUTIONS]
