"""Rapids are judged against the wood as it stands before each of them."""

import pytest

from tests.support.check_input_builder import BITS, MACHINE, WIDE, inputs, line_of, program
from toolpaths.verification.checks.collisions import rapid_in_wood
from toolpaths.verification.finding import Severity

CUT = "G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000\n"


def test_rapids_above_the_wood_and_a_retract_out_of_the_cut_are_clean() -> None:
    assert [] == rapid_in_wood.check(inputs(program(CUT)))


def test_a_rapid_down_into_wood_stops_with_the_depth() -> None:
    text = program("G0 X10 Y0\nG0 Z9.5\nG1 X30 F1000")
    (found,) = rapid_in_wood.check(inputs(text))
    assert Severity.stop == found.severity
    assert line_of(text, "G0 Z9.5") == found.program_line
    assert "0.500 mm deep" in found.message


def test_a_rapid_down_to_the_top_of_the_wood_touches_and_does_not_cut() -> None:
    assert [] == rapid_in_wood.check(inputs(program("G0 X10 Y0\nG0 Z10\nG1 X30 F1000")))


def test_a_rapid_where_the_wood_has_been_cut_before_is_clean() -> None:
    # A slot 8 mm wide, cut by the same program; then down and along its middle.
    body = "G0 X10 Y-1\nG1 Z8 F200\nG1 X30 F1000\nG1 Y1\nG1 X10\nG0 Z16\nG0 X12 Y0\nG0 Z8\nG0 X28\n"
    assert [] == rapid_in_wood.check(inputs(program(body)))


def test_the_same_rapid_before_the_cut_stops() -> None:
    body = "G0 X12 Y0\nG0 Z8\nG0 X28\nG0 Z16\nG0 X10 Y-1\nG1 Z8 F200\nG1 X30 F1000\nG1 Y1\nG1 X10\n"
    found = rapid_in_wood.check(inputs(program(body)))
    text = program(body)
    assert [line_of(text, "G0 Z8"), line_of(text, "G0 X28")] == [f.program_line for f in found]


@pytest.mark.parametrize(("y", "expected"), [("0.9", 0), ("1.1", 1)])
def test_a_rapid_that_clips_a_wall_by_a_tenth_is_found(y: str, expected: int) -> None:
    # The slot is 8 mm wide, the bit 6: its middle may stray 1 mm.
    earlier = program("G0 X10 Y-1\nG1 Z8 F200\nG1 X30 F1000\nG1 Y1\nG1 X10")
    text = program(f"G0 X12 Y0\nG0 Z8\nG1 Y{y} F1000\nG1 Y0\nG0 X20 Y{y}\nG0 X28 Y0")
    found = rapid_in_wood.check(inputs(text, earlier=earlier))
    assert expected == len([f for f in found if f.program_line == line_of(text, f"G0 X20 Y{y}")])


@pytest.mark.parametrize("pitch", [0.1, 1.0])
def test_a_thin_rib_in_the_way_is_found_at_any_pitch(pitch: float) -> None:
    # Two slots of 6 mm leave a rib of 0.3 mm between y -0.15 and 0.15.
    earlier = program("G0 X10 Y-3.15\nG1 Z8 F200\nG1 X30 F1000\nG0 Z16\nG0 X10 Y3.15\nG1 Z8 F200\nG1 X30 F1000")
    text = program("G0 X20 Y-3.15\nG0 Z8.5\nG0 Y3.15")
    (found,) = rapid_in_wood.check(inputs(text, earlier=earlier, pitch=pitch))
    assert line_of(text, "G0 Y3.15") == found.program_line
    assert found.y is not None


def test_a_first_rapid_in_z_below_the_wood_stops_because_the_place_is_unknown() -> None:
    text = program(CUT).replace("G0 Z16\nT1", "G0 Z9\nT1")
    found = rapid_in_wood.check(inputs(text))
    assert line_of(text, "G0 Z9") == found[0].program_line
    assert "a rapid may hit wood: X and Y are not set yet" == found[0].said.wrong
    assert [] == rapid_in_wood.check(inputs(text.replace("G0 Z9", "G0 Z10.5")))


def test_a_slanted_rapid_that_leaves_the_cut_too_early_stops() -> None:
    text = program(CUT + "G0 X45 Z16")
    (found,) = rapid_in_wood.check(inputs(text))
    assert line_of(text, "G0 X45 Z16") == found.program_line


def test_a_wide_bit_that_comes_down_beside_the_block_is_clean_and_half_on_it_is_not() -> None:
    bits = {**BITS, 1: ("wide", WIDE)}
    beside = program("G0 X-20.1 Y0\nG0 Z9\nG1 X60 F1000")
    assert [] == rapid_in_wood.check(inputs(beside, bits=bits))
    assert 1 == len(rapid_in_wood.check(inputs(beside.replace("-20.1", "-19.5"), bits=bits)))


def test_a_coarser_output_digit_widens_what_counts_as_touching() -> None:
    machine = MACHINE.model_copy(update={"decimals": 2})
    text = program("G0 X10 Y0\nG0 Z9.996\nG1 X30 F1000")
    assert 1 == len(rapid_in_wood.check(inputs(text)))
    assert [] == rapid_in_wood.check(inputs(text, on=machine))
