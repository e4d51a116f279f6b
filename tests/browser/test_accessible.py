"""No page breaks a rule of accessibility of serious or critical impact, on a phone and a desk, light and dark.

The rules are axe-core's (`tests/browser/axe.py`), which name the success criteria of WCAG that they try.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.axe import GRAVE, violations
from tests.browser.chrome import Browser
from tests.support.commands import typed
from tests.support.made import made
from tests.support.needs import AXE, BROWSER, needs
from tests.support.patience import LONGEST
from toolpaths.pipeline import run

pytestmark = [pytest.mark.slow, needs(BROWSER), needs(AXE)]

ROOT = Path(__file__).parents[2]
JOB = ROOT / "demo_jobs" / "inlaid_board.yaml"
"""Three setups, the second of a sheet of its own, and a warning: every kind of part that the pages have."""
WAYS = [(390, False), (390, True), (1400, False), (1400, True)]
"""Widths in pixels, and whether it is dark."""
PAGES = {
    "preview.html": "w/preview.html",
    "sheet.html": "w/sheet.html",
    "handwork.html": "w/handwork.html",
    "plan.html": "p/plan.html",
    "book.html": "b/book.html",
    "coupon.html": "c/coupon.html",
    "compare.html": "v/compare.html",
    "surface.html": "surface.html",
}
SITE = ["index", "first-board", "at-the-machine", "feeds", "features/score_lines", "search"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Every page that the program writes, each by its own command."""
    place = tmp_path_factory.mktemp("pages")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run, "make", made)
        for words in (
            ["write", JOB, "--pitch", "0.5", "-o", place / "w"],
            ["plan", JOB, "--pitch", "0.5", "-o", place / "p"],
            ["book", JOB, "--pitch", "0.5", "-o", place / "b"],
            ["coupon", JOB, "-o", place / "c"],
            ["compare", JOB, "--pitch", "0.5", "--bit", "scorer=0.8", "-o", place / "v"],
            ["surface", "bench-router", "-o", place / "surface.ngc"],
        ):
            typed(*words)
        yield place


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("site")
    command = [sys.executable, "-m", "sphinx", "-q", "-E", str(ROOT / "docs"), str(place)]
    subprocess.run(command, check=True, timeout=LONGEST)
    return place


def grave(chrome: Browser, file: Path, width: int, dark: bool, ready: str = "true") -> list[str]:
    """What the page breaks at that width with every folded part open, one line a rule."""
    chrome.size(width, 900, phone=width < 500, dark=dark)
    chrome.open(file, ready=ready)
    chrome.run("document.querySelectorAll('details').forEach(part => { part.open = true; })")
    return [
        f"{v.impact} {v.rule}: {v.help}: {', '.join(v.places[:5])}" for v in violations(chrome) if v.impact in GRAVE
    ]


@pytest.mark.parametrize(("width", "dark"), WAYS)
@pytest.mark.parametrize("page", PAGES)
def test_a_page_of_the_program(chrome: Browser, folder: Path, page: str, width: int, dark: bool) -> None:
    ready = "document.documentElement.dataset.ready === 'yes'" if page == "preview.html" else "true"
    assert [] == grave(chrome, folder / PAGES[page], width, dark, ready)


# Their style and their widths do not depend on each other: each once.
@pytest.mark.parametrize(("width", "dark"), WAYS[1:3])
@pytest.mark.parametrize("page", SITE)
def test_a_page_of_the_site(chrome: Browser, site: Path, page: str, width: int, dark: bool) -> None:
    assert [] == grave(chrome, site / f"{page}.html", width, dark)


def test_a_fault_is_found(chrome: Browser, tmp_path: Path) -> None:
    """A picture without words (WCAG 1.1.1) and grey words on white at 1.6 to 1 (1.4.3), and the page without them."""
    whole = '<!DOCTYPE html><html lang="en"><title>A page</title><main><h1>Page</h1>%s</main></html>'
    (tmp_path / "fault.html").write_text(
        whole % '<p style="color:#ccc">Too faint to read.</p><img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">',
        encoding="utf-8",
    )
    (tmp_path / "none.html").write_text(whole % "<p>Dark enough to read.</p>", encoding="utf-8")
    found = grave(chrome, tmp_path / "fault.html", 390, False)
    assert {"color-contrast:", "image-alt:"} == {line.split()[1] for line in found}
    assert [] == grave(chrome, tmp_path / "none.html", 390, False)
