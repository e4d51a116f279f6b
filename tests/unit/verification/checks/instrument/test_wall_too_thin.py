"""Too thin a wall is found where it is, by how much, whatever the job says; what is meant to be open is not.

The neck in the block: half round, half width = depth = 8 mm, from the nut line to x 29.1. A point at (y, depth) of a
cut leaves 8 - sqrt(y^2 + depth^2), less 0.5 mm for the carver. The bit of 1 mm reaches 0.5 mm beside its line.
"""

import math

import pytest
from shapely import Point, box

from tests.support.check_input_builder import demand, inputs, line_of, program
from tests.support.neck_builder import on_neck
from toolpaths.job.job import Instrument
from toolpaths.verification.checks.instrument.wall_too_thin import check
from toolpaths.verification.finding import NEVER_ACCEPTED, Severity

ROD = {"pocket": "truss_rod_channel"}


def small(**neck) -> Instrument:
    """Scale 100 mm, 5 frets: the board ends at 100 (1 - 2^(-5/12)) + 4 = 29.08 mm."""
    return Instrument.model_validate(
        {
            "scale_length": 100,
            "frets": 5,
            "strings": 4,
            "board": {"width": {"nut": 16, 5: 16}, "overhang": 4, "thickness": 6},
            "neck": {"thickness": {1: 14}, **neck},
        },
        context={"units": "mm"},
    )


def channel(depth, y=0.0, x0=8.0, x1=20.0):
    """A line of the bit of 1 mm, its floor at a depth below the glue face (the block's top, Z 10)."""
    return program(f"G0 X{x0} Y{y}\nG1 Z{10 - depth:.3f} F200\nG1 X{x1} F400", bit=2)


def channel_demand(depth, y=0.0, x0=8.0, x1=20.0, **more):
    region = box(x0 - 0.5, y - 0.5, x1 + 0.5, y + 0.5)
    return demand(region, 10 - depth, name="rod channel", radius=0.5, **more)


def found(text, demands=(), kinds=ROD, made=None, **more):
    return check(on_neck(inputs(text, demands=demands), made or small(), kinds, **more))


def test_enough_wood_is_no_finding() -> None:
    # 8 - sqrt(0.5^2 + 4.4^2) - 0.5 = 3.07.
    assert [] == found(channel(4.4), [channel_demand(4.4)])


@pytest.mark.parametrize(("depth", "severity"), [(4.5, Severity.warn), (5.47, Severity.warn), (5.49, Severity.stop)])
def test_under_three_warns_and_under_two_stops(depth, severity) -> None:
    [one] = found(channel(depth), [channel_demand(depth)])
    assert ("wall-too-thin", severity) == (one.code, one.severity)
    left = 8 - math.hypot(0.5, depth) - 0.5
    assert ("the wall is too thin", f"{left:.2f} mm below") == (one.said.wrong, one.said.measured)
    assert f"least {2 if severity is Severity.stop else 3:.2f} mm" == one.said.limit


def test_the_finding_names_place_line_job_line_and_what_to_do() -> None:
    text = channel(6.0)
    [one] = found(text, [channel_demand(6.0)])
    assert line_of(text, "G1 X20.0 F400") == one.program_line or line_of(text, "G1 Z4.000 F200") == one.program_line
    assert (7, "pocket") == (one.job_line, one.feature)
    assert 7.4 < one.x < 20.6
    assert 0.5 == pytest.approx(abs(one.y), abs=0.01)
    # 8 - sqrt(0.25 + 36) - 0.5 = 1.479. 3 would be left at sqrt(4.5^2 - 0.25) = 4.472: 1.53 less, and 0.02 to spare.
    assert ("1.48 mm below", "least 2.00 mm") == (one.said.measured, one.said.limit)
    assert one.said.at.startswith("fret ")
    assert "cut 1.55 mm less deep or thicken the neck" == one.said.todo


def test_what_the_text_cuts_counts_not_what_the_job_asks_for() -> None:
    [one] = found(channel(6.0), [channel_demand(4.0)])
    assert Severity.stop is one.severity


def test_a_cut_that_nobody_asked_for_needs_its_wall_too() -> None:
    [one] = found(channel(6.0), [], {})
    assert "a cut not in the job is too deep" == one.said.wrong


def test_coming_through_the_back_says_by_how_much() -> None:
    [one] = found(channel(9.0), [channel_demand(9.0)])
    # sqrt(0.5^2 + 9^2) - 8.
    assert ("it breaks through", "open 1.01 mm") == (one.said.wrong, one.said.measured)
    assert "wall-too-thin" in NEVER_ACCEPTED


@pytest.mark.parametrize("radius", [9.0, 10.2, 11.0, 14.0, 19.0])
@pytest.mark.parametrize("depth", [7.2, 8.01, 9.5, 9.9, 10.0, 10.1])
def test_a_wall_is_never_more_than_the_blank_leaves(radius: float, depth: float) -> None:
    # The block is 10 mm thick. The finished back leaves radius - sqrt(0.5^2 + depth^2), less 0.5 mm for the carver.
    wide = Instrument.model_validate(
        {
            "scale_length": 100,
            "frets": 5,
            "strings": 4,
            "board": {"width": {"nut": 2 * radius, 5: 2 * radius}, "overhang": 4, "thickness": 6},
            "neck": {"thickness": {1: radius + 6}},
        },
        context={"units": "mm"},
    )
    carved, blank = radius - math.hypot(0.5, depth) - 0.5, 10 - depth
    [one] = found(channel(depth), [channel_demand(depth)], made=wide)
    if min(carved, blank) > 0:
        assert f"{min(carved, blank):.2f} mm below" == one.said.measured
    elif blank <= carved:
        assert one.said.wrong == ("it may break through" if depth == 10.0 else "it breaks through")
        assert depth == 10.0 or f"open {-blank:.2f} mm" == one.said.measured
    assert (f"cut {3 - blank:.2f} mm less deep or use thicker wood" == one.said.todo) == (blank <= carved)


def test_a_slot_beside_the_edge_is_told_to_move_inwards() -> None:
    [one] = found(channel(2.0, y=6.0), [channel_demand(2.0, y=6.0)], {"pocket": "reinforcement_slots"})
    # 8 - sqrt(6.5^2 + 2^2) - 0.5 = 0.70.
    assert "0.70 mm beside" == one.said.measured
    assert "move it inwards" in one.said.todo


def test_a_slot_that_runs_out_of_the_side_leaves_nothing() -> None:
    [one] = found(channel(2.0, y=8.0), [channel_demand(2.0, y=8.0)], {"pocket": "reinforcement_slots"})
    assert one.said.wrong in ("it may break through", "it breaks through")


def test_a_slot_that_stops_just_before_the_end_is_told() -> None:
    [one] = found(channel(2.0, x1=27.5), [channel_demand(2.0, x1=27.5)])
    # 29.08 - 28 - 0.5
    end = 100 * (1 - 2 ** (-5 / 12)) + 4
    assert f"{end - 28.5:.2f} mm to the end" == one.said.measured


def test_a_slot_that_runs_out_of_the_end_needs_no_wall_there() -> None:
    assert [] == found(channel(2.0, x1=33.0), [channel_demand(2.0, x1=33.0)])


def test_a_groove_across_is_judged_about_the_middle_only() -> None:
    text = program("G0 X12 Y-12\nG1 Z8 F200\nG1 Y12 F400", bit=2)
    across = demand(box(11.5, -8, 12.5, 8), 8.0, name="nut slot", radius=0.5, run_out=box(11.5, -13, 12.5, 13))
    assert [] == found(text, [across], {"pocket": "nut_slot"})
    deep = program("G0 X12 Y-12\nG1 Z4.4 F200\nG1 Y12 F400", bit=2)
    across = demand(box(11.5, -8, 12.5, 8), 4.4, name="nut slot", radius=0.5, run_out=box(11.5, -13, 12.5, 13))
    [one] = found(deep, [across], {"pocket": "nut_slot"})
    # About the middle means within half of the half width: at y 4, depth 5.6: 8 - sqrt(16 + 31.36) - 0.5 = 0.62.
    assert 0.6 < float(one.said.measured.split(" mm")[0]) < 0.7


HEEL = {"heel": {"from": 24, "to": 45, "width": 20, "thickness": 14, "blend": 5}}


def bore(y, z=-0.2, x=35.0):
    """The bit of 6 mm straight down."""
    return program(f"G0 X{x} Y{y}\nG1 Z{z} F200", bit=1)


def through(y, kind, x=35.0):
    region = Point(x, y).buffer(3.0)
    return [demand(region, 0.0, name="bolt 1", reach=0.2)], {"pocket": kind}


def test_a_bore_that_is_meant_to_go_through_needs_wood_beside_it_alone() -> None:
    made = small(**HEEL)
    assert [] == found(bore(0.0), *through(0.0, "bolt_bores"), made)
    # The heel is 10 mm wide to each side: 10 - (5 + 3) - 0.5 = 1.5.
    [one] = found(bore(5.0), *through(5.0, "bolt_bores"), made)
    assert Severity.stop is one.severity
    assert "1.50 mm beside" == one.said.measured


def test_a_channel_is_never_meant_to_go_through() -> None:
    [one] = found(bore(0.0), *through(0.0, "truss_rod_channel"), small(**HEEL))
    assert one.said.wrong in ("it may break through", "it breaks through")


def test_a_bolts_bore_deeper_than_the_finished_heel_is_opened_by_carving() -> None:
    # The heel's back lies 8 mm below the glue face; 8.5 with the carver's tolerance.
    region = Point(35, 0).buffer(3.0)
    deep = [demand(region, 1.0, name="bolt 1")], {"pocket": "bolt_bores"}
    assert [] == found(bore(0.0, 1.0), *deep, small(**HEEL))
    shallow = [demand(region, 2.2, name="bolt 1")], {"pocket": "bolt_bores"}
    [one] = found(bore(0.0, 2.2), *shallow, small(**HEEL))
    assert one.said.measured.endswith(" below")


def test_a_pin_through_the_shaft_is_a_warning() -> None:
    text = program("G0 X12 Y0\nG1 Z-0.2 F200", bit=2)
    pin = demand(Point(12, 0).buffer(0.5), 0.0, name="pin 1", radius=0.5, reach=0.2)
    [one] = found(text, [pin], {"pocket": "pin_bores"})
    assert Severity.warn is one.severity
    assert "pin 1 goes right through the neck" == one.said.wrong


def test_the_outline_is_no_wall() -> None:
    # Along the trimmed side, one bit's radius outside it.
    text = program("G0 X5 Y8.5\nG1 Z1 F200\nG1 X25 F400", bit=2)
    band = demand(box(0, 8, 29, 9), 1.0, name="outline", radius=0.5)
    assert [] == found(text, [band], {"pocket": "outline"})


def test_holes_in_waste_are_no_concern() -> None:
    text = program("G0 X40 Y0\nG1 Z0 F200", bit=2)
    assert [] == found(text, [demand(Point(40, 0).buffer(0.5), 0.0, name="pin 1", radius=0.5)], {"pocket": "pin_bores"})


def test_from_the_back_only_upright_sides_are_judged() -> None:
    made = small(**HEEL)
    # Turned over: a floor at Z 4 is 4 mm below the glue face. In the heel 10 - (5 + 3) - 0.5 = 1.5 beside.
    text = program("G0 X35 Y5\nG1 Z4 F200", bit=1)
    pocket = demand(Point(35, 5).buffer(3.0), 4.0, name="counterbore of bolt 1")
    [one] = found(text, [pocket], {"pocket": "bolt_bores"}, made, flip="about x")
    assert "1.50 mm beside" == one.said.measured
    inside = program("G0 X35 Y0\nG1 Z4 F200", bit=1)
    pocket = demand(Point(35, 0).buffer(3.0), 4.0, name="counterbore of bolt 1")
    assert [] == found(inside, [pocket], {"pocket": "bolt_bores"}, made, flip="about x")


def test_limits_and_the_carvers_tolerance_are_the_instruments() -> None:
    kind = small(wall={"stop": 1, "warn": 1.4, "carver": 0})
    # 8 - sqrt(0.25 + 36) = 1.979.
    assert [] == found(channel(6.0), [channel_demand(6.0)], made=kind)


def test_a_board_has_no_walls_of_this_kind() -> None:
    assert [] == check(inputs(channel(6.0), demands=[channel_demand(6.0)]))


def test_the_thinnest_place_of_a_sloping_floor_is_found_where_it_is_deepest() -> None:
    text = program("G0 X8 Y0\nG1 Z8 F200\nG1 X14 Z4.3 F400\nG1 X20 Z8", bit=2)
    [one] = found(text, [channel_demand(5.7)])
    assert 14.0 == pytest.approx(one.x, abs=0.6)
    assert f"{8 - math.hypot(0.5, 5.7) - 0.5:.2f} mm" in one.message


def test_nothing_below_the_glue_face_is_nothing_to_judge() -> None:
    assert [] == found(program("G0 X8 Y0\nG1 Z10 F200\nG1 X20 F400", bit=2))
