"""The sheet as it prints: each setup on two pages at most, on A4 and on Letter."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.browser.chrome import Browser
from tests.browser.reading import ROOT, printed
from tests.support.made import made as make
from tests.support.needs import BROWSER, needs
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.handwork_page import handwork_page
from toolpaths.reports.pages.sheet import sheet

pytestmark = [pytest.mark.slow, needs(BROWSER)]


def pages_of(chrome: Browser, file: Path, paper: str) -> list[str]:
    """The text of each printed page."""
    with printed(chrome, file, paper, f"{file.parent.name}-{file.stem}") as pdf:
        return [page.extract_text() or "" for page in pdf.pages]


# Letter is the shorter paper: what fits there is tried on A4 with the longest sheet alone.
@pytest.mark.parametrize(
    ("demo", "paper"),
    [*((p.stem, "Letter") for p in sorted((ROOT / "demo_jobs").glob("*.yaml"))), ("tenor_neck", "A4")],
)
def test_a_setup_takes_two_pages_at_most(chrome: Browser, demo: str, paper: str, tmp_path: Path) -> None:
    outcome = make(ROOT / "demo_jobs" / f"{demo}.yaml", Changes(pitch=0.5))
    folder = tmp_path / demo
    folder.mkdir()
    (folder / "sheet.html").write_text(sheet(outcome), encoding="utf-8")
    pages = pages_of(chrome, folder / "sheet.html", paper)
    first = [
        next(i for i, text in enumerate(pages) if re.match(rf"Setup {s.context.setup.name}\b", text))
        for s in outcome.setups
    ]
    ends = [*first[1:], next((i for i, t in enumerate(pages) if "The neck sawn through" in t), len(pages))]
    # One more where the blank is moved along, and is held anew in each place.
    most = [3 if s.context.setup.placed else 2 for s in outcome.setups]
    taken = [end - begin for begin, end in zip(first, ends, strict=True)]
    assert all(1 <= n <= m for n, m in zip(taken, most, strict=True)), (first, ends, len(pages))
    # What comes before the setups is one page, two where there are findings.
    assert first[0] <= (2 if outcome.findings else 1)


def test_the_list_for_the_hands_prints(chrome: Browser, tmp_path: Path) -> None:
    outcome = make(ROOT / "demo_jobs" / "tenor_board.yaml", Changes(pitch=0.5))
    (tmp_path / "handwork.html").write_text(handwork_page(outcome), encoding="utf-8")
    pages = pages_of(chrome, tmp_path / "handwork.html", "A4")
    assert len(pages) <= 3
    assert "Slots from the nut line" in "".join(pages)
