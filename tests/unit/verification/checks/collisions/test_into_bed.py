"""The tip stays above the bed, but for the machine's bed allowance."""

import pytest

from tests.support.check_input_builder import inputs, line_of, program
from toolpaths.verification.checks.collisions import into_bed
from toolpaths.verification.finding import Severity


@pytest.mark.parametrize(("z", "expected"), [("-0.2", 0), ("-0.21", 0), ("-0.212", 1), ("-3", 1)])
def test_the_bed_allowance_and_a_hundredth_pass(z: str, expected: int) -> None:
    text = program(f"G0 X10 Y0\nG1 Z{z} F200")
    found = into_bed.check(inputs(text))
    assert [line_of(text, f"G1 Z{z} F200")] * expected == [f.program_line for f in found]
    assert all(f.severity is Severity.stop for f in found)


def test_it_counts_beside_the_blank_and_for_rapids_too() -> None:
    text = program("G0 X-30 Y0\nG0 Z-1")
    (found,) = into_bed.check(inputs(text))
    assert "the bit goes too deep into the bed" == found.said.wrong
    assert ("1.00 mm", "most 0.20 mm") == (found.said.measured, found.said.limit)


def test_heights_are_from_the_bed_wherever_z_is_zero() -> None:
    # Zero on the stock's top, 10 mm up: Z -10.2 is the bed allowance, Z -11 is 1 mm into the bed.
    text = program("G0 X10 Y0\nG1 Z-10.2 F200")
    assert [] == into_bed.check(inputs(text, z="stock top"))
    (found,) = into_bed.check(inputs(text.replace("-10.2", "-11"), z="stock top"))
    assert "1.00 mm" == found.said.measured


def test_a_lifted_program_is_judged_as_if_lowered() -> None:
    text = program("G0 X10 Y0\nG1 Z19 F200").replace("Z16", "Z36")
    assert 1 == len(into_bed.check(inputs(text, lift=20.0)))
    assert [] == into_bed.check(inputs(text, lift=19.0))


def test_the_deepest_comes_first_and_inches_are_said_in_inches() -> None:
    text = program("G0 X10 Y0\nG1 Z-1 F200\nG1 Z-2")
    found = into_bed.check(inputs(text, units="in"))
    assert "0.079 in; most" in found[0].message
    assert "0.039 in; most" in found[1].message
