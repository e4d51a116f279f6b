"""Commands as people type them, and the pages that they leave."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path

from typer.testing import CliRunner, Result

from toolpaths.cli import app


def typed(*arguments: str | Path) -> Result:
    """What a command comes to; one that breaks in the midst, or shows where in the code it did, fails the test."""
    result = CliRunner().invoke(app, [str(a) for a in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


class Page(HTMLParser):
    """The words of a page, parted by single spaces, and what it would fetch."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.said = ""
        self.fetched: list[str] = []
        self.feed(text)

    def handle_data(self, data: str) -> None:
        self.said = " ".join([*self.said.split(), *data.split()])

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.fetched += [v or "" for k, v in attrs if k in ("src", "href")]
