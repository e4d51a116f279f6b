"""The map in a terminal: lines, pockets and the kerf where they belong, in colours or characters."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from toolpaths.core.outcome import Changes, Outcome
from toolpaths.pipeline import make
from toolpaths.reports.terminal_map import terminal_map

DEMO = Path(__file__).parents[3] / "demo_jobs" / "tenor_board.yaml"


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    return make(DEMO, Changes(pitch=0.3))


def test_in_characters_depths_stand_where_they_were_cut(outcome: Outcome) -> None:
    lines = list(terminal_map(outcome, 120, colour=False))
    assert all(len(line) <= 130 for line in lines[:-3])
    rows = [line.ljust(120) for line in lines[2:] if line.strip() and not line.startswith(("'", "Setup"))]
    # The blank is 480 long and begins 30 before the nut: 4 mm a column. Fret 12 lies at 292, column 80.
    middle = rows[len(rows) // 2]
    assert "-" == rows[3][80]
    assert "#" == middle[(30 - 4) // 4]
    assert " " == middle[82]
    # The pockets at fret 3, midway between 63.7 and 92.9, 1.8 deep.
    assert "+" in middle[(30 + 76) // 4 : (30 + 82) // 4]


def test_fret_numbers_stand_over_their_lines(outcome: Outcome) -> None:
    numbers = list(terminal_map(outcome, 120, colour=False))[1]
    assert (30 + 292) // 4 == numbers.index("12")


def test_in_colour_every_line_is_as_wide_as_it_is_asked_to_be(outcome: Outcome) -> None:
    lines = [line for line in terminal_map(outcome, 90, colour=True) if "▀" in line]
    assert all(90 == line.count("▀") for line in lines)
    colours = set(re.findall(r"38;2;(\d+;\d+;\d+)", "".join(lines)))
    # The face, the lines, the pockets, what is cut through, and tabs.
    assert 4 <= len(colours) <= 12
    assert "128;128;128" in colours


def test_the_legend_is_in_the_units_of_the_job(outcome: Outcome) -> None:
    text = "\n".join(terminal_map(outcome, 90, colour=False))
    assert "'@' to 6.00 mm" in text
    assert "'#' cut through" in text


@pytest.mark.parametrize("columns", [1, 30, 500])
def test_it_is_never_too_narrow_nor_too_wide(outcome: Outcome, columns: int) -> None:
    lines = [line for line in terminal_map(outcome, columns, colour=True) if "▀" in line]
    assert max(30, min(columns, 160)) == lines[0].count("▀")
