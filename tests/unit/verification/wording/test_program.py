"""With the longest values that are likely, every text of the checks of a program has room on three lines."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.three_lines import JOB, lines_on_80, longest
from toolpaths.common.units import Units
from toolpaths.gcode.reader import refusals
from toolpaths.verification.wording import program
from toolpaths.verification.wording.message import Message

UNITS: tuple[Units, ...] = ("mm", "in")
HASH, OTHER = "0123456789ab", "ba9876543210"
BIT = "tapered-ball"
BITS = "sixteenth (bit 12), then tapered-ball (bit 13)"
OLD = "12-back-quarter-old.ngc"
STICKOUT = ("flat", 12.7, "2", 38.1), ("flat", 12.5, "3", 38.5)
WHOLE: dict[str, Any] = {"feature": "", "in_job": False, "place": False}
"""What concerns a line of the program, and no feature."""

REFUSED = (
    *(refusals.not_allowed(9, word) for word in (*refusals.LETTERS, *refusals.SIGNS, *refusals.CODES)),
    refusals.with_modes(
        refusals.two_radii(9, 1234.5678, 1234.6789, 0.0002 * 25.4, 25.4), [("G20", 1453), ("G18", 1453), ("G91", 1453)]
    ),
    refusals.two_of_a_group(9, "G59.1", "G59.3", "radius compensation"),
    refusals.feed_beside_units(9),
    refusals.obeyed_comment(9, "ABCDEFGHIJKLMNOPQRST"),
    refusals.no_bit_number(9, 123456.5),
    refusals.from_nowhere(9, "X and Y and Z"),
    refusals.odd_line_beside(1453),
)

TEXTS: list[tuple[str, Message, dict[str, Any]]] = [
    *(("unreadable", program.unreadable(error.problem, error.todo), WHOLE) for error in REFUSED),
    ("header", program.no_job_named(HASH, "12-back-quarter.ngc.txt"), WHOLE),
    ("header", program.other_job(OTHER, HASH), WHOLE),
    ("header", program.no_number("program 12 of 14"), WHOLE),
    ("header", program.other_number("program 12 of 13", "program 12 of 14"), WHOLE),
    ("header", program.no_jig_named(HASH), WHOLE),
    ("header", program.no_setup_named("back, on its pins"), WHOLE),
    ("header", program.other_setup("face, the first side", "back, on its pins"), WHOLE),
    ("header", program.misleading("bit 12", *STICKOUT, "mm"), WHOLE),
    ("header", program.misleading("zero", ("left end", "near edge"), ("nut line", "centreline"), "mm"), WHOLE),
    ("header", program.misleading("place to keep clear of 12", (-389.1, 23.2), (-388.1, 24.2), "in"), WHOLE),
    ("header", program.same_place("12-back-quarter.ngc", OLD, 12), WHOLE | {"program": OLD, "in_program": False}),
    ("wrong-bit", program.bit_unnamed(BITS), {}),
    ("wrong-bit", program.bit_not_in_job(13, BITS), WHOLE),
    ("wrong-bit", program.header_bit_not_in_job(13, BIT), WHOLE),
    ("wrong-bit", program.other_bit_in_header(13, "sixteenth-long", BIT), WHOLE),
    ("wrong-bit", program.bit_not_in_header(13, BIT), WHOLE),
    ("wrong-bit", program.other_bits(("quarter", "sixteenth"), ("sixteenth", "quarter")), {}),
    ("no-touch-off", program.CHANGE_UNSEEN, WHOLE),
    *(
        ("no-touch-off", text(program.on_bed_instead(stock_top, "top of the jig")), WHOLE)
        for text in (program.no_surface_named, program.no_touch_z)
        for stock_top in (False, True)
    ),
    ("no-touch-off", program.unknown_surface("'planed faces'", ["top of the jig", "stock top", "planed face"]), WHOLE),
    ("no-touch-off", program.other_touch_z("top of the jig", "-18.1234 in", "-18.2345 in", -2.8, "mm"), WHOLE),
    *(
        ("no-touch-off", program.no_place_to_touch("planed face", 22.5, 10.0, rescue, units), WHOLE)
        for rescue in (program.on_bed_instead(False, "bed"), program.on_bed_instead(True, "bed"))
        for units in UNITS
    ),
    ("feed-differs", program.feed_too_fast("Z", 1697.0, 1500.0, 2121.0, 1453, "mm"), {}),
    ("feed-differs", program.other_feed(1790.0, [1800.0, 1200.0, 900.0], 1453, "mm"), {}),
    ("feed-differs", program.other_feed(1790.0, [1800.0, 1200.0, 900.0], 1453, "in"), {}),
    ("rpm-differs", program.other_rpm(17900.0, [18000.0, 12000.0], 1453), {}),
    ("air", program.lifted_but_cuts(20.0, "mm"), WHOLE),
    ("air", program.other_lift(19.99, 20.0, "mm"), WHOLE),
    ("air", program.other_lift(0.0, 20.0, "mm"), WHOLE),
    ("air", program.lift_too_small("screw 12, rail side", -13.1, 1.0, 14.5, "mm"), {}),
]


@pytest.mark.parametrize(("code", "said", "less"), TEXTS)
def test_every_text_has_room_on_three_lines(code: str, said: Message, less: dict[str, Any]) -> None:
    lines = lines_on_80(longest(code, said, **less), JOB)
    assert 3 >= len(lines), "\n".join(lines)
    assert 80 >= max(map(len, lines)), "\n".join(lines)


@pytest.mark.parametrize(("units", "wrong"), [("mm", " in"), ("in", " mm")])
def test_lengths_have_the_units_of_the_job(units: Units, wrong: str) -> None:
    texts = [
        program.misleading("stock", (460.0, 60.0), (461.0, 60.0), units),
        program.no_place_to_touch("bed", 8.0, 10.0, "", units),
        program.other_touch_z("bed", "Z", "Z", 0.055, units),
        program.feed_too_fast("Z", 1697.0, 1500.0, 2121.0, 2, units),
        program.other_feed(1790.0, [1800.0, 900.0], 1, units),
        program.lifted_but_cuts(20.0, units),
        program.other_lift(19.0, 20.0, units),
        program.lift_too_small("screw", 0.5, 1.0, 20.0, units),
    ]
    assert all(f" {units}" in said.text and not said.text.count(f"{wrong};") for said in texts)
    assert all(f"{wrong}." not in f"{said.text}." and f"{wrong}/" not in said.text for said in texts)
