"""The guide for contributors names what is there: its files, its folders, and no room too many or too large."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "toolpaths"
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
MOST_MODULES, MOST_LINES = 22, 320
NAMED = sorted(
    {
        p
        for p in re.findall(r"`([a-z_./]+/[a-z_./]*)`", GUIDE)
        if "<" not in p and not p.startswith(("out/", "docs out"))
    }
)
FOLDERS = sorted(d for d in PACKAGE.rglob("*") if d.is_dir() and any(d.glob("*.py")))


@pytest.mark.parametrize("path", NAMED)
def test_what_the_guide_names_is_there(path: str) -> None:
    assert any((place / path).exists() for place in (ROOT, PACKAGE, PACKAGE / "verification", ROOT / "tests")) or any(
        d.is_dir() for d in PACKAGE.rglob(path.rstrip("/"))
    )


def test_its_table_holds_every_room_once() -> None:
    table = GUIDE[GUIDE.index("`ls toolpaths/`") : GUIDE.index("Beside it:")]
    first = [c for row in re.findall(r"^\| (.+?) \|", table, re.M) for c in re.findall(r"`([a-z_]+)/`", row)]
    assert len(first) == len(set(first))
    rooms = {d.name for d in PACKAGE.iterdir() if d.is_dir() and any(d.glob("*.py"))}
    assert rooms <= set(first)
    words = set(re.findall(r"`([a-z_]+)/?`", table))
    assert {d.name for d in FOLDERS} <= words


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda d: str(d.relative_to(PACKAGE)))
def test_a_room_says_what_it_is_and_is_not_too_large(folder: Path) -> None:
    modules = [p for p in folder.glob("*.py") if p.name != "__init__.py"]
    assert len(modules) <= MOST_MODULES
    first = (folder / "__init__.py").read_text(encoding="utf-8").lstrip()
    assert first.startswith('"""')


@pytest.mark.parametrize("module", sorted(PACKAGE.rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_is_not_too_long(module: Path) -> None:
    assert len(module.read_text(encoding="utf-8").splitlines()) <= MOST_LINES
