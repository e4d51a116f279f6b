"""Every pass takes what the bit can bear, measured in the wood that stands then. The operation allows 2 mm."""

import pytest

from tests.support.check_input_builder import inputs, line_of, program
from toolpaths.verification.checks.loads import pass_depth
from toolpaths.verification.finding import Severity


@pytest.mark.parametrize(("z", "expected"), [("8", 0), ("7.91", 0), ("7.89", 1)])
def test_a_twentieth_more_than_the_pass_depth_passes(z: str, expected: int) -> None:
    text = program(f"G0 X-20 Y0\nG1 Z{z} F200\nG1 X30 F1000")
    found = pass_depth.check(inputs(text))
    assert [line_of(text, "G1 X30 F1000")] * expected == [f.program_line for f in found]
    assert all(f.severity is Severity.warn for f in found)


@pytest.mark.parametrize(("z", "severity"), [("6.01", Severity.warn), ("5.99", Severity.stop)])
def test_more_than_twice_the_pass_depth_stops(z: str, severity: Severity) -> None:
    (found,) = pass_depth.check(inputs(program(f"G0 X-20 Y0\nG1 Z{z} F200\nG1 X30 F1000")))
    assert severity == found.severity
    assert (f"{10 - float(z):.2f} mm at once", "most 2.00 mm") == (found.said.measured, found.said.limit)


def test_passes_one_below_the_other_are_judged_each_in_the_wood_that_is_left() -> None:
    text = program("G0 X10 Y0\nG1 Z8 F200\nG1 X30\nG1 Z6\nG1 X10\nG1 Z4\nG1 X30")
    assert [] == pass_depth.check(inputs(text))


def test_a_pass_left_out_shows_in_the_next() -> None:
    text = program("G0 X10 Y0\nG1 Z8 F200\nG1 X30\nG1 Z4\nG1 X10")
    (found,) = pass_depth.check(inputs(text))
    assert line_of(text, "G1 X10") == found.program_line
    assert "4.00 mm at once" == found.said.measured


def test_a_skim_along_a_deep_wall_is_no_pass() -> None:
    # A slot to Z 4 in passes, then 0.3 mm off its wall at full depth.
    slot = "G0 X10 Y0\nG1 Z8 F200\nG1 X30\nG1 Z6\nG1 X10\nG1 Z4\nG1 X30\n"
    assert [] == pass_depth.check(inputs(program(slot + "G1 Y0.3\nG1 X10")))
    # Taking half of the bit's width at that depth is one.
    assert 1 == len(pass_depth.check(inputs(program(slot + "G1 Y3\nG1 X10"))))


def test_a_turn_down_a_helix_takes_its_pitch() -> None:
    # A bore of 10 mm with the 6 mm bit: 2 mm a turn passes, 3 mm a turn does not.
    def bore(pitch: float) -> str:
        turns = "\n".join(f"G3 X12 Y0 Z{10 - pitch * n:g} I-2 F700" for n in range(1, int(8 / pitch) + 1))
        return program(f"G0 X12 Y0\nG1 Z10 F200\n{turns}")

    assert [] == pass_depth.check(inputs(bore(2.0)))
    (found,) = pass_depth.check(inputs(bore(3.0)))
    # What the turn above has left ahead of the bit is a little less than a whole pitch.
    assert 2.5 < float(found.said.measured.split(" mm")[0]) <= 3.0


def test_a_circle_in_the_solid_is_a_pass_though_its_chords_are_short() -> None:
    text = program("G0 X12 Y0\nG1 Z7 F200\nG3 X12 Y0 I-8 F700")
    (found,) = pass_depth.check(inputs(text))
    assert "3.00 mm at once" == found.said.measured


def test_a_ramp_at_the_pass_depth_passes_and_the_cut_back_along_its_floor_too() -> None:
    text = program("G0 X10 Y0\nG1 Z10 F200\nG1 X30 Z8 F700\nG1 X10\nG1 X30 Z6\nG1 X10")
    assert [] == pass_depth.check(inputs(text))


def test_what_goes_into_the_bed_is_no_wood() -> None:
    slot = "G0 X10 Y0\nG1 Z8 F200\nG1 X30\nG1 Z6\nG1 X10\nG1 Z4\nG1 X30\nG1 Z2.05\nG1 X10\n"
    assert [] == pass_depth.check(inputs(program(slot + "G1 Z-0.2\nG1 X30")))


def test_a_single_line_that_dips_is_found() -> None:
    text = program("G0 X-20 Y0\nG1 Z8 F200\nG1 X20 F1000\nG1 X24 Z7\nG1 X28 Z8\nG1 X55")
    (found,) = pass_depth.check(inputs(text))
    assert line_of(text, "G1 X24 Z7") == found.program_line


@pytest.mark.parametrize("pitch", [0.1, 1.0])
def test_the_maps_pitch_changes_no_verdict(pitch: float) -> None:
    earlier = program("G0 X10 Y0\nG1 Z8 F200\nG1 X30")
    good = program("G0 X10 Y0\nG1 Z6 F200\nG1 X30")
    bad = program("G0 X10 Y0\nG1 Z6 F200\nG1 X34")
    assert [] == pass_depth.check(inputs(good, earlier=earlier, pitch=pitch))
    assert 1 == len(pass_depth.check(inputs(bad, earlier=earlier, pitch=pitch)))
