"""No text tells anybody to blow chips or dust about: `docs/safety.md` says why."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TEXTS = sorted([*(ROOT / "docs").rglob("*.md"), *(ROOT / "toolpaths").rglob("*.py"), ROOT / "README.md"])
_BLOW = re.compile(r"\b(blow(?!s?\s+(?:a\s+)?fuse)\w*|blown|compressed air)", re.IGNORECASE)
_NEVER = re.compile(r"never (?:with |by )?compressed air", re.IGNORECASE)


@pytest.mark.parametrize("path", TEXTS, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_text_says_to_blow_chips_out(path: Path) -> None:
    said = _NEVER.sub("", path.read_text(encoding="utf-8"))
    assert [] == [f"{path.name}: {m[0]}" for m in _BLOW.finditer(said)]


def test_the_one_page_that_forbids_it_says_so() -> None:
    assert _NEVER.search((ROOT / "docs" / "safety.md").read_text(encoding="utf-8"))
