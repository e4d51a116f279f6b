"""The parts of the preview page that are files of their own: its script, its style, and the bench's markup."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

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
    """All scripts as one."""
    return "\n".join(_text(f"{name}.js") for name in SCRIPTS)


@cache
def style() -> str:
    """The style of the page, beside that of all pages."""
    return _text("look.css")


@cache
def bench() -> str:
    """The markup of the map and its controls: nothing of a job stands in it."""
    return _text("bench.html")


def _text(name: str) -> str:
    return (files("toolpaths.reports.preview") / "viewer" / name).read_text(encoding="utf-8")
