"""No text of the repo holds the marks that a merge leaves where two sides were never made one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KINDS = {".md", ".py", ".yaml", ".toml", ".html", ".css", ".js", ".svg", ".txt", ".nc", ""}
LEFT_OUT = {".git", ".venv", "out", "build"}
MARK = re.compile(r"^(<{7}|>{7}|\|{7}) .*|^={7}$", re.M)
TEXTS = sorted(
    path
    for top in ROOT.iterdir()
    if top.name not in LEFT_OUT
    for path in ([top] if top.is_file() else top.rglob("*"))
    if path.is_file() and path.suffix in KINDS and "__pycache__" not in path.parts
)


def test_no_text_was_left_half_merged() -> None:
    assert len(TEXTS) > 800
    assert [p for p in TEXTS if MARK.search(p.read_text(encoding="utf-8", errors="replace"))] == []


@pytest.mark.parametrize("line", ["<<<<<<< here", "=======", ">>>>>>> there", "||||||| before"])
def test_a_mark_is_found(line: str) -> None:
    assert MARK.search(f"one\n{line}\ntwo\n")
