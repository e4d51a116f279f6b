"""How these pages become a site:  python -m sphinx -W --keep-going -n docs out/site

A link, a place in a page or a picture that is not there stops it. Pages need no list: one that is in no group below
comes under "More" by itself.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
_VERSION = HERE.parent / "toolpaths" / "common" / "version.py"
sys.path.insert(0, str(HERE / "look"))

from markup import Translator, page_context  # noqa: E402

project = "neckpath"
author = "the neckpath contributors"
extensions = ["myst_parser"]
root_doc = "index"
source_suffix = {".md": "markdown"}
myst_heading_anchors = 4
html_theme = "look"
html_theme_path = [str(HERE)]
html_title = "neckpath"
release = re.search(r'__version__ = "(.+)"', _VERSION.read_text(encoding="utf-8"))[1] if _VERSION.is_file() else ""
html_copy_source = False
html_use_index = False
html_js_files = ["site.js"]
html_permalinks_icon = "#"
highlight_language = "none"

GROUPS: dict[str, tuple[str, ...]] = {
    "First board and neck": ("safety", "first-board", "first-neck", "at-the-machine", "by-hand"),
    "Begin": ("first-job", "machine-setup", "machine-file", "bits", "woods", "questions", "glossary"),
    "The job": ("job-file", "job-keys", "drawings", "fanned-frets", "two-sides", "long-blanks", "holding", "jig"),
    "Features": ("features/*",),
    "Look": ("checks", "preview", "feeds", "compare", "fit", "draw", "plan"),
    "Write": ("programs", "sessions", "many-jobs", "watch"),
    "At the machine": ("sheet", "surface", "gauge", "coupon", "found"),
    "After": ("handwork", "book"),
    "How it is proven": ("verification", "proof", "performance", "sources"),
    "Other": ("completion", "python", "changes"),
}
"""Headings and the pages below them, in the order of work; a name that has no page yet is passed over."""
_PLACE = "<!-- all pages -->"


def pages_in_groups(folder: Path = HERE) -> dict[str, list[str]]:
    """Every page under one heading, the rest under "More"."""
    left = sorted(p.relative_to(folder).with_suffix("").as_posix() for p in folder.rglob("*.md"))
    left.remove(root_doc)
    out: dict[str, list[str]] = {}
    for heading, names in GROUPS.items():
        out[heading] = [page for name in names for page in left if Path(page).match(name) and _as_deep(page, name)]
        left = [page for page in left if page not in out[heading]]
    out["More"] = left
    return {heading: pages for heading, pages in out.items() if pages}


def setup(app: Any) -> None:
    app.set_translator("html", Translator, override=True)
    app.connect("source-read", _with_pages)
    app.connect("html-page-context", _with_groups)


def _as_deep(page: str, name: str) -> bool:
    return page.count("/") == name.count("/")


def _with_pages(app: Any, name: str, source: list[str]) -> None:
    """The groups as lists of contents, in the place that the first page keeps for them.

    The words of that page link the first group themselves: of that there is no second list.
    """
    if name == root_doc:
        groups = list(pages_in_groups(Path(app.srcdir)).items())
        lists = [
            "\n".join([*head, "```{toctree}", ":maxdepth: 1", *hidden, "", *pages, "```"])
            for i, (heading, pages) in enumerate(groups)
            for head, hidden in [([f"## {heading}", ""], []) if i else ([], [":hidden:"])]
        ]
        source[0] = source[0].replace(_PLACE, "\n\n".join(lists))


def _with_groups(app: Any, name: str, template: str, context: dict[str, Any], doctree: Any) -> None:
    page_context(pages_in_groups(Path(app.srcdir)), app, name, context)
