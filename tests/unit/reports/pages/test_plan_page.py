"""`plan.html`: everything in it, nothing from elsewhere, and no markup from anybody's names."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.commands import Page
from tests.support.made import made
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.plan_page import plan_page
from toolpaths.reports.text import plan_words as words
from toolpaths.verification.finding import Finding
from toolpaths.verification.wording.message import Message
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument

DEMOS = Path(__file__).parents[4] / "demo_jobs"


@pytest.fixture(scope="module")
def plan() -> InstrumentPlan:
    return plan_of_instrument([made(DEMOS / "inlaid_board.yaml", Changes(pitch=0.5))])


def test_every_step_is_on_the_page_in_its_order(plan: InstrumentPlan) -> None:
    page = plan_page(plan)
    assert [int(n) for n in re.findall(r'<span class="no">(\d+)</span>', page)] == [*range(1, len(plan.steps) + 1)]
    said = Page(page).said
    for step in plan.steps:
        assert " ".join(words.what(step, plan).replace("`", "").split()) in said
        assert all(" ".join(detail.split()) in said for detail in words.details(step, plan))
    for heading in ("To buy", "Ready before the machine is booked", "Bookings of the machine", "Cautions"):
        assert f"<h2>{heading}</h2>" in page


def test_it_asks_for_nothing_and_runs_nothing(plan: InstrumentPlan) -> None:
    page = plan_page(plan)
    assert Page(page).fetched == []
    assert "<script" not in page
    assert "default-src 'none'" in page
    assert "script-src 'none'" in page


def test_the_cautions_defer_to_manual_shop_and_makers(plan: InstrumentPlan) -> None:
    said = Page(plan_page(plan)).said
    assert "The machine's manual, the shop's rules and local law come first." in said
    assert "manufacturer's instructions for glue" in said
    assert "common practice, no source" in said


def test_titles_and_names_are_text(plan: InstrumentPlan) -> None:
    board = plan.outcomes["board"]
    evil = board.job.model_copy(update={"title": "<b>bold</b> & <script>"})
    page = plan_page(plan_of_instrument([replace(board, job=evil, path=Path("a<i>b.yaml"))]))
    assert "<script" not in page
    assert "&lt;b&gt;bold&lt;/b&gt; &amp; &lt;script&gt;" in page
    assert "a&lt;i&gt;b.yaml" in page


def test_a_stop_stands_above_all_lists(plan: InstrumentPlan) -> None:
    board = plan.outcomes["board"]
    stopped = replace(board, findings=(Finding.of("stock-too-small", Message("Too short.")), *board.findings))
    page = plan_page(plan_of_instrument([stopped]))
    assert page.index("may not be cut") < page.index("Too short.") < page.index("<h2>To buy</h2>")
    assert "may not be cut" not in plan_page(plan)


def test_the_same_bytes_twice(plan: InstrumentPlan) -> None:
    assert plan_page(plan) == plan_page(plan_of_instrument(plan.outcomes.values()))
