"""How these pages become a site:  python -m sphinx -W --keep-going -n docs out/site

A link, a place in a page or a picture that is not there stops it. Pages need no list: one that is in no group below
comes under "More" by itself.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent

project = "neckpath"
author = "the neckpath contributors"
extensions = ["myst_parser"]
root_doc = "index"
source_suffix = {".md": "markdown"}
myst_heading_anchors = 4
html_theme = "alabaster"
html_title = "neckpath"
html_show_sphinx = False
html_show_sourcelink = False
html_copy_source = False
html_static_path = ["look"]
html_css_files = ["site.css"]
html_sidebars = {"**": ["about.html", "searchbox.html", "navigation.html"]}
html_theme_options = {
    "description": "Necks and fretboards for a small router",
    "show_powered_by": False,
    "sidebar_collapse": True,
    "fixed_sidebar": False,
    "page_width": "66rem",
    "sidebar_width": "15rem",
    "font_family": "system-ui, 'DejaVu Sans', sans-serif",
    "code_font_family": "ui-monospace, 'DejaVu Sans Mono', monospace",
}
pygments_style = "friendly"
highlight_language = "none"

GROUPS: dict[str, tuple[str, ...]] = {
    "Begin": ("safety", "first-job", "first-board", "machine-setup", "questions"),
    "The job": ("job-file", "job-keys", "bits", "woods", "drawings", "fanned-frets", "two-sides", "holding", "jig"),
    "Features": ("features/*",),
    "At the machine and after": (
        "plan",
        "sheet",
        "handwork",
        "book",
        "sessions",
        "coupon",
        "gauge",
        "surface",
        "machine-file",
        "programs",
    ),
    "Look and compare": ("watch", "compare", "fit", "draw", "feeds"),
    "Once it runs": ("many-jobs", "completion", "python"),
    "What is proven": ("verification", "checks", "proof", "performance", "sources", "changes"),
}
"""Headings and the pages below them, in order; a name that has no page yet is passed over."""
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
    app.connect("source-read", _with_pages)


def _as_deep(page: str, name: str) -> bool:
    return page.count("/") == name.count("/")


def _with_pages(app: Any, name: str, source: list[str]) -> None:
    """The groups as lists of contents, in the place that the first page keeps for them."""
    if name == root_doc:
        lists = [
            "\n".join(["```{toctree}", ":maxdepth: 1", f":caption: {heading}", "", *pages, "```"])
            for heading, pages in pages_in_groups().items()
        ]
        source[0] = source[0].replace(_PLACE, "\n\n".join(lists))
