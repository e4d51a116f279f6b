"""Every part that turns keeps clear of every clamp, on rapids and cuts alike."""

import pytest

from tests.support.check_input_builder import MACHINE, inputs, line_of, program
from toolpaths.job.stock import KeepOut
from toolpaths.verification.checks.collisions import keep_out
from toolpaths.verification.finding import Severity


def clamp(height: float = 12.0) -> KeepOut:
    return KeepOut(name="end stop", x=(60.0, 70.0), y=(-5.0, 5.0), height=height)


@pytest.mark.parametrize(("x", "expected"), [("57", 0), ("57.01", 1)])
def test_a_cut_may_touch_a_clamp_and_no_more(x: str, expected: int) -> None:
    # 60 less the bit's radius of 3.
    text = program(f"G0 X40 Y0\nG1 Z8 F200\nG1 X{x} F1000\nG1 X40")
    found = [f for f in keep_out.check(inputs(text, keep_out=[clamp()])) if f.program_line]
    assert expected == sum(f.program_line == line_of(text, f"G1 X{x} F1000") for f in found)
    assert all(f.severity is Severity.stop for f in found)


def test_the_message_says_which_part_which_clamp_and_by_how_much() -> None:
    text = program("G0 X65 Y0\nG0 Z9.5\nG0 Z16")
    found = keep_out.check(inputs(text, keep_out=[clamp()]))
    assert "the bit hits end stop. Move it or the cut. 2.50 mm below its top of 12.00 mm" == found[0].message


def test_past_a_corner_the_true_distance_counts() -> None:
    # From the corner (60, 5): 3 mm off along the diagonal is 2.1213 each way.
    far = program("G0 X57.87 Y7.13\nG0 Z8\nG0 Z16")
    near = program("G0 X57.89 Y7.11\nG0 Z8\nG0 Z16")
    assert [] == keep_out.check(inputs(far, keep_out=[clamp()]))
    assert 0 < len(keep_out.check(inputs(near, keep_out=[clamp()])))


def test_a_rapid_over_the_clamp_is_clean_from_its_height_up() -> None:
    over = "G0 Z{}\nG0 X50 Y0\nG0 X80"
    assert [] == keep_out.check(inputs(program(over.format("12")), keep_out=[clamp()]))
    assert 0 < len(keep_out.check(inputs(program(over.format("11.99")), keep_out=[clamp()])))


def test_the_collet_nut_is_seen_above_a_short_bit() -> None:
    # The thin bit sticks out 12 mm: at Z 2 the nut (9.5 mm in radius) begins at 14, and the clamp stands 15 high.
    text = program("G0 X51.5 Y0\nG1 Z2 F200\nG0 Z16", bit=2)
    found = keep_out.check(inputs(text, keep_out=[clamp(15.0)]))
    assert "the collet nut hits end stop. Move it or the cut. 1.00 mm below its top" in found[0].message
    assert [] == keep_out.check(inputs(text.replace("X51.5", "X50.4"), keep_out=[clamp(15.0)]))


def test_a_slanted_move_is_judged_at_its_lowest_over_the_clamp() -> None:
    # From z 20 at x 40 to z 10 at x 60: where the bit reaches the clamp, x 57, the tip is at 11.5; it ends at 10.
    text = program("G0 Z20\nG0 X40 Y0\nG1 X60 Z10 F1000\nG1 Z20")
    found = keep_out.check(inputs(text, keep_out=[clamp()]))
    assert any("2.00 mm below its top" in f.message for f in found)


def test_before_the_place_is_known_the_bit_may_be_over_any_clamp() -> None:
    text = program("G0 X10 Y0").replace("G0 Z16\nT1", "G0 Z11\nT1")
    found = keep_out.check(inputs(text, keep_out=[clamp()]))
    assert any("the bit may hit end stop: X and Y are not set yet" in f.message for f in found)


def test_arcs_are_followed() -> None:
    # Half a turn about (57, 0) with radius 2 reaches x 59: 2 mm past where the bit touches.
    text = program("G0 X57 Y-2\nG1 Z8 F200\nG3 X57 Y2 J2 F1000\nG0 Z16")
    arc = line_of(text, "G3 X57 Y2 J2 F1000")
    assert arc in {f.program_line for f in keep_out.check(inputs(text, keep_out=[clamp()]))}
    text = program("G0 X55 Y-1.9\nG1 Z8 F200\nG3 X55 Y1.9 J1.9 F1000\nG0 Z16")
    assert [] == keep_out.check(inputs(text, keep_out=[clamp()]))


def test_what_the_last_digit_of_the_text_takes_is_touching() -> None:
    # Inch text of four decimals: 12 mm is 0.4724 in, which is 11.999 mm; 0.4723 is 11.9964.
    inches = MACHINE.model_copy(update={"units": "in", "decimals": 4})

    def over(z: str) -> str:
        return program(f"G0 Z{z}\nG0 X2 Y0\nG0 X3").replace("G21", "G20").replace("16", "1")

    assert [] == keep_out.check(inputs(over("0.4724"), keep_out=[clamp()], on=inches))
    assert 0 < len(keep_out.check(inputs(over("0.4723"), keep_out=[clamp()], on=inches)))


@pytest.mark.parametrize(
    ("part", "x", "rises"),
    # Bit 1: radius 3, shank 5.9 from 12 up, nut 19 from 30 up, holder 40 from 42 up; the clamp begins at x 60.
    [("the bit", 58.0, 0.0), ("the collet nut", 52.0, 30.0), ("the tool holder", 42.0, 42.0)],
)
def test_each_part_begins_at_its_own_height_above_the_tip(part: str, x: float, rises: float) -> None:
    text = program(f"G0 X{x} Y0\nG0 Z2\nG0 Z16")
    for over, expected in ((-0.01, 0), (0.02, 1)):
        found = keep_out.check(inputs(text, keep_out=[clamp(2.0 + rises + over)]))
        assert expected == sum(f.message.startswith(part) for f in found)
    # And no wider than it is: a hundredth further off it passes by.
    reach = {"the bit": 3.0, "the collet nut": 9.5, "the tool holder": 20.0}[part]
    for aside, expected in ((0.01, 0), (-0.02, 1)):
        near = program(f"G0 X{60 - reach - aside:.3f} Y0\nG0 Z2\nG0 Z16")
        found = keep_out.check(inputs(near, keep_out=[clamp(2.0 + rises + 1.0)]))
        assert expected == sum(f.message.startswith(part) for f in found)


# Clearance


@pytest.mark.parametrize("clear", [0.2, 1.0, 2.5])
def test_beside_and_above_a_holder_the_clearance_is_kept(clear: float) -> None:
    """Beside: 60 less the bit's radius of 3 and the clearance. Above: 12 and the clearance."""
    for aside, expected in ((0.01, 0), (-0.02, 1)):
        cut = f"G1 X{57 - clear - aside:.3f} F1000"
        text = program(f"G0 X40 Y0\nG1 Z8 F200\n{cut}\nG1 X40")
        found = keep_out.check(inputs(text, keep_out=[clamp()], clearance=clear))
        assert expected == len({f.program_line for f in found} & {line_of(text, cut)})
        if expected:
            assert "the bit is too near end stop" == found[0].said.wrong
            assert ("12.00 mm high", f"least {clear:.3f} mm apart") == (found[0].said.measured, found[0].said.limit)
    for above, expected in ((0.0, 0), (-0.02, 1)):
        text = program(f"G0 Z{12 + clear + above:.3f}\nG0 X50 Y0\nG0 X80\nG0 Z20")
        assert expected <= len(keep_out.check(inputs(text, keep_out=[clamp()], clearance=clear))) <= 3 * expected


def test_what_passes_through_comes_before_what_only_comes_near() -> None:
    text = program("G0 X40 Y0\nG1 Z8 F200\nG1 X56.5 F1000\nG1 X40\nG0 Z20\nG0 X65\nG1 Z11 F200\nG0 Z20")
    found = keep_out.check(inputs(text, keep_out=[clamp()], clearance=1.0))
    assert "hits end stop" in found[0].message
    assert "too near end stop" in found[-1].message
