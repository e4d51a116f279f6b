"""What the pages of `docs/` say of a finding or a word, so that page and command cannot differ.

`checks.md` has one section for each code of a finding, `glossary.md` one line for each word.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

CHECKS, GLOSSARY = "checks.md", "glossary.md"


@dataclass(frozen=True, slots=True)
class Word:
    """A word of the trade or of this program: its names, the first is the usual one, and what it means."""

    names: tuple[str, ...]
    meaning: str


def page_path(name: str) -> Path:
    """A page that is shipped: inside the package as installed, in `docs/` of a clone."""
    package = Path(__file__).resolve().parents[2]
    inside = package / "docs" / name
    return inside if inside.is_file() else package.parent / "docs" / name


@cache
def code_texts() -> dict[str, tuple[str, ...]]:
    """By code of a finding, the lines of its section of the page of checks, as plain text."""
    found: dict[str, tuple[str, ...]] = {}
    for part in re.split(r"^### ", page_path(CHECKS).read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]:
        heading, _, text = part.partition("\n")
        text = re.split(r"^#{1,2} ", text, flags=re.MULTILINE)[0]
        found[heading.strip().strip("`")] = tuple(_plain(line) for line in text.strip().splitlines())
    return found


@cache
def glossary() -> tuple[Word, ...]:
    """Every word of the glossary, in its order."""
    return tuple(_words(page_path(GLOSSARY).read_text(encoding="utf-8")))


# Private

_ENTRY = re.compile(r"- ((?:\*\*[^*]+\*\*(?:, )?)+): (.+)")
_LINK = re.compile(r"\[([^\]]*)\]\(([^)#]*)(?:#[^)]*)?\)")


def _words(text: str) -> Iterator[Word]:
    for line in text.splitlines():
        if found := _ENTRY.fullmatch(line.strip()):
            yield Word(tuple(re.findall(r"\*\*([^*]+)\*\*", found[1])), _plain(found[2]))


def _plain(line: str) -> str:
    """A line of a page for a terminal: links as their words with the page they lead to, no emphasis."""
    line = _LINK.sub(lambda link: f"{link[1]} (docs/{link[2]})" if link[2].endswith(".md") else link[1], line)
    return re.sub(r"(?<![\w*])\*{1,2}([^*]+)\*{1,2}(?![\w*])", r"\1", line).rstrip()
