"""Wood left standing that was asked to be cut is found, demand by demand."""

import pytest
from shapely.geometry import Point, box

from tests.support.check_input_builder import demand, inputs, operation, program
from toolpaths.verification.checks.shape import uncut
from toolpaths.verification.finding import Severity

SLOT = demand(box(10, -3, 30, 3).union(Point(10, 0).buffer(3, 64)).union(Point(30, 0).buffer(3, 64)), 8.0)
CUT = program("G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000")


def test_a_slot_cut_as_asked_leaves_nothing() -> None:
    assert [] == uncut.check(inputs(CUT, demands=[SLOT]))


@pytest.mark.parametrize(("z", "expected"), [("8.019", 0), ("8.021", 1)])
def test_two_hundredths_may_stay(z: str, expected: int) -> None:
    text = CUT.replace("G1 Z8 F200", f"G1 Z{z} F200")
    assert expected == len(uncut.check(inputs(text, demands=[SLOT])))


def test_a_pass_that_ends_early_is_told_with_its_height_place_and_line_of_the_job() -> None:
    text = CUT.replace("X30", "X28")
    (found,) = uncut.check(inputs(text, demands=[SLOT]))
    assert Severity.stop == found.severity
    assert ("pocket", 7) == (found.feature, found.job_line)
    assert "Check the passes there. 2.000 mm too high" in found.message
    assert found.x == pytest.approx(31.5, abs=1.5)
    # The slot's end less the same end 2 mm earlier: 6 x 2 mm, a little less by the tolerance at its edges.
    assert float(found.said.measured.split(", ")[1].removesuffix(" mm²")) == pytest.approx(12.0, rel=0.06)


@pytest.mark.parametrize("pitch", [0.1, 0.25, 0.5])
@pytest.mark.parametrize(("y", "expected"), [("0.02", False), ("0.045", True)])
def test_a_wall_left_by_hundredths_is_found_by_probes_at_any_pitch(y: str, expected: bool, pitch: float) -> None:
    text = CUT.replace("X10 Y0", f"X10 Y{y}")
    assert expected == bool(uncut.check(inputs(text, demands=[SLOT], pitch=pitch)))


def test_two_demands_left_are_told_one_by_one_by_name() -> None:
    near = demand(Point(0, -8).buffer(3, 64), 8.0, name="near", radius=3.0)
    far = demand(Point(0, 8).buffer(3, 64), 7.0, name="far", radius=3.0)
    found = uncut.check(inputs(CUT, demands=[SLOT, near, far]))
    assert ["far", "near"] == [f.said.at for f in found]


def test_a_feature_that_another_program_finishes_is_not_this_programs_matter() -> None:
    text = CUT.replace("X30", "X28")
    assert [] == uncut.check(inputs(text, demands=[SLOT], operations=[operation("another")]))


def test_inside_corners_are_left_for_the_hands() -> None:
    square = demand(box(7, -3, 33, 3), 8.0)
    assert [] == uncut.check(inputs(CUT, demands=[square]))


@pytest.mark.parametrize("pitch", [0.1, 0.25, 0.5])
@pytest.mark.parametrize(("z", "expected"), [("8.0185", 0), ("8.0215", 1), ("8.03", 1), ("8.039", 1)])
def test_a_strip_beside_a_wall_may_stand_as_high_as_any_place(z: str, expected: int, pitch: float) -> None:
    # The last 0.045 mm before the wall, narrower than most cells: at 0.5 mm the probes beside the edge alone see it.
    text = program(f"G0 X10 Y0\nG1 Z{z} F200\nG1 X30 F1000\nG1 Y-0.045 Z8\nG1 X10")
    found = uncut.check(inputs(text, demands=[SLOT], pitch=pitch))
    assert expected == len(found)
    assert pitch < 0.5 or all("a narrow strip" in f.message for f in found)
    assert all(f"{float(z) - 8:.3f} mm too high" in f.message for f in found)
