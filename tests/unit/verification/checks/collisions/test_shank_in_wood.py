"""What stands above the bit's edges keeps out of the wood beside the cut, as it stands at that move."""

import pytest

from tests.support.check_input_builder import BITS, SIX, inputs, line_of, program
from toolpaths.verification.checks.collisions import shank_in_wood
from toolpaths.verification.finding import Severity


@pytest.mark.parametrize(("z", "expected"), [("7", 0), ("6.995", 0), ("6.98", 1)])
def test_a_thick_shank_may_come_down_to_the_top_of_the_wood(z: str, expected: int) -> None:
    # The thin bit's edges are 3 mm long, its shank 3 mm thick: at Z 7 the shank begins at the top, 10.
    text = program(f"G0 X10 Y0\nG1 Z9 F200\nG1 X30 Z{z} F500", bit=2)
    found = shank_in_wood.check(inputs(text))
    assert [line_of(text, f"G1 X30 Z{z} F500")] * expected == [f.program_line for f in found]
    assert all(f.severity is Severity.stop for f in found)


def test_the_message_names_the_part_and_how_far_it_is_in_the_wood() -> None:
    text = program("G0 X10 Y0\nG1 Z6 F200", bit=2)
    found = shank_in_wood.check(inputs(text))
    assert "the shank runs against wood" == found[0].said.wrong
    assert "1.00 mm too low" == found[0].said.measured


def test_wood_that_was_opened_before_is_judged_as_it_stands_then() -> None:
    opened = "G0 X10 Y-2\nG1 Z8 F200\nG1 X30\nG1 Y-1\nG1 X10\nG1 Y0\nG1 X30\nG1 Y1\nG1 X10\nG1 Y2\nG1 X30\nG0 Z16\n"
    deep = "G0 X14 Y0\nG1 Z6 F200\nG1 X26\nG0 Z16\n"
    assert [] == shank_in_wood.check(inputs(program(opened + deep, bit=2)))
    assert 0 < len(shank_in_wood.check(inputs(program(deep + opened, bit=2))))


def test_a_shank_thinner_than_the_cut_never_touches_the_walls() -> None:
    # 6 mm bit, 5.9 mm shank, edges shortened to 4 mm: a second pass at 8 mm depth runs between walls already cut.
    short = {**BITS, 1: ("six", SIX.model_copy(update={"cutting_length": 4.0}))}
    body = "G0 X10 Y0\nG1 Z6 F200\nG1 X30\nG1 X10\nG1 Z2\nG1 X30\n"
    assert [] == shank_in_wood.check(inputs(program(body), bits=short))


def test_a_shank_as_thick_as_the_cut_rubs_the_walls_above_the_edges() -> None:
    rubbing = {**BITS, 1: ("six", SIX.model_copy(update={"cutting_length": 4.0, "shank": 6.0}))}
    body = "G0 X10 Y0\nG1 Z6 F200\nG1 X30\nG1 X10\nG1 Z2\nG1 X30\n"
    text = program(body)
    found = shank_in_wood.check(inputs(text, bits=rubbing))
    assert line_of(text, "G1 Z2") == found[0].program_line
    assert "4.00 mm too low" == found[0].said.measured


@pytest.mark.parametrize(("stickout", "expected"), [(5.0, False), (4.5, True)])
def test_the_collet_nut_counts_as_wide_as_it_is(stickout: float, expected: bool) -> None:
    # Tip at 5: a nut 5 mm up just clears the top of the block at 10.
    short = {**BITS, 1: ("six", SIX.model_copy(update={"stickout": stickout, "cutting_length": 20.0}))}
    text = program("G0 X55 Y0\nG1 Z5 F200\nG1 Y10 F1000")
    found = shank_in_wood.check(inputs(text, bits=short))
    assert expected == any("the collet nut" in f.message for f in found)


def test_the_nut_beside_the_block_is_free() -> None:
    # Nut radius 9.5: at x 59.6 it clears the block's end at 50; at 59.4 it does not.
    short = {**BITS, 1: ("six", SIX.model_copy(update={"stickout": 4.0}))}
    free = program("G0 X59.6 Y0\nG1 Z2 F200")
    assert [] == shank_in_wood.check(inputs(free, bits=short))
    assert 0 < len(shank_in_wood.check(inputs(free.replace("59.6", "59.4"), bits=short)))
