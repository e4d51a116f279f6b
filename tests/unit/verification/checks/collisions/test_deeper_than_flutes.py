"""No cut is deeper at once than the bit's edges are long."""

import pytest

from tests.support.check_input_builder import BITS, SIX, inputs, line_of, program
from toolpaths.verification.checks.collisions import deeper_than_flutes
from toolpaths.verification.finding import Severity

SHORT = {**BITS, 1: ("six", SIX.model_copy(update={"cutting_length": 4.0}))}


@pytest.mark.parametrize(("z", "expected"), [("6", 0), ("5.98", 1)])
def test_a_cut_may_be_as_deep_as_the_edges_are_long(z: str, expected: int) -> None:
    text = program(f"G0 X-20 Y0\nG1 Z{z} F200\nG1 X30 F1000")
    found = deeper_than_flutes.check(inputs(text, bits=SHORT))
    assert [line_of(text, "G1 X30 F1000")] * expected == [f.program_line for f in found]
    assert all(f.severity is Severity.stop for f in found)


def test_the_message_says_how_deep_and_how_long_the_edges_are() -> None:
    text = program("G0 X-20 Y0\nG1 Z4.5 F200\nG1 X30 F1000")
    (found,) = deeper_than_flutes.check(inputs(text, bits=SHORT))
    assert "the edges of six are too short. Cut less deep at a time. 5.50 mm deep; edges 4.00 mm" == found.message


def test_a_deep_slot_cut_in_passes_is_judged_pass_by_pass() -> None:
    text = program("G0 X10 Y0\nG1 Z7 F200\nG1 X30\nG1 X10 Z4\nG1 X30\nG1 X10 Z2\nG1 X30")
    assert [] == deeper_than_flutes.check(inputs(text, bits=SHORT))


def test_a_pass_that_leaves_the_slot_at_its_full_depth_stops() -> None:
    text = program("G0 X10 Y0\nG1 Z7 F200\nG1 X30\nG1 X10 Z4\nG1 X30.5")
    (found,) = deeper_than_flutes.check(inputs(text, bits=SHORT))
    assert line_of(text, "G1 X30.5") == found.program_line


def test_a_ramp_into_the_wood_counts_what_stands_where_the_bit_comes_first() -> None:
    # 3 mm down over 20 mm: nowhere is the wood ahead more than 4 mm above the tip.
    text = program("G0 X10 Y0\nG1 Z9.5 F200\nG1 X30 Z6.5\nG1 X10\nG1 X30 Z4\nG1 X10")
    assert [] == deeper_than_flutes.check(inputs(text, bits=SHORT))


def test_a_plunge_deeper_than_the_edges_stops() -> None:
    text = program("G0 X10 Y0\nG1 Z5 F200")
    (found,) = deeper_than_flutes.check(inputs(text, bits=SHORT))
    assert line_of(text, "G1 Z5 F200") == found.program_line
