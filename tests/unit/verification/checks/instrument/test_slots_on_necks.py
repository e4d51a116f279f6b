"""Rods that show beyond the board: each with a fault and a near miss.

The neck: scale 100 mm, 5 frets, half width 8 mm, its board from the nut line to x 29.08.
"""

import pytest
from shapely import box

from tests.support.check_input_builder import demand, inputs, operation, program
from tests.support.neck_builder import on_neck
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Instrument
from toolpaths.verification.checks.instrument import rod_uncovered
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
    return demand(box(x0, -half, x1, half), 5.0, feature="rod", name="rod channel", kind=CutKind.rod_channel, **more)


def pocket(x0, x1):
    return demand(box(x0, -2.5, x1, 2.5), 4.0, feature="rod", name="adjuster pocket", kind=CutKind.adjuster_pocket)


def bar(y0, y1, x0=5.0, x1=25.0, side="treble"):
    return demand(box(x0, y0, x1, y1), 6.0, feature="bars", name=f"bar slot, {side} side", kind=CutKind.bar_slot)


def asked(check, *demands, features=None):
    features = features or list(dict.fromkeys(d.feature for d in demands))
    seen = inputs(TEXT, demands=demands, operations=[operation(f) for f in features], begun=features)
    return check.check(on_neck(seen, NECK, KINDS))


def test_a_rod_longer_than_the_board_is_a_stop() -> None:
    [one] = asked(rod_uncovered, rod(2, END + 1.5))
    assert ("rod-uncovered", Severity.stop) == (one.code, one.severity)
    assert "1.50 mm past it" == one.said.measured
    assert END + 1.5 == pytest.approx(one.x)
    assert [] == asked(rod_uncovered, rod(2, END))


def test_its_pocket_may_lie_open_at_the_heel() -> None:
    assert [] == asked(rod_uncovered, rod(2, 25.5), pocket(25, 38))
    [one] = asked(rod_uncovered, rod(2, 33.5), pocket(33, 40))
    # The channel ends where its pocket begins: 33 - 29.08.
    assert f"{33 - END:.2f} mm past it" == one.said.measured


def test_a_channel_that_runs_out_of_the_heel_shows_there_on_purpose() -> None:
    assert [] == asked(rod_uncovered, rod(2, 45, run_out=box(45, -1.5, 52, 1.5)))


def test_before_the_nut_only_the_shelf_is_covered() -> None:
    assert [] == asked(rod_uncovered, rod(-6, 20))
    [one] = asked(rod_uncovered, rod(-8, 20))
    assert ("rod channel shows before the nut", "2.00 mm uncovered") == (one.said.wrong, one.said.measured)
    assert [] == asked(rod_uncovered, rod(-8, 20), pocket(-20, -7))


def test_a_bar_longer_than_the_board_is_a_stop() -> None:
    [one] = asked(rod_uncovered, bar(3, 4, x1=END + 0.5))
    assert "bar slot, treble side runs past the board's end" == one.said.wrong
    assert [] == asked(rod_uncovered, bar(3, 4, x1=END))


def test_a_board_is_not_asked() -> None:
    seen = inputs(TEXT, demands=[rod(2, 40), bar(1, 9)], operations=[operation("rod"), operation("bars")])
    assert [] == list(rod_uncovered.check(seen))
