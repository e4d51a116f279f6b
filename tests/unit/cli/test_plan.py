"""`neckpath plan`: one page and one table for all jobs of an instrument; what cannot be planned leaves nothing."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest
from typer.testing import Result

from tests.support.commands import Page, typed
from tests.support.jig_jobs import JigJobs
from tests.support.paired_jobs import pair


def run(*arguments: str | Path) -> Result:
    return typed("plan", "--pitch", "1", *arguments)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_board_and_a_neck_become_one_page(here: Path) -> None:
    result = run(*pair(here))
    assert result.exit_code in (0, 1), result.output
    assert "Written: out/plan/plan.html" in result.stdout
    for words in ("To buy", "Ready before the machine is booked", "Bookings of the machine", "Booking 1", "By hand"):
        assert words in result.stdout
    page = (here / "out" / "plan" / "plan.html").read_text(encoding="utf-8")
    assert "Board of the pair; Neck of the pair" in Page(page).said
    assert [p.name for p in (here / "out" / "plan").iterdir()] == ["plan.html"]


def test_any_order_of_the_files_gives_the_same_bytes(here: Path) -> None:
    files = JigJobs().write(here)
    told: set[tuple[int, bytes, str]] = set()
    for k, order in enumerate(permutations(files.values())):
        result = run(*order, "-o", here / f"plan{k}")
        page = (here / f"plan{k}" / "plan.html").read_bytes()
        told.add((result.exit_code, page, result.stdout.replace(f"plan{k}", "plan")))
    assert len(told) == 1


@pytest.mark.made_anew
def test_made_anew_it_is_the_same(here: Path) -> None:
    board, _ = pair(here)
    for name in ("one", "two"):
        run(board, "-o", here / name)
    assert (here / "one" / "plan.html").read_bytes() == (here / "two" / "plan.html").read_bytes()


def test_a_stop_is_planned_and_told_and_ends_with_1(here: Path) -> None:
    # A blank shorter than the board: `stock-too-small`, as with `check`.
    board, _ = pair(here, board={"length: 480": "length: 400"})
    result = run(board)
    assert result.exit_code == 1
    assert result.stdout.index("may not be cut") < result.stdout.index("To buy")
    assert "stop stock-too-small" in result.stdout
    assert "neckpath check board.yaml" in " ".join(result.stdout.split())
    assert "may not be cut" in (here / "out" / "plan" / "plan.html").read_text(encoding="utf-8")
