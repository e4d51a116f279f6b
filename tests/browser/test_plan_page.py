"""The plan as it is read: on a phone, a laptop and a wide screen, in the dark, and printed whole on A4 and Letter."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pdfplumber
import pytest

from tests.browser.chrome import Browser, browser
from tests.support.made import made
from tests.support.needs import BROWSER, needs
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.plan_page import plan_page
from toolpaths.workshop.plan_of_instrument import InstrumentPlan, plan_of_instrument

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "out" / "pages"
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
SETS = {
    "tenor": ("tenor_jig", "tenor_board_on_jig", "tenor_neck_on_jig"),
    "inlaid": ("inlaid_board",),
    "inch": ("parlour_board_inch",),
}

pytestmark = [pytest.mark.slow, needs(BROWSER)]

_CUT = """
[...document.querySelectorAll('h1, h2, p, li, td, th, span')].filter(e => {
  const box = e.getBoundingClientRect(), frame = e.closest('.scroll')?.getBoundingClientRect();
  return box.width > 0 && (box.left < -1 || (!frame && box.right > innerWidth + 1) || e.scrollWidth > e.clientWidth + 1
    && getComputedStyle(e).display !== 'inline');
}).map(e => e.textContent.slice(0, 60))
"""
"""What goes out of the window, or out of its own box; a table may be wider than the window in a frame that scrolls."""
_TORN = """
[...document.querySelectorAll('td, .of, .long, .no')].filter(e => {
  const range = document.createRange(), walk = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) for (const word of node.data.matchAll(/[^\\s-]+/g)) {
    range.setStart(node, word.index); range.setEnd(node, word.index + word[0].length);
    if (new Set([...range.getClientRects()].map(r => Math.round(r.top))).size > 1) return true;
  }
  return false;
}).map(e => e.textContent.slice(0, 60))
"""
"""What has a word on two lines."""


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with browser() as one:
        yield one


def planned(name: str) -> InstrumentPlan:
    return plan_of_instrument([made(ROOT / "demo_jobs" / f"{job}.yaml", Changes(pitch=0.5)) for job in SETS[name]])


def written(plan: InstrumentPlan, folder: Path) -> Path:
    file = folder / "plan.html"
    file.write_text(plan_page(plan), encoding="utf-8")
    return file


@pytest.mark.parametrize("name", SETS)
def test_it_reads_at_three_widths(chrome: Browser, name: str, tmp_path: Path) -> None:
    file = written(planned(name), tmp_path)
    for width, dark in ((390, False), (900, True), (1400, False)):
        chrome.size(width, 900, phone=width < 500, dark=dark)
        chrome.open(file, ready="true")
        chrome.picture(PICTURES / f"plan-{name}-{width}.png", whole=True)
        assert chrome.run("document.documentElement.scrollWidth") <= width
        assert chrome.run(_CUT) == []
        assert chrome.run(_TORN) == []
        assert chrome.errors == []
        assert [url for url in chrome.asked if not url.startswith("file:")] == []
        ink, paper = chrome.run("(s => [s.color, s.backgroundColor])(getComputedStyle(document.body))")
        assert (_light(paper) < 60) == dark
        assert abs(_light(ink) - _light(paper)) > 120


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SETS)
def test_it_prints_whole(chrome: Browser, name: str, paper: str, tmp_path: Path) -> None:
    plan = planned(name)
    width, height = PAPERS[paper]
    chrome.size(900, 900)
    chrome.open(written(plan, tmp_path), ready="true")
    data = chrome.pdf(paperWidth=width, paperHeight=height, printBackground=True, preferCSSPageSize=False)
    (PICTURES / f"plan-{name}-{paper}.pdf").write_bytes(data)
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        pages = [page.extract_text() or "" for page in pdf.pages]
        margins = [(min(w["x0"] for w in words), max(w["x1"] for w in words), page.width)
                   for page in pdf.pages if (words := page.extract_words())]  # fmt: skip
    # Every number of a step is on paper, and nothing reaches into the margins of 12 mm (34 points).
    found = {int(n) for text in pages for n in re.findall(r"^(\d+) (?:jig|board|neck)\b", text, re.M)}
    assert set(range(1, len(plan.steps) + 1)) <= found
    assert all(left > 33 and right < whole - 33 for left, right, whole in margins)
    assert "Cautions" in "".join(pages)
    # About a dozen steps a page: 10 pages at most for the longest plan, none of them nearly empty but the last.
    assert len(pages) <= 10
    assert all(len(text) > 400 for text in pages[:-1])


def _light(colour: str) -> float:
    red, green, blue = (float(n) for n in re.findall(r"[\d.]+", colour)[:3])
    return 0.299 * red + 0.587 * green + 0.114 * blue
