"""What the sheet says at the machine: the blank, zero and its test, measures, bits, and what to do after a stop."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.made import made as make
from toolpaths.job.changes import Changes
from toolpaths.reports.pages.sheet import sheet
from toolpaths.reports.text.at_machine import EVEN, bit_line, touch, watch, zero_steps
from toolpaths.reports.text.measuring import MarkEntry, entries_after, entries_before
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
    assert (
        "corner on your left is at X -30.00 mm Y -32.00 mm, the one on your right at X 450.00 mm Y -32.00 mm" in words
    )


def test_it_is_told_in_the_machine_s_units_from_the_program_s_zero(inches: Outcome) -> None:
    words = " ".join(zero_steps(inches, inches.setups[0]))
    # Zero at the stock's left front corner; the nut 0.75 in from it, 1 3/4 wide about 1.5 in: its corner at 0.625.
    assert "go to X 0.750 in Y 0.625 in" in words
    assert "corner on your left is at X 0.000 in Y 0.000 in, the one on your right at X 18.000 in Y 0.000 in" in words
    assert "touch it with the side of the bit" in words


def test_measures_are_the_job_s_figures(board: Outcome) -> None:
    rows = list(lines_of(board))
    ends = [f"{end} end, {edge}" for end in ("left", "right") for edge in ("edge on your side", "far edge")]
    # How far each may be off: common practice, no source.
    assert [("1", "planed face above the bed", place, "6.00 mm ± 0.10") for place in ends] == [
        row for row in rows if row[1] == "planed face above the bed"
    ]
    assert (
        "2",
        "",
        "from the edge of line 1 to the same edge of line 19, on the centreline",
        "356.34 mm ± 0.10",
    ) in rows
    assert ("2", "line 12", "width in the flat face, on the centreline", "0.47 to 0.55 mm") in rows
    assert ("3", "marker at fret 3 and 8 more like it", "diameter", "6.00 to 6.10 mm") in rows
    # A tenth, and 0.0045 mm on each side: 60 N/mm2 of a skim of 0.25 x 6.2 mm by 6.35 mm, 2520 mm/min, 18,000 rpm are
    # 0.65 N, on 150 N/mm 0.0044 mm; and the bit bends by hardly anything.
    assert ("5", "width of the part", "at the nut", "36.00 mm ± 0.11") in rows
    assert ("before 1", "7.80 to 8.10 mm") in [(when, wanted) for when, _, _, wanted in rows]
    after = [int(row[0].removeprefix("before ")) for row in rows]
    assert after == sorted(after)


def test_every_mark_is_on_the_sheet_once_and_an_arrow_says_that_later_programs_follow_it(board: Outcome) -> None:
    entries = [entry for _, entry in entries_of(board)]
    lines = {line.name: line for entry in entries for line in entry.lines}
    assert [mark.name for mark in board.marks] == [line.name for entry in entries for line in entry.lines]
    # The blank, the face and the widths of bits that cut again are followed; the depth of a line is not.
    assert lines["M1"].followed
    assert lines["M7"].followed
    depth = next(m for m in board.marks if m.measure.of == "line 12" and m.measure.what.startswith("depth"))
    assert not lines[depth.name].followed


def entries_of(outcome: Outcome) -> list[tuple[str, MarkEntry]]:
    """What is measured before and after each program, in the order of the programs."""
    setup, out = outcome.setups[0], []
    for program in outcome.programs:
        out += [(f"before {program.number}", entry) for entry in entries_before(outcome, setup, program.number)]
        out += [(str(program.number), entry) for entry in entries_after(outcome, setup, program.number)]
    return out


def lines_of(outcome: Outcome) -> Iterator[tuple[str, str, str, str]]:
    """(when, of what, what, value asked for) of each mark."""
    for when, entry in entries_of(outcome):
        for line in entry.lines:
            yield when, entry.subject, line.what, line.wanted or entry.wanted


def test_the_blank_has_this_job_s_numbers(board: Outcome) -> None:
    words = sheet(board)
    assert "7.80 mm at the thinnest and 8.10 mm at the thickest" in words
    assert "Setup face planes the blank to 6.00 mm: 1.80 mm to 2.10 mm come off" in words


def test_bits_are_cautioned_about_once_each_beside_their_program(board: Outcome) -> None:
    said = {p.bits[0]: watch(board.setups[0], p) for p in board.programs}
    assert all(len(words) == len(set(words)) for words in said.values())
    assert any(w.startswith("scorer is fragile: do not raise the feed") for w in said["scorer"])
    assert any(w.startswith("planer does not cut at its middle") for w in said["planer"])
    assert any("must cut everywhere" in w for w in said["planer"])
    assert any("Watch the part at the last levels" in w for w in said["quarter"])
    assert not any("planer" in w for name, words in said.items() for w in words if name != "planer")
    bare = replace(board.programs[0], bits=("eighth",), feature_minutes={"marker_pockets": 1.0})
    assert [EVEN] == watch(board.setups[0], bare)


def test_each_program_s_block_has_its_parts_in_the_order_of_the_work(board: Outcome) -> None:
    block = sheet(board).split('<section class="program">')[1]
    parts = re.findall(r"<dt>(\w+)</dt>", block.split("</dl>")[0])
    assert ["Before", "Bit", "Z", "Watch", "Measure"] == parts
    assert "Touch the bed. Enter Z 0.00 mm." == touch(board, board.programs[0])


def test_a_program_that_is_cut_already_is_not_to_be_run_again(board: Outcome) -> None:
    first = board.programs[0]
    page = sheet(replace(board, cut=frozenset({first.name})))
    blocks = page.split('<section class="program">')[1:]
    assert "Do not run it again" in blocks[0]
    assert "Touch the" not in blocks[0]
    assert all("Do not run it again" not in block for block in blocks[1:])


def test_the_sheet_says_its_cautions_once_in_six_lines_and_no_hint_on_the_software(board: Outcome) -> None:
    page = sheet(board)
    assert 1 == page.count("<h2>Cautions</h2>")
    cautions = page.split("<h2>Cautions</h2>")[1].split("</section>")[0]
    assert 6 == cautions.count("<li>")
    assert "<code>moisture</code>" not in page
    assert "neckpath gauge" not in page


def test_after_a_stop_the_way_on_is_named(board: Outcome) -> None:
    assert "<code>neckpath write tenor_board.yaml --from" in sheet(board)
    assert "These programs begin with" not in sheet(board)


def test_a_set_that_goes_on_says_with_what(board: Outcome) -> None:
    words = sheet(replace(board, changes=replace(board.changes, start="score_lines: fret 12")))
    assert "These programs begin with <strong>score_lines: fret 12</strong>" in words


def test_a_bit_in_a_changer_is_named_with_its_pocket(board: Outcome) -> None:
    assert bit_line(board, "scorer").endswith("stick-out 15.00 mm")
    machine = board.machine.model_copy(update={"pockets": {"scorer": 7}})
    assert bit_line(replace(board, machine=machine), "scorer").endswith("in pocket 7 of the changer")
