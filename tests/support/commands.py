"""Commands as people type them, and the pages that they leave."""

from __future__ import annotations

import os
import subprocess
import sys
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


def on_a_terminal(*arguments: str | Path) -> tuple[subprocess.Popen[bytes], int]:
    """A command as somebody runs it at a terminal, and the terminal's other end: to read from, and to type into."""
    import pty  # where there is none, tests that need one do not run

    outer, inner = pty.openpty()
    run = subprocess.Popen(
        [sys.executable, "-c", "from toolpaths.cli import main; main()", *map(str, arguments)],
        stdin=inner, stdout=inner, stderr=inner, close_fds=True,
    )  # fmt: skip
    os.close(inner)
    return run, outer
