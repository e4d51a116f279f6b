"""`book.html`: the build book of an instrument: what each size should be and what was found, with the pictures."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from typing import Any

from toolpaths.reports.pages.handwork_page import positions_table, stations_table
from toolpaths.reports.pages.template import page
from toolpaths.reports.text import book_tables as tables
from toolpaths.reports.text.page_head import head_of_jobs, instrument_words
from toolpaths.reports.text.plan_words import titles
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import nut_words, origin_of, verdict, weight
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.workshop.hand_list import hand_groups
from toolpaths.workshop.plan_of_instrument import InstrumentPlan
from toolpaths.workshop.step import Piece

Pictures = Mapping[Piece, Mapping[str, bytes]]
"""The depth picture of each setup, a PNG, by piece and by the setup's name."""


def book_page(plan: InstrumentPlan, pictures: Pictures) -> str:
    """The page: the instrument, then each part with its wood, setups, marks, work by hand, and room to write."""
    first = next(iter(plan.outcomes.values()))
    base = plan.outcomes.get("board", first).job
    outcomes = list(plan.outcomes.values())
    head = head_of_jobs("Build book", titles(plan), outcomes, instrument_words(base.instrument, plan.units))
    return page(
        "pages/book.html",
        title=head.page_title,
        head=head,
        instrument=tables.instrument_facts(base.instrument, base.handed, plan.units),
        nut=nut_words(base.instrument, plan.units),
        jobs=[(piece, o, tables.how_far(plan, piece)) for piece, o in plan.outcomes.items()],
        parts=[_part(plan, piece, pictures[piece]) for piece in plan.outcomes],
    )


# Private


def _part(plan: InstrumentPlan, piece: Piece, pictures: Mapping[str, bytes]) -> dict[str, Any]:
    outcome = plan.outcomes[piece]
    return {
        "piece": piece,
        "outcome": outcome,
        "verdict": verdict(outcome),
        "weight": weight(outcome),
        "told": tables.told(outcome),
        "cut": list(tables.cut_before(outcome)),
        "wood": tables.wood_facts(piece, outcome),
        "setups": [_setup(outcome, setup, pictures[setup.context.setup.name]) for setup in outcome.setups],
        "work": [(group.title, [entry.what for entry in group.entries]) for group in hand_groups(outcome)],
        "tables": [t for t in _tables(plan, piece) if t.rows],
    }


def _setup(outcome: Outcome, setup: SetupReport, png: bytes) -> dict[str, Any]:
    return {
        "name": setup.context.setup.name,
        "surface": setup.context.surface,
        "origin": origin_of(setup),
        "picture": base64.b64encode(png).decode("ascii"),
        "programs": tables.program_rows(outcome, setup),
        "marks": tables.mark_rows(outcome, setup),
        "corrections": tables.correction_words(outcome, setup),
    }


def _tables(plan: InstrumentPlan, piece: Piece) -> list[Table]:
    """What the hands measure: the slots once for the instrument, and the thickness of a back while it is carved."""
    outcome = plan.outcomes[piece]
    slots: Piece = "board" if "board" in plan.outcomes else "neck"
    return [
        *([positions_table(outcome)] if piece == slots else []),
        *([stations_table(outcome)] if piece == "neck" else []),
    ]
