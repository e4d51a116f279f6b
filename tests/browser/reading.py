"""How a page of an instrument is read and printed: on several widths, in the dark, on A4 and Letter."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pdfplumber

from tests.browser.chrome import Browser

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "out" / "pages"
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
SETS = {
    "tenor": ("tenor_jig", "tenor_board_on_jig", "tenor_neck_on_jig"),
    "inlaid": ("inlaid_board",),
    "inch": ("parlour_board_inch",),
}
"""Demos of one instrument each."""
MARGIN = 33
"""Points; the pages ask for 12 mm (34 points)."""
WIDTHS = ((390, False), (900, True), (1400, False))
"""Widths in pixels, and whether it is dark."""
_CUT = """
[...document.querySelectorAll('%s')].filter(e => {
  const box = e.getBoundingClientRect(), frame = e.closest('.scroll')?.getBoundingClientRect();
  return box.width > 0 && (box.left < -1 || (!frame && box.right > innerWidth + 1) || e.scrollWidth > e.clientWidth + 1
    && getComputedStyle(e).display !== 'inline');
}).map(e => e.textContent.slice(0, 60))
"""
"""What goes out of the window, or out of its own box; what is in a frame that scrolls may be wider than the window."""
_TORN = """
[...document.querySelectorAll('%s')].filter(e => {
  const range = document.createRange(), walk = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) for (const word of node.data.matchAll(/[^\\s-]+/g)) {
    range.setStart(node, word.index); range.setEnd(node, word.index + word[0].length);
    if (new Set([...range.getClientRects()].map(r => Math.round(r.top))).size > 1) return true;
  }
  return false;
}).map(e => e.textContent.slice(0, 60))
"""
"""What has a word on two lines."""


def must_read(chrome: Browser, file: Path, picture: str, width: int, dark: bool, whole: str, unbroken: str) -> None:
    """Open a page, keep a picture of it, and look: nothing is cut off, nothing is fetched, ink stands out from paper.

    `whole`: selectors of what must lie within the window; `unbroken`: of what must keep its words on one line.
    """
    chrome.size(width, 900, phone=width < 500, dark=dark)
    chrome.open(file, ready="true")
    chrome.picture(PICTURES / f"{picture}-{width}.png", whole=True)
    assert chrome.run("document.documentElement.scrollWidth") <= width
    assert chrome.run(_CUT % whole) == []
    assert chrome.run(_TORN % unbroken) == []
    assert chrome.errors == []
    assert [url for url in chrome.asked if not url.startswith(("file:", "data:"))] == []
    ink, paper = chrome.run("(s => [s.color, s.backgroundColor])(getComputedStyle(document.body))")
    assert (_light(paper) < 60) == dark
    assert abs(_light(ink) - _light(paper)) > 120


@contextmanager
def printed(chrome: Browser, file: Path, paper: str, name: str) -> Iterator[pdfplumber.PDF]:
    """A page as it prints on a paper; the print stays in the folder of pictures under that name."""
    width, height = PAPERS[paper]
    chrome.open(file, ready="true")
    data = chrome.pdf(paperWidth=width, paperHeight=height, printBackground=True, preferCSSPageSize=False)
    PICTURES.mkdir(parents=True, exist_ok=True)
    (PICTURES / f"{name}-{paper}.pdf").write_bytes(data)
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        yield pdf


def _light(colour: str) -> float:
    red, green, blue = (float(n) for n in re.findall(r"[\d.]+", colour)[:3])
    return 0.299 * red + 0.587 * green + 0.114 * blue
