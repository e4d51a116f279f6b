"""The table of checks, the files in the folder, the codes and the page about them say the same."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import toolpaths.verification.checks
from toolpaths.verification.checks import CHECKS
from toolpaths.verification.finding import NEVER_ACCEPTED, SEVERITY, Severity

FOLDER = Path(toolpaths.verification.checks.__file__).parent
PAGE = (Path(__file__).parents[4] / "docs" / "checks.md").read_text()
TOLD_BEFORE = {"unreadable"}
"""Codes that the reader's refusal gives, before any check is asked."""


def test_every_file_of_the_folder_is_in_the_table_under_its_name() -> None:
    assert {p.stem for p in FOLDER.glob("*/*.py")} - {"__init__"} == set(CHECKS)
    assert list(CHECKS) == [check.__module__.rsplit(".", 1)[1] for check in CHECKS.values()]


def test_every_code_is_told_by_some_check() -> None:
    source = "".join(p.read_text() for p in FOLDER.glob("*/*.py"))
    assert set() == {code for code in SEVERITY if f'"{code}"' not in source} - TOLD_BEFORE


def entries() -> dict[str, str]:
    parts = re.split(r"^### (.+)$", PAGE, flags=re.MULTILINE)[1:]
    return dict(zip(parts[::2], parts[1::2], strict=True))


def test_the_page_has_an_entry_for_every_code_and_no_other() -> None:
    assert set(SEVERITY) == set(entries())


@pytest.mark.parametrize("code", SEVERITY)
def test_an_entry_begins_with_its_weight_and_says_what_is_never_accepted(code: str) -> None:
    first = entries()[code].strip().splitlines()[0]
    weight = {Severity.stop: "Stop", Severity.warn: "Warn", Severity.note: "Note"}[SEVERITY[code]]
    assert first.startswith(weight)
    assert (code in NEVER_ACCEPTED) == ("never accepted" in first)
