"""The tutorial is true: its job is a job, and its commands answer what the page shows."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.support.made import made
from toolpaths.cli import app
from toolpaths.instrument.frets import fret_distances
from toolpaths.pipeline import run

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "first-board.md"
CUT = "…"


def _blocks() -> list[tuple[str, str]]:
    return re.findall(r"^```(\w+)\n(.*?)^```$", PAGE.read_text(encoding="utf-8"), re.M | re.S)


def _jobs() -> tuple[str, str]:
    """The job as first shown, and with the line that the page adds above `stock`."""
    first, added = [text for kind, text in _blocks() if kind == "yaml"]
    return first, first.replace("stock:", f"{added}\nstock:", 1)


def _commands() -> Iterator[tuple[int, str, list[str]]]:
    """(place in the page, command, lines shown of its answer)."""
    blocks = _blocks()
    for i, (kind, text) in enumerate(blocks):
        if kind == "sh":
            answer = blocks[i + 1] if i + 1 < len(blocks) else ("", "")
            yield i, text.strip(), answer[1].splitlines() if answer[0] == "text" else []


COMMANDS = list(_commands())
_CHANGED = next(i for i, (kind, text) in enumerate(_blocks()) if kind == "yaml" and text.startswith("by_hand"))


def _plain(line: str) -> str:
    return " ".join(line.split())


@pytest.mark.slow
@pytest.mark.parametrize(("place", "command", "shown"), COMMANDS, ids=[f"{i}: {c}" for i, c, _ in COMMANDS])
def test_a_command_answers_as_the_page_shows(
    place: int, command: str, shown: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "400")
    monkeypatch.setattr(run, "make", made)
    Path("first_board.yaml").write_text(_jobs()[place > _CHANGED], encoding="utf-8")
    name, *arguments = shlex.split(command)
    done = CliRunner().invoke(app, arguments)
    assert "neckpath" == name
    assert 0 == done.exit_code, done.output
    answer = [_plain(line) for line in done.output.splitlines()]
    assert shown, "every command of the page shows its answer"
    for line in shown:
        if line.strip() == CUT:
            continue
        pattern = re.compile(
            ".*".join(re.escape(_plain(part)) for part in line.split(CUT)) + ("" if CUT in line else "$")
        )
        while answer and not pattern.match(answer[0]):
            answer.pop(0)
        assert answer, f"not in the answer, or not in this order: {line}"


def test_the_page_shows_the_commands_that_a_first_board_needs() -> None:
    assert {"check", "compare", "frets", "write"} <= {shlex.split(command)[1] for _, command, _ in COMMANDS}


def test_the_job_of_the_page_is_the_job_of_its_picture() -> None:
    pictured = (ROOT / "docs" / "pictures" / "first_board.yaml").read_text(encoding="utf-8")
    without_remark = "".join(line for line in pictured.splitlines(keepends=True) if not line.startswith("#"))
    assert [line for line in _jobs()[1].splitlines() if line] == [line for line in without_remark.splitlines() if line]


def test_the_figures_for_the_hands_are_right() -> None:
    page = PAGE.read_text(encoding="utf-8")
    # Sagitta R - sqrt(R^2 - (w/2)^2) (a circle's, Euclid III.3 with Pythagoras) at the nut, 36 mm wide, and at fret 19.
    far = 36 + 8 / 292.0 * float(fret_distances(584, 19)[-1])
    nut, end = (305 - (305**2 - (w / 2) ** 2) ** 0.5 for w in (36, far))
    assert f"{nut:.2f} mm off the edges, at the far end {end:.2f} mm" in page
    # The saw's stop: 2 mm and the sagitta at that fret.
    for fret in (1, 12, 19):
        width = 36 + 8 / 292.0 * float(fret_distances(584, fret)[-1])
        assert f"{2 + 305 - (305**2 - (width / 2) ** 2) ** 0.5:.2f}" in page
