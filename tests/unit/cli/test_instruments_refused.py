"""`plan` and `book` take the jobs of one instrument: what they cannot take is told, and leaves nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import Result

from tests.support.commands import typed
from tests.support.paired_jobs import pair

pytestmark = pytest.mark.parametrize("command", ["plan", "book"])


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(command: str, *jobs: Path) -> Result:
    return typed(command, "--pitch", "1", *jobs)


def test_jobs_of_two_instruments_are_refused_at_their_place(here: Path, command: str) -> None:
    board, neck = pair(here, board={"584": "600"})
    result = run(command, board, neck)
    assert result.exit_code == 2
    assert "board.yaml:" in result.stderr
    assert "`scale_length`" in result.stderr
    assert not (here / "out").exists()


def test_every_faulty_file_is_told_and_nothing_is_written(here: Path, command: str) -> None:
    board, neck = pair(here, board={"wood: hard maple": "wood: cheese"}, neck={"depth: 24": "depth: deep"})
    result = run(command, board, neck)
    assert result.exit_code == 2
    assert "no wood is called `cheese`" in result.stderr
    assert "neck.yaml:" in result.stderr
    assert not (here / "out").exists()


def test_a_file_that_is_not_there_is_told(here: Path, command: str) -> None:
    result = run(command, here / "none.yaml")
    assert result.exit_code == 2
    assert "none.yaml" in result.stderr


def test_nothing_is_written_through_a_link(here: Path, command: str) -> None:
    (here / "elsewhere").mkdir()
    (here / "out").symlink_to(here / "elsewhere")
    assert run(command, pair(here)[0]).exit_code == 2
    assert list((here / "elsewhere").iterdir()) == []
