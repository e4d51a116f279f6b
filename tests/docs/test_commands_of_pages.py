"""Every command that a page shows is one of the program's, with options that it takes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.main import get_command

from toolpaths.cli import app

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
COMMANDS = get_command(app).commands  # type: ignore[attr-defined]


def _shown(page: Path) -> list[str]:
    """The lines of a page's sh blocks, and what stands between single backticks, that begin with the program."""
    text = page.read_text(encoding="utf-8")
    blocks = [line for block in re.findall(r"^```sh\n(.*?)^```$", text, re.M | re.S) for line in block.splitlines()]
    words = re.findall(r"`(neckpath [^`\n]+)`", text)
    lines = [line.strip().removeprefix(".venv/bin/") for line in [*blocks, *words]]
    return [line for line in lines if line.startswith("neckpath ")]


SHOWN = [(page.name, line) for page in PAGES for line in _shown(page)]


def test_there_are_commands_to_look_at() -> None:
    assert 50 < len(SHOWN)


@pytest.mark.parametrize(("page", "line"), SHOWN, ids=[f"{page}: {line}" for page, line in SHOWN])
def test_a_command_of_a_page_is_one_of_the_program_s(page: str, line: str) -> None:
    _, name, *rest = line.split()
    if name.startswith("-"):
        return
    assert name in COMMANDS
    takes = {option for parameter in COMMANDS[name].params for option in parameter.opts}
    assert set() == {word.split("=")[0] for word in rest if word.startswith("-")} - takes
