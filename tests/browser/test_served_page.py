"""The page as `watch` serves it, in a real browser: it fetches itself again once the set has changed."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.browser.chrome import BROWSER, Browser, browser
from toolpaths.core.outcome import Changes
from toolpaths.pipeline import make
from toolpaths.reports.preview_page import preview_page
from toolpaths.reports.serving import PageServer, Shown

ROOT = Path(__file__).parents[2]

pytestmark = [pytest.mark.slow, pytest.mark.skipif(BROWSER is None, reason="needs a browser without a window")]


def until(chrome: Browser, expression: str) -> None:
    end = time.monotonic() + 20
    while not chrome.run(f"Boolean({expression})"):
        assert time.monotonic() < end, expression
        time.sleep(0.1)


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
            until(chrome, "document.documentElement?.dataset.ready === 'yes'")
            chrome.run("globalThis.seen = true")
            time.sleep(1.6)
            assert chrome.run("globalThis.seen === true"), "it must stay as long as nothing changes"
            page.write_text(text.replace("Tenor board, 584 mm", "Another board"), encoding="utf-8")
            shown.written()
            until(chrome, "document.title.startsWith('Another board')")
            until(chrome, "document.documentElement?.dataset.ready === 'yes'")
            shown.troubled("uncut of outline: wood is left")
            until(chrome, "document.querySelector('[role=alert]')?.textContent.includes('wood is left')")
            assert [] == [e for e in chrome.errors if "404" not in e]
            own = server.url.rsplit("/", 1)[0]
            assert all(url.startswith((own, "data:")) for url in chrome.asked)
    finally:
        end()
