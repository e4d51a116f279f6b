"""Faults put into the written programs of an inch board, on the machine that is switched by hand and takes no arcs.

Each fault is found by its own check, as a stop, in that program; its near miss leaves no stop at all.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.support.made import made as make
from tests.support.words_builder import changed
from toolpaths.job.changes import Changes
from toolpaths.pipeline.run import verify
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.outcome import Outcome

JOB = Path(__file__).parents[3] / "cases" / "inch_board.yaml"
COARSE = Changes(pitch=0.5)
SCORE, POCKETS, OUTLINE = 0, 1, 2

Edit = Callable[[str], str]


@pytest.fixture(scope="module")
def written() -> Outcome:
    return make(JOB, COARSE)


def judged(written: Outcome, which: int, text: str, folder: Path, changes: Changes = COARSE) -> list[Finding]:
    """What is found when that program of the set has this text."""
    file = folder / written.programs[which].name
    file.write_text(text, encoding="utf-8")
    return list(verify(JOB, [file], changes).findings)


def swap(old: str, new: str, count: int = 1) -> Edit:
    return lambda text: changed(text, old, new, count)


def swap_last(old: str, new: str) -> Edit:
    def edit(text: str) -> str:
        head, found, tail = text.rpartition(old)
        assert found, f"{old!r} is not in the text"
        return head + new + tail

    return edit


def test_the_set_as_written_has_no_stop(written: Outcome) -> None:
    assert ["scorer", "sixteenth", "eighth"] == [p.bits[0] for p in written.programs]
    assert ["gone-after-radius", "kerf"] == [f.code for f in written.findings]


def test_the_lines_that_the_radius_takes_are_named(written: Outcome) -> None:
    # Fret 5 of a 13 in scale lies at 3.2611 in, the board's end at 3.5111 in, the board there 1.4822 in wide;
    # the sagitta under 12 in is 0.0229 in. Derived.
    assert "fret 5: 0.023 in" == written.findings[0].said.measured


FAULTS: list[tuple[str, int, Edit]] = [
    ("setup-words", SCORE, swap("G20\n", "G21\n")),
    ("setup-words", SCORE, swap("G20\n", "")),
    ("setup-words", SCORE, swap("G55\n", "G54\n")),
    ("setup-words", POCKETS, swap("G17 G90 G94", "G17 G94")),
    ("setup-words", OUTLINE, swap("M0\n", "T3\nM0\n")),
    ("setup-words", SCORE, swap("M30\n", f"({'-' * 70})\nM30\n")),
    ("spindle", SCORE, swap("M0\n", "")),
    ("spindle", OUTLINE, swap_last("M0\n", "")),
    ("spindle", POCKETS, swap("M30\n", "")),
    ("header", SCORE, lambda text: re.sub(r", job [0-9a-f]+", ", job 000000000000", text)),
    ("header", POCKETS, swap("Program 2 of 3", "Program 2 of 4")),
    ("header", OUTLINE, swap("setup sampler", "setup face")),
    ("header", SCORE, lambda text: re.sub(r"\(neckpath [^)]*\)\n", "", text)),
    ("wrong-bit", POCKETS, swap("(Bit 2: sixteenth", "(Bit 3: eighth", 2)),
    ("wrong-bit", POCKETS, swap("(Bit 2: sixteenth", "(Bit 2: eighth", 2)),
    ("no-touch-off", OUTLINE, swap("Touch off: stock top, Z 0.0000 in", "Touch off: stock top, Z 0.0100 in")),
    ("no-touch-off", SCORE, swap("(Touch off: stock top, Z 0.0000 in)\n", "")),
    ("no-touch-off", POCKETS, swap("Touch off: stock top", "Touch off: bed")),
    ("feed-differs", SCORE, swap("F14.5", "F14.8")),
    ("feed-differs", OUTLINE, swap("F40\n", "F45\n")),
    ("air", OUTLINE, swap("(Machine: hand dial)\n", "(Machine: hand dial)\n(Lifted: 1.0000 in)\n")),
]


@pytest.mark.parametrize(("code", "which", "edit"), FAULTS)
def test_a_fault_is_a_stop(written: Outcome, tmp_path: Path, code: str, which: int, edit: Edit) -> None:
    found = judged(written, which, edit(written.programs[which].text), tmp_path)
    stops = [f for f in found if f.severity is Severity.stop and f.code == code]
    assert [written.programs[which].name] == sorted({f.program for f in stops})


NEAR: list[tuple[int, Edit]] = [
    (SCORE, swap("G20\n", "G20 G17\nG20\n")),
    (SCORE, swap("M30\n", f"({'-' * 68})\nM30\n")),
    (OUTLINE, swap("M0\n", "M0\nG4 P1\nM0\n")),
    (POCKETS, swap("M30\n", "M2\n")),
    (SCORE, swap("neckpath 0.1.0", "neckpath 0.0.9")),
    (POCKETS, swap("Touch off: stock top, Z 0.0000 in", "Touch off: bed, Z -0.2500 in")),
    (SCORE, swap("F14.5", "F14.54")),
    (OUTLINE, swap("(Machine: hand dial)\n", "(Machine: hand dial)\n(Lifted with care from the rack.)\n")),
]


@pytest.mark.parametrize(("which", "edit"), NEAR)
def test_a_near_miss_is_none(written: Outcome, tmp_path: Path, which: int, edit: Edit) -> None:
    found = judged(written, which, edit(written.programs[which].text), tmp_path)
    assert [] == [f for f in found if f.severity is Severity.stop]


def test_a_lifted_set_stays_clear_and_one_move_left_low_does_not(tmp_path: Path) -> None:
    lifted = Changes(pitch=0.5, air=20.0)
    outcome = make(JOB, lifted)
    assert [] == [f for f in outcome.findings if f.severity is Severity.stop]
    text = outcome.programs[SCORE].text
    assert "(Lifted: 0.7874 in)\n" in text
    lowered = changed(text, "G1 Z0.7874", "G1 Z0")
    codes = {f.code for f in judged(outcome, SCORE, lowered, tmp_path, lifted) if f.severity is Severity.stop}
    assert "air" in codes


def test_a_lift_that_does_not_clear_the_clamp_is_a_stop() -> None:
    # The outline goes 0.008 in into the bed, the clamp stands 0.5 in: 0.548 in clears it by 1 mm (0.0394 in). Derived.
    def codes(air: float) -> set[str]:
        return {f.code for f in make(JOB, Changes(pitch=0.5, air=air)).findings if f.severity is Severity.stop}

    assert set() == codes(0.548 * 25.4)
    assert {"air"} == codes(0.546 * 25.4)


def test_a_scorer_wider_than_the_saw_is_warned_of() -> None:
    outcome = make(JOB, Changes(pitch=0.5, bits=(("scorer", "0.03"),)))
    (found,) = [f for f in outcome.findings if f.code == "kerf"]
    # 0.0300 in are cut, and 0.0015 in of runout is added.
    assert ("0.0315 in", "kerf 0.0228 in") == (found.said.measured, found.said.limit)
    assert found.said.wrong.startswith("5 of 5 lines ")
    assert Severity.warn == found.severity
