"""What the sheet says at the machine: the blank, zero and its test, measures, bits, and what to do after a stop."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.text.at_machine import bits_said, zero_steps
from toolpaths.reports.text.measuring import measures_table
from toolpaths.verification.outcome import Outcome

ROOT = Path(__file__).parents[4]
COARSE = Changes(pitch=0.5)


@pytest.fixture(scope="module")
def board() -> Outcome:
    return make(ROOT / "demo_jobs" / "tenor_board.yaml", COARSE)


@pytest.fixture(scope="module")
def inches() -> Outcome:
    return make(ROOT / "demo_jobs" / "parlour_board_inch.yaml", COARSE)


def test_the_nut_s_corner_is_a_place_to_test_zero_by(board: Outcome) -> None:
    words = " ".join(zero_steps(board, board.setups[0]))
    # 36 wide at the nut; zero on the nut line and the centreline; travel 8.1 + 5 above the bed.
    assert "lift to Z 13.10 mm, go to X 0.00 mm Y -18.00 mm" in words
    assert "corner on your left lies at X -30.00 mm Y -32.00 mm, that on your right at X 450.00 mm Y -32.00 mm" in words


def test_it_is_told_in_the_machine_s_units_from_the_program_s_zero(inches: Outcome) -> None:
    words = " ".join(zero_steps(inches, inches.setups[0]))
    # Zero at the stock's left front corner; the nut 0.75 in from it, 1 3/4 wide about 1.5 in: its corner at 0.625.
    assert "go to X 0.750 in Y 0.625 in" in words
    assert "corner on your left lies at X 0.000 in Y 0.000 in, that on your right at X 18.000 in Y 0.000 in" in words
    assert "touch it with the side of the bit" in words


def test_measures_are_the_job_s_figures(board: Outcome) -> None:
    rows = [row[1:4] for row in measures_table(board, board.setups[0]).rows]
    ends = [f"{end} end, {edge}" for end in ("left", "right") for edge in ("edge on your side", "far edge")]
    corners = "; ".join(ends)
    # How far each may be off: common practice, no source.
    assert ("1", f"planed face above the bed: {corners}", "6.00 mm ± 0.10") in rows
    assert ("2", "from the edge of line 1 to the same edge of line 19, on the centreline", "356.34 mm ± 0.10") in rows
    assert ("2", "line 12: width in the flat face, on the centreline", "0.47 to 0.55 mm") in rows
    assert ("3", "marker at fret 3 and 8 more like it: diameter", "6.00 to 6.10 mm") in rows
    # A tenth, and 0.0045 mm on each side: 60 N/mm2 of a skim of 0.25 x 6.2 mm by 6.35 mm, 2520 mm/min, 18,000 rpm are
    # 0.65 N, on 150 N/mm 0.0044 mm; and the bit bends by hardly anything.
    assert ("5", "width of the part at the nut", "36.00 mm ± 0.11") in rows
    assert ("before 1", "7.80 to 8.10 mm") in [(when, wanted) for when, _, wanted in rows]
    after = [int(row[0].removeprefix("before ")) for row in rows]
    assert after == sorted(after)


def test_the_blank_has_this_job_s_numbers(board: Outcome) -> None:
    words = sheet(board)
    assert "7.80 mm at the thinnest and 8.10 mm at the thickest" in words
    assert "Setup face planes the blank to 6.00 mm: 1.80 mm to 2.10 mm come off" in words


def test_bits_are_cautioned_about_once_each(board: Outcome) -> None:
    words = bits_said(board, board.setups[0])
    assert len(words) == len(set(words))
    assert any(w.startswith("scorer is fragile: do not raise the feed") for w in words)
    assert any(w.startswith("planer does not cut at its middle") for w in words)


def test_after_a_stop_the_way_on_is_named(board: Outcome) -> None:
    assert "<code>neckpath write tenor_board.yaml --from" in sheet(board)
    assert "This set begins with" not in sheet(board)


def test_a_set_that_goes_on_says_with_what(board: Outcome) -> None:
    words = sheet(replace(board, changes=replace(board.changes, start="score_lines: fret 12")))
    assert "This set begins with <strong>score_lines: fret 12</strong>" in words
