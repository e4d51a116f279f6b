"""Examples and rules that the standard itself works out, through our reader.

Source of all: Kramer, Proctor, Messina, The NIST RS274/NGC Interpreter, Version 3, NISTIR 6556 (2000).
"""

from __future__ import annotations

import math

import pytest

from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import ARC_CW, Trace, arc_sweep


def from_place(x: float, y: float, line: str, units: str = "G21") -> Trace:
    return read(f"{units} G90\nG0 X{x} Y{y} Z0\nF100\n{line}\n")


def test_section_3_5_3_2_an_arc_about_10_11_with_radius_5() -> None:
    # "G17 G2 X10 Y16 I3 J4 Z9" from (7, 7): centre (10, 11), radius 5; as stored here, without its Z.
    trace = from_place(7, 7, "G17 G2 X10 Y16 I3 J4")
    assert ARC_CW == trace.kind[-1]
    assert [10, 11] == trace.centre[-1][:2].tolist()
    assert [10, 16] == trace.end[-1][:2].tolist()
    radius, _, sweep = arc_sweep(trace.start[-1], trace.end[-1], trace.centre[-1], 17, False)
    assert 5 == pytest.approx(radius)
    # Derived: from the angle of (-3, -4) clockwise to that of (0, 5).
    assert math.pi / 2 - math.atan2(-4, -3) - 2 * math.pi == pytest.approx(sweep)


def test_section_3_5_3_2_with_height_is_a_helix_about_the_same_centre() -> None:
    trace = from_place(7, 7, "G17 G2 X10 Y16 I3 J4 Z9")
    assert [10, 16, 9] == trace.end[-1].tolist()
    assert [10, 11, 0] == trace.centre[-1].tolist()


def test_table_12_an_arc_whose_radii_are_both_1() -> None:
    # "G2 Y-0.2 J1" from (-2, -2): the centre is (-2, -1).
    trace = from_place(-2, -2, "G2 X-2.6 Y-0.2 J1")
    assert [-2, -1] == trace.centre[-1][:2].tolist()
    start, end, centre = trace.start[-1], trace.end[-1], trace.centre[-1]
    assert 1 == pytest.approx(math.dist(start, centre), abs=1e-12)
    assert 1 == pytest.approx(math.dist(end, centre), abs=1e-12)


def test_blanks_and_case_count_for_nothing() -> None:
    # "g0x +0. 12 34y 7" is equivalent to "g0 x+0.1234 y7".
    odd, plain = read("G21\ng0x +0. 12 34y 7"), read("G21\ng0 x+0.1234 y7")
    assert plain.end[0][:2].tolist() == odd.end[0][:2].tolist()
    assert [0.1234, 7] == odd.end[0][:2].tolist()


@pytest.mark.parametrize(("units", "rule"), [("G21", 0.002), ("G20", 0.0002)])
def test_radii_at_start_and_end_may_differ_by_the_rule(units: str, rule: float) -> None:
    # 3.5.3.2: an error if they differ by more than 0.002 mm, or 0.0002 in; the two are not equal.
    inside, outside = rule * 0.98, rule * 1.02
    assert 4 == len(from_place(0, 0, f"G2 X{2 + inside:.6f} Y0 I1\nG0 X0\nX1", units))
    with pytest.raises(ReadError, match="line 4: the arc has radii of"):
        from_place(0, 0, f"G2 X{2 + outside:.6f} Y0 I1", units)


def test_table_8_the_spindle_changes_before_the_motion_of_its_line() -> None:
    # Section 3.8, Table 8: S, then M3 or M5, then motion, whatever the order on the line.
    trace = read("G21 G90\nG0 X1 Y1 Z1 M3 S9000\nF10\nG1 X2 M5\n")
    assert [9000, 0] == trace.rpm.tolist()


def test_lengths_of_lines_and_numbers() -> None:
    # 256 characters a line; a line number is 0 to 99999.
    assert 1 == len(read("N99999 G0 X1".ljust(256)))
    for text in ("G0 X1".ljust(257), "N100000 G0 X1"):
        with pytest.raises(ReadError, match="line 1: "):
            read(text)


def test_both_end_words_end_a_program() -> None:
    assert read("G21\nM2\n").ended
    assert read("G21\nM30\n").ended
    assert not read("%\nG21\n%\n").ended
