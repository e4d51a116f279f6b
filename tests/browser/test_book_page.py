"""The build book as it is read: on four widths, in the dark, and printed whole on A4 and Letter."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from tests.browser.chrome import Browser
from tests.browser.reading import MARGIN, PAPERS, ROOT, SETS, WIDTHS, must_read, printed
from tests.support.made import made
from tests.support.needs import BROWSER, needs
from toolpaths.job.changes import Changes
from toolpaths.reports.output.write_set import drawn
from toolpaths.reports.pages.book_page import Pictures, book_page
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument

pytestmark = [pytest.mark.slow, needs(BROWSER)]

_WHOLE = "h1, h2, h3, h4, p, li, td, th, caption, figcaption, .fields span"


@pytest.fixture(scope="module", params=SETS)
def book(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, InstrumentPlan, Path]:
    """A book whose first part is measured, every second value a little off, and cut but for its last program."""
    first, *rest = (made(ROOT / "demo_jobs" / f"{job}.yaml", Changes(pitch=0.5)) for job in SETS[request.param])
    found = {
        m.number: m.figure.value + (m.figure.within[0] * 1.5 if m.number % 2 else 0.0)
        for m in first.marks
        if m.measure.figures
    }
    cut = frozenset(p.name for p in first.programs[:-1])
    plan = plan_of_instrument([replace(first, found=found, cut=cut), *rest])
    pictures: Pictures = {
        piece: {name: picture.png for name, picture in drawn(outcome).items()}
        for piece, outcome in plan.outcomes.items()
    }
    file = tmp_path_factory.mktemp("book") / "book.html"
    file.write_text(book_page(plan, pictures), encoding="utf-8")
    return request.param, plan, file


@pytest.mark.parametrize(("width", "dark"), WIDTHS)
def test_it_reads_at_three_widths(
    chrome: Browser, book: tuple[str, InstrumentPlan, Path], width: int, dark: bool
) -> None:
    name, _, file = book
    must_read(chrome, file, f"book-{name}", width, dark, _WHOLE, "td, tbody th")
    assert chrome.run("[...document.images].every(i => i.naturalWidth > 2000)")


@pytest.mark.parametrize("paper", PAPERS)
def test_it_prints_whole(chrome: Browser, book: tuple[str, InstrumentPlan, Path], paper: str) -> None:
    name, plan, file = book
    chrome.size(900, 900)
    with printed(chrome, file, paper, f"book-{name}") as pdf:
        pages = [page.extract_text() or "" for page in pdf.pages]
        pictures = [(i["x0"], i["x1"], page.width) for page in pdf.pages for i in page.images]
        words = [(w["x0"], w["x1"], page.width) for page in pdf.pages for w in page.extract_words()]
    # Every mark of every part is on paper, in a row of its own; nothing reaches into the margins.
    wanted = sorted(m.number for outcome in plan.outcomes.values() for m in outcome.marks)
    assert sorted(int(n) for text in pages for n in re.findall(r"^M(\d+) (?:before|after)\b", text, re.M)) == wanted
    assert len(pictures) == sum(len(outcome.setups) for outcome in plan.outcomes.values())
    assert all(left > MARGIN and right < whole - MARGIN for left, right, whole in words + pictures)
    # Where a table goes on, its head is there again: no page begins with a mark, and none ends with a head.
    assert not any(re.match(r"M\d+ ", text) for text in pages)
    assert not any(re.search(r"(?:what followed|cut, and when)\s*\d*\s*$", text) for text in pages)
