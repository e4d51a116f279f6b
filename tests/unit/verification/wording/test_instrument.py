"""What is said of the finished instrument: three lines at most, lengths in the job's units."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.common.units import Units
from toolpaths.verification.finding import Entry, Severity
from toolpaths.verification.remedies import in_words
from toolpaths.verification.wording import instrument
from toolpaths.verification.wording.message import Message

SAWN = in_words(((Entry("by_hand", "slots sawn before radiusing", of="job"),),), "")
DEPTH = in_words(((Entry("depth", "1.174"),),), "")
NO_LINE: dict[str, Any] = {"in_program": False}
BED: dict[str, Any] = NO_LINE | {"feature": "bed_bores 12"}
PROGRAM: dict[str, Any] = {"feature": "", "in_job": False, "in_program": False, "place": False}
NO_PLACE: dict[str, Any] = NO_LINE | {"place": False}
ON_JIG: dict[str, Any] = {"feature": "", "in_job": False, "program": ""}
# No feature of these kinds has a longer name.
LINES: dict[str, Any] = NO_LINE | {"feature": "score_lines 12"}
POCKETS: dict[str, Any] = NO_LINE | {"feature": "marker_pockets 12"}


def radiused(drop: float, depth: float, units: Units, remedy: str, *, pocket: bool = False) -> Message:
    place = "" if pocket else "fret 24"
    return instrument.shallow_after_radius(24, 24, place, drop, depth, 0.15, remedy=remedy, deeper=1.04, units=units)


def texts(units: Units) -> list[tuple[str, Message, dict[str, Any]]]:
    """Every text, with its code and what its finding has no place for."""
    air, setup = (35.0, 65.0), "back of the headstock"
    wide: dict[str, Any] = {"air": air, "units": units}
    kerf: dict[str, Any] = {"bit": 0.575, "unguided": False, "units": units}
    return [
        ("fret-off", instrument.fret_off(24, -0.1, 0.02, -12.3, string=0, units=units), LINES),
        ("fret-off", instrument.fret_off(24, 0.1, 0.02, 12.3, string=6, units=units), LINES),
        ("fan-reversed", instrument.fan_reversed(610.0, 648.0, units=units), PROGRAM),
        ("kerf", instrument.lines_too_wide(24, 24, 0.62, 0.58, remedy=DEPTH, pointed=True, **kerf), NO_LINE),
        ("kerf", instrument.lines_too_wide(24, 24, 0.62, 0.58, remedy="", pointed=True, **kerf), NO_LINE),
        ("kerf", instrument.lines_too_wide(24, 24, 0.62, 0.58, remedy="", pointed=False, **kerf), NO_LINE),
        (
            "kerf",
            instrument.lines_too_wide(24, 24, 0.69, 0.58, remedy="", pointed=False, **kerf | {"unguided": True}),
            NO_LINE,
        ),
        ("gone-after-radius", radiused(0.89, 0.5, units, SAWN), LINES),
        ("thin-after-radius", radiused(0.39, 0.5, units, SAWN), LINES),
        ("thin-after-radius", radiused(0.39, 0.5, units, ""), LINES),
        ("thin-after-radius", radiused(0.39, 0.5, units, DEPTH), LINES),
        ("gone-after-radius", radiused(0.89, 0.5, units, DEPTH, pocket=True), POCKETS),
        ("thin-after-radius", radiused(0.39, 0.5, units, "", pocket=True), POCKETS),
        ("pins-apart", instrument.no_bore("bed bore 12"), BED),
        ("pins-apart", instrument.off_its_bore("bed bore 12", "pin 12", 12.5, 0.05, units=units), BED),
        ("pins-apart", instrument.other_width("bed bore 12", "pin 12", 4.2, 4.0, units=units), BED),
        ("pins-alike", instrument.one_pin(), BED),
        ("pins-alike", instrument.pins_alike(), BED),
        ("pins-apart", instrument.no_bore("pin 12", setup), ON_JIG),
        ("pins-apart", instrument.off_its_bore("pin 12", "pin 11", 2.5, 0.05, units=units, setup=setup), ON_JIG),
        ("pins-apart", instrument.other_width("pin 12", "pin 11", 4.2, 4.0, units=units, setup=setup), ON_JIG),
        ("pins-alike", instrument.one_pin(setup), ON_JIG | {"place": False}),
        ("pins-alike", instrument.pins_alike(setup), ON_JIG | {"place": False}),
        ("string-angle", instrument.posts_not_strings(5, 6), NO_LINE),
        *(
            (
                "string-angle",
                instrument.string_turns(12, "tuner 12", 11.2, 10.0, turning=n, binds=binds, given=given),
                NO_LINE,
            )
            for n, binds, given in ((12, True, False), (1, False, True))
        ),
        *(
            (
                "moisture",
                instrument.width_moves(
                    "the face under the board", 58.0, -0.32, 0.54, most, quarter=0.25, ends=True, **wide
                ),
                PROGRAM,
            )
            for most in (0.3, 0.6)
        ),
        *(("moisture", instrument.slot_moves(6.4, -0.13, 0.2, most, **wide), NO_PLACE) for most in (0.1, 0.2)),
        ("moisture", instrument.slot_moves(6.4, 0.13, 0.2, 0.1, **wide), NO_PLACE),
        ("moisture", instrument.shrinkage_unknown("black mountain cherry", "tangential"), PROGRAM),
    ]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_every_text_has_three_lines_at_most(which: int, units: Units) -> None:
    code, said, places = texts(units)[which]
    lines = lines_on_80(longest(code, said, severity=Severity.warn, **places), JOB)
    assert len(lines) <= 3, "\n".join(lines)


@pytest.mark.parametrize("which", range(len(texts("mm"))))
def test_a_job_in_inches_is_told_nothing_in_metric(which: int) -> None:
    assert [] == re.findall(r"\d ?m?m\d?\b", texts("in")[which][1].text)


def test_what_radiusing_takes_away_and_what_it_leaves() -> None:
    gone = radiused(0.89, 0.5, "mm", SAWN)
    assert "radiusing removes 24 of 24 at the edges" == gone.wrong
    assert ("fret 24: 0.89 mm", "depth 0.50 mm") == (gone.measured, gone.limit)
    # 0.50 less 0.39 is 0.11. Arithmetic.
    thin = radiused(0.39, 0.5, "mm", SAWN)
    assert ("fret 24: 0.11 mm", "least 0.15 mm") == (thin.measured, thin.limit)
    assert "set `by_hand: slots sawn before radiusing`" == thin.todo


def test_a_change_has_its_sign_and_none_is_plus() -> None:
    said = instrument.slot_moves(3.0, -0.001, 0.02, 0.1, air=(35, 65), units="mm")
    assert "+0.00 mm at 35 %, +0.02 mm at 65 %" == said.measured
