"""The seasons' movement of a board and of the slots in a neck: what is noted, what is warned of, what is left alone.

The neck: 44 mm wide at the widest place of its board, of hard maple; slots of 6.4 and 3.4 mm along it, one across.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.support.bored import of_setup
from toolpaths.job.changes import Changes
from toolpaths.pipeline.build import lay_out
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.checks.instrument import moisture
from toolpaths.verification.finding import Finding, Severity

JOB = Path(__file__).parents[4] / "cases" / "rod_neck.yaml"


def inputs(folder: Path, air: str = "", **exchanged: str) -> CheckInput:
    """All of the neck's cuts as the first program of its set."""
    text = JOB.read_text().replace("wood: hard maple", f"wood: {exchanged.pop('wood', 'hard maple')}")
    if air:
        text += f"moisture: {air}\n"
    for old, new in exchanged.items():
        assert old in text
        text = text.replace(old, new)
    path = folder / "job.yaml"
    path.write_text(text)
    layout = lay_out(path, Changes())
    operations = tuple(o for batch, _ in layout.own for o in batch.operations)
    return of_setup(layout.contexts["face"], layout.target.demands["face"], operations)


def found(folder: Path, air: str = "", **exchanged: str) -> list[Finding]:
    return moisture.check(inputs(folder, air, **exchanged))


def test_without_the_key_nothing_is_said(tmp_path: Path) -> None:
    assert [] == found(tmp_path)


def test_a_wide_board_between_far_seasons_is_warned_of(tmp_path: Path) -> None:
    width = found(tmp_path, "{shop: 45, home: [35, 65]}")[0]
    assert ("moisture", Severity.warn, "") == (width.code, width.severity, width.feature)
    # 8.46 % at 45 % and 21 degrees C, 6.94 % at 35 %, 11.96 % at 65 % (Wood Handbook, Eq. 4-5);
    # 44 x 0.00353 x -1.517 = -0.24, x 3.500 = +0.54 (Eq. 13-2); quarter sawn 44 x 0.00165 x 3.500 = 0.25.
    assert ("-0.24 mm at 35 %, +0.54 mm at 65 %", "most 0.30 mm") == (width.said.measured, width.said.limit)
    assert "take quarter-sawn wood (0.25 mm)" in width.said.todo


def test_the_same_board_sawn_quarter_is_only_noted(tmp_path: Path) -> None:
    width = found(tmp_path, "{shop: 45, home: [35, 65], sawn: quarter}")[0]
    assert Severity.note == width.severity
    assert "-0.11 mm at 35 %, +0.25 mm at 65 %" == width.said.measured
    assert "44.00 mm wide" in width.said.wrong


def test_a_near_miss_of_the_limit_is_a_note(tmp_path: Path) -> None:
    # 0.3 mm is 1.93 % of moisture for 44 mm of flat-sawn maple: 10.39 %, which air of 56.9 % gives (Eq. 4-5).
    just, over = (found(tmp_path, f"{{shop: 45, home: [45, {damp}]}}")[0] for damp in (56.5, 57.5))
    assert (Severity.note, Severity.warn) == (just.severity, over.severity)


def test_a_board_that_shrinks_far_has_fret_ends_that_stand_out(tmp_path: Path) -> None:
    width = found(tmp_path, "{shop: 60, home: [25, 60]}")[0]
    assert "the fret ends" in width.message


def test_slots_along_the_grain_are_noted_and_the_nuts_slot_is_not(tmp_path: Path) -> None:
    _, *slots = found(tmp_path, "{shop: 45, home: [35, 65]}")
    assert ["truss_rod_channel", "reinforcement_slots"] == [f.feature for f in slots]
    assert {Severity.note} == {f.severity for f in slots}
    # 6.4 x 0.00353 x -1.517 = -0.03, x 3.500 = +0.08.
    assert "-0.03 mm at 35 %, +0.08 mm at 65 %" == slots[0].said.measured
    assert "6.40 mm wide" in slots[0].said.wrong
    assert all(f.job_line > 0 for f in slots)


def test_a_slot_that_narrows_by_more_than_its_clearance_is_warned_of(tmp_path: Path) -> None:
    # From 14 % (75 % humidity) down to 7 % (35 %): 6.4 x 0.00353 x 7 = 0.16; 3.4 x 0.00353 x 7 = 0.08.
    _, rod, bars = found(tmp_path, "{shop: 74, home: [35, 65]}")
    assert (Severity.warn, Severity.note) == (rod.severity, bars.severity)
    assert ("the slot narrows much", "most 0.100 mm") == (rod.said.wrong, rod.said.limit)


def test_the_width_is_told_once_a_set_and_a_slot_with_the_program_that_finishes_it(tmp_path: Path) -> None:
    whole = inputs(tmp_path, "{shop: 45, home: [35, 65]}")
    later = replace(whole, program=replace(whole.program, number=2))
    assert ["truss_rod_channel", "reinforcement_slots"] == [f.feature for f in moisture.check(later)]
    begun = replace(later, finished=frozenset({"reinforcement_slots"}))
    assert ["reinforcement_slots"] == [f.feature for f in moisture.check(begun)]


def test_a_wood_without_figures_is_noted_once_with_what_to_give(tmp_path: Path) -> None:
    (one,) = found(tmp_path, "{shop: 45, home: [35, 65]}", wood="ebony")
    assert Severity.note == one.severity
    assert "shrinkage: {tangential: ...}" in one.message
    own = "{name: pear, janka: 1660, density: 690, shrinkage: {tangential: 9.9}}"
    assert 3 == len(found(tmp_path, "{shop: 45, home: [35, 65]}", wood=own))


@pytest.mark.parametrize("air", ["{shop: 5, home: [5, 95]}", "{shop: 95, home: [5, 95], temperature: 0}"])
def test_the_ends_of_the_range_are_told(tmp_path: Path, air: str) -> None:
    assert 3 == len(found(tmp_path, air))
