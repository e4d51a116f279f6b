"""Slots that meet, rods that show, bars near the edge: each with a fault and a near miss.

The neck: scale 100 mm, 5 frets, half width 8 mm, its board from the nut line to x 29.08.
"""

import pytest
from shapely import Point, box

from tests.support.evidence_builder import demand, evidence, operation, program
from tests.support.neck_builder import on_neck
from toolpaths.job.job import Instrument
from toolpaths.verification.checks.instrument import bar_near_edge, rod_uncovered, slots_meet
from toolpaths.verification.finding import Severity

TEXT = program("G0 X8 Y0\nG1 Z9 F200")
END = 100 * (1 - 2 ** (-5 / 12)) + 4
NECK = Instrument.model_validate(
    {
        "scale_length": 100,
        "frets": 5,
        "strings": 4,
        "board": {"width": {"nut": 14, 5: 18}, "overhang": 4, "thickness": 6},
        "neck": {
            "thickness": {1: 14},
            "heel": {"from": 30, "to": 45, "width": 20, "thickness": 14, "blend": 2},
            "headstock": {"length": 60, "width": 30, "thickness": 8},
        },
    },
    context={"units": "mm"},
)
KINDS = {"rod": "truss_rod_channel", "bars": "reinforcement_slots", "pins": "pin_bores"}


def rod(x0, x1, half=1.5, **more):
    return demand(box(x0, -half, x1, half), 5.0, feature="rod", name="rod channel", **more)


def pocket(x0, x1):
    return demand(box(x0, -2.5, x1, 2.5), 4.0, feature="rod", name="adjuster pocket")


def bar(y0, y1, x0=5.0, x1=25.0, side="treble"):
    return demand(box(x0, y0, x1, y1), 6.0, feature="bars", name=f"bar slot, {side} side")


def asked(check, *demands, features=None):
    features = features or list(dict.fromkeys(d.feature for d in demands))
    seen = evidence(TEXT, demands=demands, operations=[operation(f) for f in features], begun=features)
    return check.check(on_neck(seen, NECK, KINDS))


def test_a_bar_too_near_to_the_rod_is_a_stop_with_what_is_left() -> None:
    [one] = asked(slots_meet, rod(2, 25), bar(2.9, 4.5))
    assert ("slots-meet", Severity.stop, "bars") == (one.code, one.severity, one.feature)
    assert "only 1.40 mm of wood stand between rod channel (line 7) and bar slot, treble side (line 7)" in one.message
    assert [] == asked(slots_meet, rod(2, 25), bar(3.0, 4.5))


def test_a_bar_that_runs_into_the_rods_channel_says_so() -> None:
    [one] = asked(slots_meet, rod(2, 25), bar(1.0, 4.5))
    assert "run into each other" in one.message


def test_a_rod_may_run_into_its_own_pocket() -> None:
    assert [] == asked(slots_meet, rod(2, 25), pocket(24, 32))


def test_two_bars_need_wood_between_them() -> None:
    [one] = asked(slots_meet, bar(0.5, 2.0), bar(-2.0, -0.5, side="bass"))
    assert "only 1.00 mm" in one.message


def test_a_pin_in_the_rods_channel_is_a_stop_and_beside_it_is_none() -> None:
    def pin(y):
        return demand(Point(12, y).buffer(1.0), 2.0, feature="pins", name="pin 1")

    [one] = asked(slots_meet, rod(2, 25), pin(2.0))
    assert "run into each other" in one.message
    assert [] == asked(slots_meet, rod(2, 25), pin(2.6))


def test_what_runs_out_of_an_open_end_counts_too() -> None:
    open_ended = rod(2, 20, run_out=box(20, -1.5, 28, 1.5))
    [one] = asked(slots_meet, open_ended, bar(-1, 1, x0=24, x1=27))
    assert "run into each other" in one.message


def test_a_meeting_is_told_with_the_program_that_cuts_the_later_one() -> None:
    assert [] == asked(slots_meet, rod(2, 25), bar(1.0, 4.5), features=["rod"])


def test_a_rod_longer_than_the_board_is_a_stop() -> None:
    [one] = asked(rod_uncovered, rod(2, END + 1.5))
    assert ("rod-uncovered", Severity.stop) == (one.code, one.severity)
    assert "1.50 mm beyond it" in one.message
    assert END + 1.5 == pytest.approx(one.x)
    assert [] == asked(rod_uncovered, rod(2, END))


def test_its_pocket_may_lie_open_at_the_heel() -> None:
    assert [] == asked(rod_uncovered, rod(2, 25.5), pocket(25, 38))
    [one] = asked(rod_uncovered, rod(2, 33.5), pocket(33, 40))
    # The channel ends where its pocket begins: 33 - 29.08.
    assert f"{33 - END:.2f} mm beyond it" in one.message


def test_a_channel_that_runs_out_of_the_heel_shows_there_on_purpose() -> None:
    assert [] == asked(rod_uncovered, rod(2, 45, run_out=box(45, -1.5, 52, 1.5)))


def test_before_the_nut_only_the_shelf_is_covered() -> None:
    assert [] == asked(rod_uncovered, rod(-6, 20))
    [one] = asked(rod_uncovered, rod(-8, 20))
    assert "2.00 mm before what board and nut cover" in one.message
    assert [] == asked(rod_uncovered, rod(-8, 20), pocket(-20, -7))


def test_a_bar_longer_than_the_board_is_a_stop() -> None:
    [one] = asked(rod_uncovered, bar(3, 4, x1=END + 0.5))
    assert "the bar slot, treble side runs to" in one.message
    assert [] == asked(rod_uncovered, bar(3, 4, x1=END))


def test_a_bar_near_the_narrow_end_is_a_warning() -> None:
    # Half width at x: 7 + 2 x / 25.08 (fret 5 at 25.08); at x 5 it is 7.399.
    edge = 7 + 2 * 5 / (END - 4)
    [one] = asked(bar_near_edge, bar(3, edge - 2.9))
    assert ("bar-near-edge", Severity.warn) == (one.code, one.severity)
    assert "2.90 mm from the trimmed side" in one.message
    assert 5.0 == one.x
    assert [] == asked(bar_near_edge, bar(3, edge - 3.0))


def test_a_bar_outside_the_neck_says_so() -> None:
    [one] = asked(bar_near_edge, bar(7, 9))
    assert "not inside the trimmed neck" in one.message


def test_a_board_is_not_asked() -> None:
    seen = evidence(TEXT, demands=[rod(2, 40), bar(1, 9)], operations=[operation("rod"), operation("bars")])
    assert [] == [f for c in (slots_meet, rod_uncovered, bar_near_edge) for f in c.check(seen)]
