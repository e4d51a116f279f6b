"""With the longest values that are likely, every text about collisions has room on three lines."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.common.units import Units
from toolpaths.verification.wording import collisions
from toolpaths.verification.wording.message import Message

HOLDER, BIT = "clamp at the heel 12", "tapered-ball"
REMEDY = {
    "mm": "set `bits: {tapered-ball: {stickout: 38.125}}`",
    "in": "set `bits: {tapered-ball: {stickout: 1.5009}}`",
}
NO_LINE: dict[str, Any] = {"in_program": False}
NO_PROGRAM: dict[str, Any] = {"program": ""}
STOCK: dict[str, Any] = {"program": "", "feature": "stock", "in_job": False}
NOWHERE: dict[str, Any] = {"place": False}


def texts(units: Units) -> list[tuple[str, Message, dict[str, Any]]]:
    """Every text, with what its finding has no place for."""
    return [
        ("covered-clamp", collisions.clamp_on_face(HOLDER, 116.0, 110.0, 24.0, units), NO_LINE),
        ("keep-out", collisions.hits("the tool holder", HOLDER, 12.5, 22.0, units), {}),
        ("keep-out", collisions.too_near("the tool holder", HOLDER, 22.0, 1.055, units), {}),
        ("keep-out", collisions.may_hit(HOLDER, 12.5, 22.0, units), NOWHERE),
        ("into-bed", collisions.into_bed(True, 11.0, 0.2, units), {}),
        ("into-bed", collisions.into_bed(False, 11.0, 0.2, units), {}),
        ("rapid-in-wood", collisions.rapid_through_wood(12.5, units), {}),
        ("rapid-in-wood", collisions.rapid_may_hit_wood(12.5, 22.0, units), NOWHERE),
        ("shank-in-wood", collisions.runs_against_wood("the tool holder", 14.0, units), {}),
        ("deeper-than-flutes", collisions.edges_too_short(BIT, 15.5, 12.7, units), {}),
        ("reach", collisions.flutes_in_collet(BIT, 22.0, 38.1, REMEDY[units], units), {"feature": "", "place": False}),
        ("reach", collisions.nut_near_wood(0.4, 1.0, REMEDY[units], units), {}),
        ("safe-height", collisions.SIDEWAYS_FIRST, NOWHERE),
        ("safe-height", collisions.CUTS_FROM_NOWHERE, {}),
        ("safe-height", collisions.too_low_from_nowhere(10.7, 23.0, units), {}),
        ("safe-height", collisions.low_over(HOLDER, 10.7, 23.0, units), {}),
        ("travel", collisions.too_long_for_axis("X", 1312.0, 1300.0, units), {}),
        ("travel", collisions.past_travel("X", "G59.1", "the machine file", 1300.5, 1300.0, True, units), {}),
        ("travel", collisions.past_travel("Z", "G54", "the setup", -80.5, -80.0, False, units), {}),
        ("stock-too-small", collisions.too_thin_to_plane(17.9, 18.0, units), NO_LINE | NOWHERE),
        ("stock-too-small", collisions.past_blank("truss rod channel", "right end", 10.0, units), NO_LINE),
        ("stock-too-small", collisions.past_blank("the finished board", "right end", 10.0, units), STOCK),
        *(
            ("stock-too-small", collisions.part_out_of_wood(part, *how, (312.5, 398.0), units), places)
            for part in ("neck", "board")
            for *how, places in (
                (True, 20.0, 22.03, True, NO_PROGRAM),
                (True, 20.0, 22.03, False, NO_PROGRAM),
                (False, 20.0, 22.03, True, STOCK),
            )
        ),
    ]


@pytest.mark.parametrize(("code", "said", "less"), [*texts("mm"), *texts("in")])
def test_every_text_has_room_on_three_lines(code: str, said: Message, less: dict[str, Any]) -> None:
    lines = lines_on_80(longest(code, said, **less), JOB)
    assert 3 >= len(lines), "\n".join(lines)
    assert 80 >= max(map(len, lines)), "\n".join(lines)


@pytest.mark.parametrize(("units", "other"), [("mm", "in"), ("in", "mm")])
def test_lengths_have_the_units_of_the_job(units: Units, other: Units) -> None:
    for _, said, _ in texts(units):
        assert not [word for word in said.text.replace(";", " ").split() if word == other and f"{other} " in said.limit]
        assert not any(f"0 {other}" in part for part in (said.todo, said.measured, said.limit))
