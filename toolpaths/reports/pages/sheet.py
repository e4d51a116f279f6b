"""`sheet.html`: the setup sheet that is kept beside the machine, printed on A4 or Letter."""

from __future__ import annotations

import math
from functools import partial
from typing import Any

from toolpaths.common.units import show, size
from toolpaths.gcode.program import BESIDE, Program
from toolpaths.gcode.writer.operator_comments import lying_words
from toolpaths.reports.pages.setup_drawing import drawing
from toolpaths.reports.pages.template import page, part
from toolpaths.reports.text import at_machine
from toolpaths.reports.text.ending import air_lift
from toolpaths.reports.text.found_words import found_lines
from toolpaths.reports.text.holding import holding_sentences
from toolpaths.reports.text.measuring import entries_after, entries_before
from toolpaths.reports.text.page_head import head_of_job
from toolpaths.reports.text.sessions import BETWEEN_SESSIONS, sessions_table, total_words
from toolpaths.reports.text.words import minutes, nut_words, plain, span, verdict, weight, zero_words
from toolpaths.verification.outcome import Outcome, SetupReport

_SOFT = 800.0
"""Janka hardness, lbf, under which a wood dents under clamps and tears along its grain."""


def sheet(outcome: Outcome) -> str:
    """The page: what comes first, then each setup on two printed pages at most: drawing, zero, programs with marks."""
    features = [f.name for s in outcome.job.setups for f in s.features]
    head = head_of_job("Setup sheet", outcome)
    return page(
        "pages/sheet.html",
        title=head.page_title,
        head=head,
        outcome=outcome,
        total=total_words(outcome).capitalize(),
        weight=weight(outcome),
        verdict=verdict(outcome),
        nut=nut_words(outcome.job.instrument, outcome.job.units),
        sessions=sessions_table(outcome) if outcome.changes.session else None,
        between=BETWEEN_SESSIONS,
        found=found_lines(outcome),
        length=partial(show, units=outcome.job.units),
        planed=list(at_machine.planed(outcome)),
        soft=outcome.wood.janka < _SOFT,
        file=plain(outcome.path.name, 300),
        lift=air_lift(outcome),
        feature=features[min(1, len(features) - 1)] if features else "FEATURE",
        setups=[_setup(outcome, setup) for setup in outcome.setups],
    )


def _setup(outcome: Outcome, setup: SetupReport) -> dict[str, Any]:
    name = setup.context.setup.name
    return {
        "name": name,
        "drawing": drawing(outcome, setup),
        "facts": _facts(outcome, setup),
        "zero": at_machine.zero_steps(outcome, setup),
        "programs": [_program(outcome, setup, p) for p in outcome.programs if p.setup == name],
        "measured": any(mark.setup == name for mark in outcome.marks),
    }


def _program(outcome: Outcome, setup: SetupReport, program: Program) -> dict[str, Any]:
    """What is done before a program runs, which bit, which Z, what to watch, and what to measure: in that order."""
    return {
        "number": program.number,
        "name": program.name,
        "minutes": f"about {minutes(program.minutes)}",
        "cut": program.name in outcome.cut,
        "before": at_machine.before(outcome, setup, program),
        "lying": entries_before(outcome, setup, program.number),
        "bits": [f"{at_machine.bit_line(outcome, name)}." for name in program.bits],
        "speeds": at_machine.speeds(outcome, setup, program),
        "touch": at_machine.touch(outcome, program),
        "watch": at_machine.watch(setup, program),
        "after": entries_after(outcome, setup, program.number),
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
