"""Wood cut away that nobody asked for is found, with its depth, its place and the first line to blame."""

import pytest
from shapely.geometry import box

from tests.support.check_input_builder import demand, inputs, line_of, program
from toolpaths.pipeline.judge import settled
from toolpaths.verification.checks.shape import gouge
from toolpaths.verification.finding import Severity

POCKET = demand(box(7, -3, 33, 3).buffer(0), 8.0)
"""6 mm wide and 2 deep, 26 mm long: what one pass of the 6 mm bit makes between x 10 and 30, but for its corners."""
CUT = program("G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000")


def test_a_cut_as_deep_as_asked_is_no_gouge() -> None:
    assert [] == gouge.check(inputs(CUT, demands=[POCKET]))


def test_a_line_that_goes_deeper_is_named_with_the_depth_below_what_is_allowed() -> None:
    text = program("G0 X10 Y0\nG1 Z8 F200\nG1 X20 F1000\nG1 X22 Z7.7\nG1 X30 Z8")
    (found,) = gouge.check(inputs(text, demands=[POCKET]))
    assert Severity.stop == found.severity
    assert line_of(text, "G1 X22 Z7.7") == found.program_line
    assert "pocket" == found.feature
    assert 7 == found.job_line
    # 8 - 7.7; the design tolerance is 0.01 mm.
    assert "the program cuts wood that must stay. Correct it, or the job. 0.300 mm too deep" in found.message
    assert "most 0.010 mm" == found.said.limit


@pytest.mark.parametrize(("z", "expected"), [("7.991", 0), ("7.989", 1)])
def test_a_hundredth_of_a_millimetre_is_the_limit(z: str, expected: int) -> None:
    text = CUT.replace("G1 Z8 F200", f"G1 Z{z} F200")
    assert expected == len(gouge.check(inputs(text, demands=[POCKET])))


@pytest.mark.parametrize(
    ("z", "never"),
    # 0.01 below the floor is allowed; 0.05 below that is never accepted: common practice, no source.
    [("7.985", False), ("7.941", False), ("7.939", True), ("7.5", True), ("6", True)],
)
def test_more_than_a_few_hundredths_are_never_accepted(z: str, never: bool) -> None:
    text = CUT.replace("G1 Z8 F200", f"G1 Z{z} F200")
    found = gouge.check(inputs(text, demands=[POCKET]))
    stops, _ = settled(found, [("gouge", "pocket")])
    assert never == any(f.severity is Severity.stop for f in stops)
    assert all(never == f.never_accepted for f in found)


def test_a_count_of_more_is_never_accepted_where_they_are_not() -> None:
    stabs = "\n".join(f"G0 X{-8 + 8 * i} Y{y}\nG1 Z9 F200\nG0 Z16" for i in range(7) for y in (-10, 10))
    found, accepted = settled(gouge.check(inputs(program(stabs), demands=[POCKET])), [("gouge", "pocket")])
    assert {Severity.stop} == {f.severity for f in found}
    assert () == accepted


@pytest.mark.parametrize(("y", "expected"), [("0.02", 0), ("0.03", 1)])
@pytest.mark.parametrize("pitch", [0.1, 0.25, 0.5])
def test_a_wall_moved_by_hundredths_is_found_by_probes_at_any_pitch(y: str, expected: int, pitch: float) -> None:
    # eps = 0.02 + half of the last digit (0.0005); probes lie 0.002 outside.
    text = CUT.replace("X10 Y0", f"X10 Y{y}")
    assert expected == len(gouge.check(inputs(text, demands=[POCKET], pitch=pitch)))


def test_what_an_earlier_program_cut_too_low_is_not_told_again() -> None:
    deep = program("G0 X10 Y0\nG1 Z7 F200\nG1 X30 F1000")
    assert 1 == len(gouge.check(inputs(deep, demands=[POCKET])))
    assert [] == gouge.check(inputs(CUT, earlier=deep, demands=[POCKET]))


def test_a_new_gouge_beside_an_old_one_is_told() -> None:
    deep = program("G0 X10 Y0\nG1 Z7 F200\nG1 X20 F1000")
    text = CUT.replace("G1 X30 F1000", "G1 X30 Z7.5 F1000")
    (found,) = gouge.check(inputs(text, earlier=deep, demands=[POCKET]))
    assert line_of(text, "G1 X30 Z7.5 F1000") == found.program_line


def test_a_cut_where_nothing_is_asked_is_a_gouge_with_its_area() -> None:
    text = program("G0 X0 Y-8\nG1 Z9 F200\nG1 X0 Y-7.9 F1000", feature="elsewhere")
    (found,) = gouge.check(inputs(text, demands=[POCKET]))
    area = float(found.said.measured.split(", ")[1].removesuffix(" mm²"))
    assert area == pytest.approx(28.27 + 0.6, abs=1.0)  # pi 3^2 + 6 x 0.1; cells of 0.25 mm
    assert "elsewhere" == found.feature
    assert (found.x, found.y) == (pytest.approx(0, abs=3.1), pytest.approx(-8, abs=3.1))


def test_many_gouges_end_in_a_count() -> None:
    stabs = "\n".join(f"G0 X{-8 + 8 * i} Y{y}\nG1 Z9 F200\nG0 Z16" for i in range(7) for y in (-10, 10))
    found = gouge.check(inputs(program(stabs), demands=[POCKET]))
    assert 11 == len(found)
    assert "and 4 more of this kind in pocket" in found[-1].message


def test_a_gouge_all_over_the_block_is_one_finding() -> None:
    rows = "\n".join(f"G0 X-15 Y{y}\nG1 Z9 F200\nG1 X55 F1000\nG0 Z16" for y in range(-15, 16, 5))
    (found,) = gouge.check(inputs(program(rows)))
    area = float(found.said.measured.split(", ")[1].removesuffix(" mm²"))
    assert area == pytest.approx(60 * 30, rel=0.01)


@pytest.mark.parametrize("pitch", [0.1, 0.25, 0.5])
@pytest.mark.parametrize(("z", "expected"), [("9.9915", 0), ("9.9885", 1), ("9.985", 1), ("9.981", 1)])
def test_a_scratch_beside_a_wall_is_judged_by_the_same_hundredth(z: str, expected: int, pitch: float) -> None:
    # 0.03 mm beyond the wall, narrower than a cell: the probes beside the edge alone see it.
    text = program(f"G0 X10 Y0\nG1 Z8 F200\nG1 X30 F1000\nG1 Z{z}\nG1 Y0.03\nG1 X10")
    found = gouge.check(inputs(text, demands=[POCKET], pitch=pitch))
    assert expected == len(found)
    assert all("a narrow strip" in f.message for f in found)
    assert all(abs(float(f.said.measured.split(" mm too deep")[0]) - (10 - float(z))) < 6e-4 for f in found)
