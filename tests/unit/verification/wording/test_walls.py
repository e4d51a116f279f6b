"""What is said of the wood around a cut: three lines at most, lengths in the job's units."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.common.units import Units
from toolpaths.verification.finding import Entry
from toolpaths.verification.remedies import in_words
from toolpaths.verification.wording import walls
from toolpaths.verification.wording.message import Message

DEPTH = in_words(((Entry("depth", "10.175"),),), "")
NO_LINE: dict[str, Any] = {"in_program": False}
SLOT, OTHER = "bar slot, treble side", "rod channel (line 140)"
# No feature of these kinds has a longer name.
SLOTS: dict[str, Any] = NO_LINE | {"feature": "fret_slots 12"}


def thin(units: Units, wall: float, opens: float | None, **more: Any) -> Message:
    usual: dict[str, Any] = {"in_job": True, "remedy": DEPTH, "more": 1.55, "other": walls.THICKER_BLANK}
    return walls.wall_too_thin(wall, 3.0, walls.BELOW, "fret 24", opens=opens, units=units, **usual | more)


def texts(units: Units) -> list[tuple[str, Message, dict[str, Any]]]:
    """Every text, with its code and what its finding has no place for."""
    close: dict[str, Any] = {"todo": walls.MOVE_ONE, "units": units}
    carved: dict[str, Any] = {"remedy": "", "right": "", "first": walls.HEAD_FIRST, "units": units}
    return [
        ("wall-too-thin", thin(units, 1.83, None), {}),
        ("wall-too-thin", thin(units, 1.83, None, remedy=""), {}),
        ("wall-too-thin", thin(units, 1.83, None, more=0.0, other=walls.NARROWER), {}),
        ("wall-too-thin", thin(units, 1.83, None, more=0.0, other=walls.SHORTER), {}),
        ("wall-too-thin", thin(units, -0.3, 0.0), {}),
        ("wall-too-thin", thin(units, -11.5, 11.01), {}),
        ("wall-too-thin", thin(units, -11.5, 11.01, in_job=False, remedy=""), {}),
        ("wall-too-thin", thin(units, 1.83, None, in_job=False, remedy=""), {}),
        ("wall-too-thin", walls.pin_through("locating pin 12", "fret 24"), NO_LINE),
        *(
            ("wall-too-thin", walls.sides_too_close(SLOT, back, 1.48, 3.0, more=more, units=units), NO_LINE)
            for back, more in (("kerf 12", walls.MORE_ON_BACK), (None, walls.MORE_ON_BACK))
        ),
        (
            "wall-too-thin",
            walls.sides_too_close(SLOT, "headstock back", 1.4, 3.0, more=walls.THICKER_HEAD, units=units),
            NO_LINE,
        ),
        ("wood-between", walls.cuts_too_close(SLOT, OTHER, 0.3, 2.0, **close), NO_LINE),
        ("wood-between", walls.cuts_too_close(SLOT, OTHER, -10.3, 2.0, **close), NO_LINE),
        (
            "wood-between",
            walls.cuts_too_close("pin 12", "marker at fret 12, treble side (line 140)", 0.3, 2.0, **close),
            NO_LINE,
        ),
        *(
            ("wood-between", walls.cuts_too_close(SLOT, beside, 0.3, 2.0, todo=todo, units=units), NO_LINE)
            for beside, todo in (
                (walls.NECK_SIDE, walls.BARS_IN),
                (walls.FACE_ABOVE, walls.LESS_DEEP),
                (walls.BOARD_BACK, walls.LESS_DEEP),
            )
        ),
        *(
            ("wood-between", walls.cuts_too_close("locating pin 12", edge, -1.2, 2.0, todo=todo, units=units), NO_LINE)
            for edge, todo in ((walls.PART_EDGE, walls.MOVE_IN), (walls.PART_EDGE, walls.MOVE_OFF))
        ),
        ("wood-between", walls.beside_part("counterbore of bolt 12"), NO_LINE),
        ("wood-between", walls.pin_opened("locating pin 12", 2.5, units=units), NO_LINE),
        ("carved-away", walls.nothing_stays(24.6, 14.0, "back", **carved | {"remedy": DEPTH}), NO_LINE),
        ("carved-away", walls.nothing_stays(24.6, 14.0, "face", **carved), NO_LINE),
        ("carved-away", walls.nothing_stays(24.6, 14.0, "back", **carved | {"right": "13.6"}), NO_LINE),
        ("carved-away", walls.loses_depth(0.4, 11.0, units=units), NO_LINE),
        ("bolt-off-seat", walls.bolt_off_seat("counterbore of bolt 12", 11.25, units=units), NO_LINE),
        ("rod-uncovered", walls.past_the_board(SLOT, 11.5, units=units), NO_LINE),
        ("rod-uncovered", walls.before_the_nut(SLOT, 11.5, units=units), NO_LINE),
        ("thin-under-slot", walls.thin_under_cut_slot("fret 24", 0.99, 1.5, units=units), SLOTS),
        ("thin-under-slot", walls.thin_under_sawn_slot(24, 0.99, 1.5, saw="1.9", units=units), SLOTS),
        ("thin-under-slot", walls.thin_under_sawn_slot(24, -0.2, 1.5, saw="", units=units), SLOTS),
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


def test_a_cut_that_comes_through_is_told_apart_from_a_thin_wall() -> None:
    assert ("the wall is too thin", "1.83 mm below") == _told(thin("mm", 1.83, None))
    assert ("it may break through", "0.00 mm below") == _told(thin("mm", -0.3, 0.0))
    assert ("it breaks through", "open 1.01 mm") == _told(thin("mm", -1.51, 1.01))


def test_where_any_wood_would_do_no_limit_is_said() -> None:
    assert "" == walls.cuts_too_close("marker", "rod channel", -1.0, 0.001, todo=walls.MOVE_ONE, units="mm").limit


def _told(said: Message) -> tuple[str, str]:
    return said.wrong, said.measured
