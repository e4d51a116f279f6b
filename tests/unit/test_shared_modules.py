"""What those who make a program and those who judge it have in common is written down, module by module.

Found from the imports of all modules, at any depth; `docs/verification.md` has the list.
"""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "toolpaths"
PAGE = (ROOT / "docs" / "verification.md").read_text(encoding="utf-8")
MAKE = ("features.", "toolpath.", "gcode.writer.")
READ = ("gcode.reader.",)
JUDGE = (*READ, "simulation.", "verification.", "pipeline.judge")


@cache
def imports() -> dict[str, frozenset[str]]:
    """Modules of the package that each imports itself, by their names without the package's."""
    names = {
        path.relative_to(PACKAGE).with_suffix("").as_posix().replace("/", ".").removesuffix(".__init__"): path
        for path in PACKAGE.rglob("*.py")
    }
    out = {}
    for name, path in names.items():
        found: set[str] = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("toolpaths"):
                whole = node.module.removeprefix("toolpaths").removeprefix(".")
                found |= {f"{whole}.{a.name}" if f"{whole}.{a.name}" in names else whole for a in node.names}
        out[name] = frozenset(found & set(names))
    return out


def reached(starts: tuple[str, ...]) -> set[str]:
    """Everything that modules beginning so import, at any depth."""
    todo = [m for m in imports() if m.startswith(starts)]
    seen: set[str] = set()
    while todo:
        module = todo.pop()
        if module not in seen:
            seen.add(module)
            todo += imports()[module]
    return seen


def listed(marker: str) -> set[str]:
    """The modules that the page names between two marks."""
    found = re.search(rf"<!-- {marker} -->\n(.*?)<!-- end of {marker} -->", PAGE, re.S)
    assert found
    return set(re.findall(r"`([a-z_.]+)`", found[1]))


def modules(names: set[str]) -> set[str]:
    """Without the rooms themselves, whose first files hold one sentence."""
    return {n for n in names if n and not (PACKAGE / n.replace(".", "/")).is_dir()}


def test_what_makes_and_what_judges_share_just_what_the_page_lists() -> None:
    assert listed("shared") == modules(reached(MAKE) & reached(JUDGE))


def test_the_reader_uses_nothing_that_builds_a_program() -> None:
    assert listed("reader") == modules({m for m in reached(READ) if not m.startswith(READ)})
