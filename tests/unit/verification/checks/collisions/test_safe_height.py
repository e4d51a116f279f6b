"""Rapids sideways keep clear of blank and clamps, and nothing moves sideways before its height is known."""

from dataclasses import replace

import numpy as np
import pytest

from tests.support.check_input_builder import MACHINE, inputs, line_of, program
from toolpaths.gcode.reader.trace import FEED
from toolpaths.job.stock import KeepOut
from toolpaths.verification.checks.collisions import safe_height
from toolpaths.verification.finding import Severity

CLAMP = KeepOut(name="toe clamp", x=(60.0, 70.0), y=(-5.0, 5.0), height=20.0)


@pytest.mark.parametrize(("z", "expected"), [("11", 0), ("10.9", 1), ("12", 0)])
def test_a_rapid_over_the_blank_stays_a_millimetre_above_it(z: str, expected: int) -> None:
    text = program(f"G0 X10 Y0\nG0 Z{z}\nG0 X30")
    found = safe_height.check(inputs(text))
    assert [line_of(text, "G0 X30")] * expected == [f.program_line for f in found]
    assert all(f.severity is Severity.stop for f in found)


def test_less_is_enough_where_the_machines_safe_height_is_less() -> None:
    low = MACHINE.model_copy(update={"safe_height": 0.5})
    assert [] == safe_height.check(inputs(program("G0 X10 Y0\nG0 Z10.6\nG0 X30"), on=low))


def test_beside_the_blank_a_low_rapid_is_fine_until_the_bit_overlaps_it() -> None:
    beside = "G0 X0 Y-18.1\nG0 Z5\nG0 X30"
    assert [] == safe_height.check(inputs(program(beside)))
    (found,) = safe_height.check(inputs(program(beside.replace("-18.1", "-17.9"))))
    assert "over the blank. Raise Z first. 5.00 mm above the bed; least 11.00 mm" in found.message


def test_a_rapid_over_a_clamp_stays_a_millimetre_above_the_clamp() -> None:
    over = "G0 Z25\nG0 X50 Y0\nG0 Z20.5\nG0 X80\nG0 Y40"
    (found,) = safe_height.check(inputs(program(over), keep_out=[CLAMP]))
    assert "a rapid passes too low over toe clamp" == found.said.wrong
    assert "least 21.00 mm" == found.said.limit
    assert [] == safe_height.check(inputs(program(over.replace("20.5", "21")), keep_out=[CLAMP]))


def test_a_slanted_rapid_is_judged_where_it_is_over_the_blank() -> None:
    # Down from 16 at x 0 to 6 at x 100: over the blank's end and 3 mm more, x 53, it is at 10.7.
    found = safe_height.check(inputs(program("G0 X0 Y0\nG0 X100 Z6\nG0 Z16")))
    assert 1 == len(found)
    assert "10.70 mm above the bed" == found[0].said.measured


def test_sideways_before_the_height_is_known_stops() -> None:
    text = program("G0 X10 Y0\nG1 Z8 F200").replace("G54\nG0 Z16", "G54\nG0 X0 Y0\nG0 Z16")
    (found,) = safe_height.check(inputs(text))
    assert line_of(text, "G0 X0 Y0") == found.program_line
    assert "raise Z alone first" == found.said.todo


def test_a_first_cut_from_an_unknown_place_stops() -> None:
    # The reader refuses such a text; the check does not lean on that.
    good = inputs(program("G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000"))
    cut = int(np.nonzero(good.trace.kind == FEED)[0][0])
    start = good.trace.start.copy()
    start[cut, 0] = np.nan
    (found,) = safe_height.check(replace(good, trace=replace(good.trace, start=start)))
    assert int(good.trace.line[cut]) == found.program_line
    assert "the bit cuts from a place that is not set yet" == found.said.wrong


def test_the_usual_beginning_is_clean() -> None:
    assert [] == safe_height.check(
        inputs(program("G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000"), keep_out=[CLAMP.model_copy(update={"height": 12.0})])
    )
