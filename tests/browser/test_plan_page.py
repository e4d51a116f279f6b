"""The plan as it is read: on a phone, a laptop and a wide screen, in the dark, and printed whole on A4 and Letter."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.browser.chrome import Browser
from tests.browser.reading import MARGIN, PAPERS, ROOT, SETS, WIDTHS, must_read, printed
from tests.support.made import made
from tests.support.needs import BROWSER, needs
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.plan_page import plan_page
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument

pytestmark = [pytest.mark.slow, needs(BROWSER)]


def planned(name: str) -> InstrumentPlan:
    return plan_of_instrument([made(ROOT / "demo_jobs" / f"{job}.yaml", Changes(pitch=0.5)) for job in SETS[name]])


def written(plan: InstrumentPlan, folder: Path) -> Path:
    file = folder / "plan.html"
    file.write_text(plan_page(plan), encoding="utf-8")
    return file


@pytest.mark.parametrize("name", SETS)
def test_it_reads_at_three_widths(chrome: Browser, name: str, tmp_path: Path) -> None:
    file = written(planned(name), tmp_path)
    for width, dark in WIDTHS:
        must_read(chrome, file, f"plan-{name}", width, dark, "h1, h2, p, li, td, th, span", "td, .of, .long, .no")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SETS)
def test_it_prints_whole(chrome: Browser, name: str, paper: str, tmp_path: Path) -> None:
    plan = planned(name)
    chrome.size(900, 900)
    with printed(chrome, written(plan, tmp_path), paper, f"plan-{name}") as pdf:
        pages = [page.extract_text() or "" for page in pdf.pages]
        margins = [(min(w["x0"] for w in words), max(w["x1"] for w in words), page.width)
                   for page in pdf.pages if (words := page.extract_words())]  # fmt: skip
    # Every number of a step is on paper, and nothing reaches into the margins.
    found = {int(n) for text in pages for n in re.findall(r"^(\d+) (?:jig|board|neck)\b", text, re.M)}
    assert set(range(1, len(plan.steps) + 1)) <= found
    assert all(left > MARGIN and right < whole - MARGIN for left, right, whole in margins)
    assert "Cautions" in "".join(pages)
    # About a dozen steps a page: 10 pages at most for the longest plan, none of them nearly empty but the last.
    assert len(pages) <= 10
    assert all(len(text) > 400 for text in pages[:-1])
