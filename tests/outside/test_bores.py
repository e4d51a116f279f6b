"""Bores, headstock and string angles of whole jobs against closed forms and figures worked by hand."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest
import shapely

from tests.support.made import made as make
from toolpaths.instrument.tuner_posts import string_angle
from toolpaths.job.changes import Changes
from toolpaths.verification.finding import Severity
from toolpaths.verification.outcome import Outcome

CASES = Path(__file__).parents[1] / "cases"
PITCH = 0.1


@cache
def made(name: str) -> Outcome:
    return make(CASES / f"{name}.yaml", Changes(pitch=PITCH))


def removed(name: str, feature: str) -> float:
    (setup,) = made(name).setups
    return next(f.removed_mm3 for f in setup.features if f.name == feature)


@pytest.mark.parametrize("name", ["headstock", "headstock_ramp"])
def test_the_judge_finds_nothing_above_a_note(name: str) -> None:
    assert [] == [f.message for f in made(name).findings if f.severity is not Severity.note]


def cylinder(diameter: float, height: float) -> float:
    """pi d^2 h / 4."""
    return math.pi * diameter**2 * height / 4


@pytest.mark.parametrize(
    ("feature", "volume"),
    [
        # Four of 8 through a headstock of 16 - 4.
        ("tuner_bores", 4 * cylinder(8, 12)),
        # Two of 7 to 10 deep below counterbores of 12, 3 deep.
        ("bolt_bores", 2 * (cylinder(12, 3) + cylinder(7, 7))),
        # One in the lowered headstock, 10 below the glue face, and one in the full blank.
        ("pin_bores", cylinder(6.5, 6) + cylinder(8, 10)),
    ],
)
def test_bores_take_out_their_cylinders(feature: str, volume: float) -> None:
    # Cells of 0.1 mm: a circle's area is off by up to a third of a percent.
    assert volume == pytest.approx(removed("headstock", feature), rel=4e-3)


def test_a_headstock_with_an_upright_wall_takes_out_a_box() -> None:
    # From -140 to -8, the blank's whole width of 96, 4 deep; shapely for the area.
    assert shapely.box(-140, -48, -8, 48).area * 4 == pytest.approx(removed("headstock", "headstock_face"), rel=1e-4)


def test_a_headstock_with_a_ramp_leaves_the_arc_s_spandrel() -> None:
    # The wood under the arc, a mm of width: the integral of R - sqrt(R^2 - s^2) from 0 to l, which is
    # l R - (l sqrt(R^2 - l^2) + R^2 asin(l / R)) / 2.
    drop, length, width = 4.0, 16.0, 96.0
    r = (length**2 + drop**2) / (2 * drop)
    under = length * r - (length * math.sqrt(r**2 - length**2) + r**2 * math.asin(length / r)) / 2
    ideal = (132 * drop - under) * width
    got = removed("headstock_ramp", "headstock_face")
    # The stair stands above the arc by 0 to 0.05, over 16 mm.
    assert ideal - 0.05 * length * width <= got <= ideal
    assert ideal - 0.5 * 0.05 * length * width == pytest.approx(got, abs=0.2 * 0.05 * length * width)


@pytest.mark.parametrize(
    ("string", "post", "degrees"),
    # Worked by hand: tan 6 = 0.105104, tan 10 = 0.176327; atan t = t - t^3 / 3 + t^5 / 5, times 57.29578.
    [
        (0.0, (-100.0, 10.5104), 6.0),
        (0.0, (-100.0, -17.6327), 10.0),
        # A four-string head: string 2 at 31 / 6, its post 14 aside and 90 behind: t = 8.8333 / 90 = 0.0981481.
        (31 / 6, (-90.0, 14.0), 5.6055),
        # Its outer neighbour: (15.5 - 14) / 50 = 0.03.
        (15.5, (-50.0, 14.0), 1.7184),
    ],
)
def test_angles_of_strings(string: float, post: tuple[float, float], degrees: float) -> None:
    assert degrees == pytest.approx(string_angle(string, post), abs=1e-4)
