"""The answers that the pages for beginners show: each command is run, and the lines that the page asks for are taken.

python tests/docs/answers.py          writes the answers of all such pages anew; read the difference before you commit

A page says in comments, which no reader sees, what its blocks are:

    <!-- file: first_board.yaml -->               the yaml block below is that file
    <!-- above "stock:" in first_board.yaml -->   the yaml block below is put above the line that begins so
    <!-- answer: First board ..; About -->        the text block below is what the sh block above it answers:
                                                  here the paragraph that begins with a line that holds "First board",
                                                  then the next line that holds "About"; "A|B" is a line that
                                                  holds one of them; "all" is every line

Lines that are left out show as one line of "…".
"""

from __future__ import annotations

import os
import re
import shlex
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from typer.testing import CliRunner  # noqa: E402

from toolpaths.cli import app  # noqa: E402

PAGES = (ROOT / "docs" / "first-board.md", ROOT / "docs" / "first-neck.md")
CUT = "…"
WIDTH = "80"
_PART = re.compile(
    r"<!-- file: (?P<file>\S+) -->\n+```yaml\n(?P<job>.*?)^```$"
    r"|<!-- above \"(?P<place>.+?)\" in (?P<into>\S+) -->\n+```yaml\n(?P<added>.*?)^```$"
    r"|^```sh\n(?P<commands>.*?)^```$"
    r"|<!-- answer: (?P<wanted>.+?) -->\n+```text\n(?P<shown>.*?)^```$",
    re.M | re.S,
)


class Unanswered(Exception):
    """A command failed, or its answer has no line that the page asks for."""


@contextmanager
def in_folder() -> Iterator[Path]:
    """A new folder to work in, and a terminal of 80 columns."""
    before, columns = Path.cwd(), os.environ.get("COLUMNS")
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        os.environ["COLUMNS"] = WIDTH
        try:
            yield Path(folder)
        finally:
            os.chdir(before)
            if columns is None:
                del os.environ["COLUMNS"]
            else:
                os.environ["COLUMNS"] = columns


def answered(page: str, folder: Path) -> str:
    """The text of a page with every answer as the commands give it now, run one after the other in a folder.

    Raises Unanswered.
    """
    said: list[str] = []

    def one(part: re.Match[str]) -> str:
        nonlocal said
        if part["job"] is not None:
            (folder / part["file"]).write_text(part["job"], encoding="utf-8")
        elif part["added"] is not None:
            file = folder / part["into"]
            text = file.read_text(encoding="utf-8")
            if f"\n{part['place']}" not in text:
                raise Unanswered(f"{part['into']} has no line that begins with {part['place']!r}")
            new = text.replace(f"\n{part['place']}", f"\n{part['added'].rstrip()}\n\n{part['place']}", 1)
            file.write_text(new, encoding="utf-8")
        elif part["commands"] is not None:
            said = [line for command in _of_program(part["commands"]) for line in _run(command)]
        else:
            before = part.string[part.start() : part.start("shown")]
            return "".join([before, *(f"{line}\n" for line in excerpt(said, part["wanted"])), "```"])
        return part[0]

    return _PART.sub(one, page)


def excerpt(lines: list[str], wanted: str) -> list[str]:
    """The lines asked for, in the order of the answer. Raises Unanswered where one is not there."""
    if wanted == "all":
        return lines
    out: list[str] = []
    at = 0
    for item in wanted.split("; "):
        words = item.removesuffix(" ..").strip().split("|")
        first = next((i for i in range(at, len(lines)) if any(word in lines[i] for word in words)), None)
        if first is None:
            raise Unanswered(f"no line of the answer, after those before it, holds {' or '.join(map(repr, words))}")
        end = first + 1
        while item.endswith(" ..") and end < len(lines) and lines[end].strip():
            end += 1
        out += [*_left_out(lines[at:first]), *lines[first:end]]
        at = end
    out += _left_out(lines[at:])
    return out[out[0] == "" : len(out) - (out[-1] == "")]


def _left_out(lines: list[str]) -> list[str]:
    return [] if not lines else [CUT] if any(lines) else [""]


def _of_program(block: str) -> list[str]:
    return [line for line in block.splitlines() if line.startswith("neckpath ")]


def _run(command: str) -> list[str]:
    done = CliRunner().invoke(app, shlex.split(command)[1:])
    if done.exit_code:
        raise Unanswered(f"`{command}` ended with {done.exit_code}:\n{done.output}")
    return [line.rstrip() for line in done.output.splitlines()]


def all_answered() -> dict[Path, str]:
    """Every page with its answers as they are now: the pages follow one another in one folder. Raises Unanswered."""
    out = {}
    with in_folder() as folder:
        for path in PAGES:
            try:
                out[path] = answered(path.read_text(encoding="utf-8"), folder)
            except Unanswered as problem:
                raise Unanswered(f"{path.name}: {problem}") from None
    return out


if __name__ == "__main__":
    try:
        for path, text in all_answered().items():
            path.write_text(text, encoding="utf-8")
            print(path)
    except Unanswered as problem:
        sys.exit(str(problem))
