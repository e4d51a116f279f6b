"""The table that the page on plans shows is the one that the command shows."""

from __future__ import annotations

import re
from pathlib import Path

from tests.support.made import made
from toolpaths.job.changes import Changes
from toolpaths.reports.text.plan_tables import bookings_table
from toolpaths.reports.text.printed_tables import printed
from toolpaths.workshop.plan_of_instrument import plan_of_instrument

ROOT = Path(__file__).parents[2]


def test_the_bookings_on_the_page_are_those_of_the_demo() -> None:
    page = (ROOT / "docs" / "plan.md").read_text(encoding="utf-8")
    shown = re.search(r"```text\n(.*?)\n```", page, re.S)
    assert shown is not None
    plan = plan_of_instrument([made(ROOT / "demo_jobs" / "inlaid_board.yaml", Changes(pitch=0.5))])
    out = printed(bookings_table(plan), 80)
    assert shown[1].splitlines() == [line.rstrip() for line in out.splitlines()]
