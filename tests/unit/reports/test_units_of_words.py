"""A job in inches for a machine in inches is told in inches: no millimetre in what a person reads."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.job.changes import Changes
from toolpaths.pipeline import prove as proof
from toolpaths.reports.pages.handwork_page import handwork_page
from toolpaths.reports.pages.plan_page import plan_page
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.text.tables import features_table, frets_tables, handwork_table, programs_table, reasons_table
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.plan_of_instrument import plan_of_instrument

ROOT = Path(__file__).parents[3]
_MM = re.compile(r".{0,40}\d ?mm[²³2]?\b.{0,10}|.{0,40}\bmm\b.{0,10}")


def words_of(outcome: Outcome) -> dict[str, str]:
    """Every text, without what styles a page."""
    tables = [features_table(outcome, s) for s in outcome.setups] + [reasons_table(s, outcome) for s in outcome.setups]
    pages = {"sheet": sheet(outcome), "handwork": handwork_page(outcome)}
    pages["plan"] = plan_page(plan_of_instrument([outcome]))
    plain = {k: html.unescape(re.sub(r"<style.*?</style>|<[^>]+>", " ", v, flags=re.DOTALL)) for k, v in pages.items()}
    rows = [*tables, handwork_table(outcome), programs_table(outcome)]
    said = "\n".join(" ".join((t.title, *t.headers, *(c for row in t.rows for c in row))) for t in rows)
    findings = "\n".join(f.message for f in outcome.findings)
    return plain | {"tables": said, "findings": findings, "programs": "\n".join(p.text for p in outcome.programs)}


@pytest.mark.parametrize("job", ["demo_jobs/parlour_board_inch.yaml", "tests/cases/inch_board.yaml"])
@pytest.mark.parametrize("air", [0.0, 19.05])
def test_an_inch_job_speaks_of_no_millimetre(job: str, air: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(proof, "judge", lambda inputs: [])
    outcome = make(ROOT / job, Changes(pitch=1.0, air=air, units="in"))
    assert {} == {name: found for name, text in words_of(outcome).items() if (found := _MM.findall(text))}
    # The one table that is in both units says so above each column.
    assert all(" mm" not in table.title for table in frets_tables(outcome.job))
