"""The script of the preview page, joined from the files in `viewer/`."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from toolpaths.reports.pages.template import raw

SCRIPTS = (
    "unpack",
    "words",
    "pen",
    "holders",
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
    "paper",
    "work",
    "bench",
    "start",
)
"""In the order in which they are joined: none uses another before all are there, but the first begins strictly."""

_INDENTS = re.compile(r"^[ \t]+", re.MULTILINE)
_COMMENTS = re.compile(r"^(?://[^\n]*|/\*\*(?:[^*]|\*(?!/))*\*/)\n", re.MULTILINE)
"""Comments that begin a line; no text of the scripts has more than one line."""


@cache
def script() -> str:
    """All scripts as one, trusted, without their indents and comments: a third of what a page would carry of them."""
    folder = files("toolpaths.reports.preview") / "viewer"
    whole = "\n".join((folder / f"{name}.js").read_text(encoding="utf-8") for name in SCRIPTS)
    return raw(_COMMENTS.sub("", _INDENTS.sub("", whole)))
