"""`neckpath book`: one page for all jobs of an instrument, with what was found; what cannot be made leaves nothing."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest
from typer.testing import Result

from tests.support.commands import Page, typed
from tests.support.paired_jobs import pair
from toolpaths.reports.output import write_set
from toolpaths.reports.pictures.depth_picture import DepthPicture
from toolpaths.verification.outcome import Outcome


def run(*arguments: str | Path) -> Result:
    return typed("book", "--pitch", "1", *arguments)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Path:
    """A folder to work in. Pictures take long to draw: only the test that asks for the same bytes twice draws them."""
    monkeypatch.chdir(tmp_path)
    if request.node.get_closest_marker("made_anew") is None:
        monkeypatch.setattr(write_set, "drawn", drawn)
    return tmp_path


def drawn(outcome: Outcome) -> dict[str, DepthPicture]:
    """Pictures without anything on them."""
    none = DepthPicture(b"", (0, 0, 1, 1), (0.0, 0.0, 1.0, 1.0), (1, 1))
    return {setup.context.setup.name: none for setup in outcome.setups}


def test_a_board_and_a_neck_become_one_page(here: Path) -> None:
    result = run(*pair(here))
    assert result.exit_code in (0, 1), result.output
    assert "Written: out/book/book.html" in result.stdout
    assert "board: 0 of " in result.stdout
    said = Page((here / "out" / "book" / "book.html").read_text(encoding="utf-8")).said
    assert "Board of the pair; Neck of the pair" in said
    assert said.index("The board:") < said.index("The neck:")
    assert [p.name for p in (here / "out" / "book").iterdir()] == ["book.html"]


def test_any_order_of_the_files_gives_the_same_bytes(here: Path) -> None:
    told: set[tuple[int, bytes, str]] = set()
    for k, order in enumerate(permutations(pair(here))):
        result = run(*order, "-o", here / f"book{k}")
        page = (here / f"book{k}" / "book.html").read_bytes()
        told.add((result.exit_code, page, result.stdout.replace(f"book{k}", "book")))
    assert len(told) == 1


@pytest.mark.slow
@pytest.mark.made_anew
def test_made_anew_it_is_the_same(here: Path) -> None:
    board, _ = pair(here)
    for name in ("one", "two"):
        run(board, "-o", here / name)
    assert b"data:image/png;base64,iVBORw0KGgo" in (here / "one" / "book.html").read_bytes()
    assert (here / "one" / "book.html").read_bytes() == (here / "two" / "book.html").read_bytes()


def test_what_was_found_is_in_it(here: Path) -> None:
    board, _ = pair(here)
    # The blank is 8 mm thick; the face is planed to 6. Six places of the blank, then four corners of the face.
    places = {**dict.fromkeys(range(1, 7), "8"), 7: "5.94", 8: "5.95", 9: "5.93", 10: "5.945"}
    kept = typed("found", board, *(word for m, v in places.items() for word in ("--set", f"M{m}={v}")))
    assert kept.exit_code == 0, kept.output
    result = run(board)
    assert "board: 10 of " in result.stdout
    assert "1 of 4 programs cut" in result.stdout
    said = Page((here / "out" / "book" / "book.html").read_text(encoding="utf-8")).said
    assert "5.945 mm" in said
    assert "Programs cut already, as far as the measured values say: 1 of 4." in said
    assert "Corrected in later programs" in said


def test_a_stop_is_told_and_ends_with_1(here: Path) -> None:
    # The first pin of the pair's board lies too near to the edge: `wood-between`, as with `check`.
    result = run(pair(here)[0])
    assert result.exit_code == 1
    assert "board.yaml may not be cut" in result.stdout
    said = Page((here / "out" / "book" / "book.html").read_text(encoding="utf-8")).said
    assert "Must not be cut wood-between of pin_bores: pin 1 is too close to the part's edge" in said
    assert "1.77 mm; least 2.00 mm" in said
    assert "Accepted despite a stop" not in said


def test_what_is_accepted_by_name_is_told_as_such(here: Path) -> None:
    result = run(pair(here)[0], "--accept", "wood-between@pin_bores")
    assert result.exit_code == 0
    said = Page((here / "out" / "book" / "book.html").read_text(encoding="utf-8")).said
    assert "Must not be cut" not in said
    assert "Accepted despite a stop wood-between of pin_bores: pin 1 is too close to the part's edge" in said


def test_a_code_that_there_is_not_is_refused(here: Path) -> None:
    result = run(pair(here)[0], "--accept", "no-such-code@plane")
    assert result.exit_code == 2
    assert not (here / "out").exists()


def test_a_value_that_cannot_be_true_is_told_at_its_place(here: Path) -> None:
    board, _ = pair(here)
    assert typed("found", board, "--set", "M1=8").exit_code == 0
    kept = here / "board.found.yaml"
    kept.write_text(kept.read_text(encoding="utf-8").replace("M1: 8 ", "M1: 18 "), encoding="utf-8")
    result = run(board)
    assert result.exit_code == 2
    assert "board.found.yaml:" in result.stderr
    assert not (here / "out").exists()
