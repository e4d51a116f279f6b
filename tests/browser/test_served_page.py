"""The page as `watch` serves it, in a real browser: it fetches itself again once the set has changed."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.browser.chrome import Browser, browser
from tests.support.made import made as make
from tests.support.needs import BROWSER, needs
from tests.support.patience import until
from toolpaths.job.changes import Changes
from toolpaths.reports.output.serving import PageServer, Shown
from toolpaths.reports.preview.preview_page import preview_page

ROOT = Path(__file__).parents[2]

pytestmark = [pytest.mark.slow, needs(BROWSER)]


def wait(chrome: Browser, expression: str) -> None:
    until(lambda: chrome.run(f"Boolean({expression})"), expression)


def test_it_follows_the_set_and_its_troubles(tmp_path: Path) -> None:
    text = preview_page(make(ROOT / "demo_jobs" / "tenor_board.yaml", Changes(pitch=0.5)))
    page = tmp_path / "preview.html"
    page.write_text(text, encoding="utf-8")
    shown = Shown(tmp_path)
    server = PageServer(shown)
    end = server.begin()
    try:
        with browser() as chrome:
            chrome.call("Page.navigate", url=server.url)
            wait(chrome, "document.documentElement?.dataset.ready === 'yes'")
            chrome.run("globalThis.seen = true")
            time.sleep(1.6)
            assert chrome.run("globalThis.seen === true"), "it must stay as long as nothing changes"
            page.write_text(text.replace("Tenor board, 584 mm", "Another board"), encoding="utf-8")
            shown.written()
            wait(chrome, "document.title.startsWith('Another board')")
            wait(chrome, "document.documentElement?.dataset.ready === 'yes'")
            shown.troubled("uncut of outline: wood is left")
            wait(chrome, "document.querySelector('[role=alert]')?.textContent.includes('wood is left')")
            assert [] == [e for e in chrome.errors if "404" not in e]
            own = server.url.rsplit("/", 1)[0]
            assert all(url.startswith((own, "data:")) for url in chrome.asked)
    finally:
        end()
