"""How wide a command prints: as the terminal, as COLUMNS says, or 100 where the output goes into a file."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.commands import typed

BAD = "units: mm\nmachine: bench-router\npart: bored\n"


def widest(*arguments: str | Path) -> int:
    return max(len(line) for line in typed(*arguments).output.splitlines())


@pytest.mark.parametrize("columns", [60, 80, 132])
def test_it_obeys_columns(columns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    assert columns - 30 <= widest("machines") <= columns


def test_into_a_file_it_is_at_most_100_wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS")
    assert 80 < widest("machines") <= 100


@pytest.mark.parametrize("columns", ["0", "-3", "many", "12"])
def test_a_width_that_is_none_is_not_obeyed(columns: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert "hard maple" in typed("woods").output


def test_a_line_of_a_file_and_the_mark_below_it_stay_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    job = tmp_path / "job.yaml"
    job.write_text(f"{BAD}title: {'a long name of a part ' * 6}\nwrong: 1\n", encoding="utf-8")
    result = typed("check", job)
    assert 2 == result.exit_code
    lines = result.output.splitlines()
    marks = [k for k, line in enumerate(lines) if line.strip() == "^"]
    assert marks
    for k in marks:
        assert lines[k - 1].strip() in job.read_text(encoding="utf-8")
