"""The script of the preview page, joined from the files in `viewer/`."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from toolpaths.reports.pages.template import raw

SCRIPTS = (
    "unpack",
    "words",
    "pen",
    "floors",
    "wanted",
    "sweeps",
    "path",
    "nearby",
    "mill",
    "cutting",
    "view",
    "relief",
    "ground",
    "marks",
    "moments",
    "section",
    "sawn",
    "legend",
    "strip",
    "fingers",
    "player",
    "work",
    "bench",
    "start",
)
"""In the order in which they are joined: none uses another before all are there, but the first begins strictly."""


@cache
def script() -> str:
    """All scripts as one, trusted."""
    folder = files("toolpaths.reports.preview") / "viewer"
    return raw("\n".join((folder / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS))
