"""What is said of what holds the blank and the part: three lines at most, lengths in the job's units."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.common.units import Units
from toolpaths.verification.finding import Entry
from toolpaths.verification.remedies import in_words
from toolpaths.verification.wording import holding
from toolpaths.verification.wording.message import Message

SETUP, HOLDER = "back of the headstock", "clamp at the heel 12"
SCREWS = "{screws: {at: [" + ", ".join(f"[{x}.5, -42.5]" for x in range(100, 140)) + "], sunk: 5.5}}"
TABS = in_words(((Entry("tabs", "{count: 12, length: 10, height: 17.5}"),),), "")
NOWHERE: dict[str, Any] = {"feature": "", "in_job": False, "program": "", "place": False}
PROGRAM: dict[str, Any] = {"feature": "", "in_job": False, "in_program": False}
NO_PLACE: dict[str, Any] = PROGRAM | {"place": False}


def texts(units: Units) -> list[tuple[str, Message, dict[str, Any]]]:
    """Every text, with its code and what its finding has no place for."""
    aside, weak = {"aside": 1120.0, "up": 140.0}, {"times": 1.25, "least": 2.0}
    placed = [
        holding.inside_blank(SETUP, HOLDER, 12.5, units=units),
        holding.stops_nothing(SETUP, HOLDER, 12.5, 0.5, units=units),
        holding.grips_inside_blank(SETUP, HOLDER),
        holding.grips_nothing(SETUP, HOLDER, 12.5, 0.5, units=units),
        holding.presses_on_nothing(SETUP, HOLDER),
        holding.clamp_in_the_wood(SETUP, HOLDER, 12.5, 22.2, units=units),
        holding.blank_off_the_bed(SETUP, HOLDER, 11.2, units=units),
        holding.screw_beside_blank(SETUP, HOLDER),
        holding.screw_in_part(SETUP, HOLDER),
        holding.screw_sunk_too_deep(SETUP, HOLDER, 2.5, 3.0, units=units),
        holding.screw_near_edge(SETUP, HOLDER, 6.5, 8.0, units=units),
        holding.pin_too_long(SETUP, HOLDER, 12.5, 10.5, units=units),
        holding.under_nothing(SETUP, "the vacuum"),
        holding.holds_by_nothing(SETUP),
        holding.jig_in_blank(SETUP, HOLDER, 12.5, units=units),
        holding.over_jig_edge(SETUP, 12.5, 1.0, units=units),
        holding.screws_through_jig(SETUP, 25.5, 18.5, units=units),
    ]
    return [
        ("holder-unplaced", holding.no_places(SETUP, "screws", SCREWS), NOWHERE),
        ("holder-unplaced", holding.no_places(SETUP, "clamps", ""), NOWHERE),
        *(("holder-place", said, NOWHERE) for said in placed),
        ("part-loose", holding.hold_not_given(), NOWHERE),
        ("part-loose", holding.nothing_holds_down(SETUP), NOWHERE),
        ("part-loose", holding.part_comes_free(TABS), {}),
        ("part-loose", holding.part_comes_free(""), {}),
        ("part-parted", holding.part_in_two(), {}),
        ("hold-weak", holding.holders_too_weak((HOLDER,) * 6, **weak, **aside), PROGRAM),
        ("hold-weak", holding.wood_too_weak(12, 0.0, 2.0, **aside), PROGRAM),
        ("hold-weak", holding.wood_too_weak(12, **weak, **aside), PROGRAM),
        ("gives-way", holding.part_sways(0.625, 0.5, force=80.0, units=units), NO_PLACE),
        ("offcut-loose", holding.offcut_comes_free(500.0, 120.0, 1250.0, 1.0, units=units), {}),
        ("offcut-loose", holding.offcut_comes_free(40.0, 12.0, 0.8, 1.0, units=units), {}),
    ]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_every_text_has_three_lines_at_most(which: int, units: Units) -> None:
    code, said, places = texts(units)[which]
    lines = lines_on_80(longest(code, said, **places), JOB)
    assert len(lines) <= 3, "\n".join(lines)


@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_every_text_says_what_is_wrong_and_what_to_do(which: int) -> None:
    _, said, _ = texts("mm")[which]
    assert said.wrong
    assert said.todo


@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_a_job_in_inches_is_told_nothing_in_metric(which: int) -> None:
    assert [] == re.findall(r"\d ?m?m\d?\b", texts("in")[which][1].text)


def test_places_to_paste_stand_apart_and_whole() -> None:
    said = holding.no_places("face", "screws", SCREWS)
    assert f"hold: {SCREWS}" == said.paste
    assert SCREWS not in said.with_places("")


def test_the_first_holder_is_named_and_the_others_are_counted() -> None:
    of = {"times": 1.0, "least": 2.0, "aside": 100.0, "up": 0.0}
    assert "clamp 1" == holding.holders_too_weak(("clamp 1",), **of).at
    assert "a and 3 more" == holding.holders_too_weak(("a", "b", "c", "d"), **of).at
