"""The shapes of bits: what each is, what it refuses, how wide and how high it cuts."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

import toolpaths.job.bits
from tests.support.brute_force import some_bits
from toolpaths.common.units import KIND
from toolpaths.job.bit import Bit
from toolpaths.job.bit_profiles import ball as ball_height
from toolpaths.job.bit_profiles import past_on_ball, past_on_corner
from toolpaths.job.bits import BITS
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.bull import Bull
from toolpaths.job.bits.drill import Drill
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.tapered_ball import TaperedBall
from toolpaths.job.bits.vee import Vee
from toolpaths.job.files.rack_file import load_rack
from toolpaths.reports.reference.first_job import _LENGTHS

ROOT = Path(__file__).parents[4]
COMMON = {"cutting_length": 12, "shank": 6, "stickout": 30}


def vee(**keys: object) -> Vee:
    return Vee.model_validate({"shape": "vee", "diameter": 6, "angle": 60, **COMMON, **keys})


def test_the_table_holds_every_file_of_the_folder() -> None:
    folder = Path(toolpaths.job.bits.__file__).parent
    assert sorted(f.stem.replace("_", " ") for f in folder.glob("*.py") if f.stem != "__init__") == sorted(BITS)


@pytest.mark.parametrize(("name", "bit"), BITS.items())
def test_a_shape_is_written_as_the_table_calls_it(name: str, bit: type) -> None:
    assert {"const": name, "title": "Shape", "type": "string"} == bit.model_json_schema()["properties"]["shape"]


@pytest.mark.parametrize("name", BITS)
def test_a_shape_is_proved_by_brute_force_and_told_in_words(name: str) -> None:
    assert name in {bit.shape for bit in some_bits().values()}, "add one to some_bits in tests/support/brute_force.py"
    for page in ("docs/bits.md", "docs/job-file.md"):
        assert f"`{name}`" in (ROOT / page).read_text(encoding="utf-8"), page
    assert f"`{name}`" in str(Bit.model_fields["shape"].description), "name it in the words of `shape` (job/bit.py)"


@pytest.mark.parametrize("bit", BITS.values(), ids=list(BITS))
def test_a_first_job_writes_every_length_of_a_shape_as_a_length(bit: type[Bit]) -> None:
    keys = bit.model_json_schema()["properties"]
    assert {name for name, key in keys.items() if str(key.get(KIND, "")).startswith("length")} <= set(_LENGTHS)


# V-bit width 2 d tan(a/2) at d = 1: derived from the formula, worked by hand to five places.
@pytest.mark.parametrize(("angle", "width"), [(30, 0.53590), (60, 1.15470), (90, 2.0)])
def test_a_vee_cuts_two_depths_times_the_tangent_of_half_its_angle(angle: float, width: float) -> None:
    assert width == pytest.approx(vee(angle=angle).width_at(1.0), abs=5e-6)


def test_a_vee_with_a_flat_tip_cuts_wider_by_the_tip() -> None:
    assert 1.15470 + 0.2 == pytest.approx(vee(tip=0.2).width_at(1.0), abs=5e-6)


def test_a_vee_never_cuts_wider_than_its_rim() -> None:
    assert vee().width_at(50) == 6.0


def ball(**keys: object) -> Ball:
    return Ball.model_validate({"shape": "ball", "diameter": 6, **COMMON, **keys})


def bull(**keys: object) -> Bull:
    return Bull.model_validate({"shape": "bull", "diameter": 6, "corner": 1, **COMMON, **keys})


def tapered(**keys: object) -> TaperedBall:
    return TaperedBall.model_validate(
        {"shape": "tapered ball", "diameter": 4, "tip": 1.5, "angle": 20, **COMMON, **keys}
    )


def drill(**keys: object) -> Drill:
    return Drill.model_validate({"shape": "drill", "diameter": 6, **COMMON, **keys})


def flat(**keys: object) -> Flat:
    return Flat.model_validate({"shape": "flat", "diameter": 6, **COMMON, **keys})


EVERY = [flat(), vee(tip=0.4), ball(), bull(), tapered(), drill()]


@pytest.mark.parametrize("bit", EVERY, ids=[b.shape for b in EVERY])
def test_a_bit_out_of_the_wood_cuts_no_line(bit: Bit) -> None:
    assert [0.0, 0.0] == [bit.width_at(0.0), bit.width_at(-1.0)]


def test_a_vee_rises_by_its_angle_and_ends_at_its_rim() -> None:
    # A 90 degree point rises as fast as it widens.
    heights = vee(angle=90, tip=1).height_at(np.array([[0.0, 0.5], [1.5, 3.0], [3.001, 9.0]]))
    assert [[0, 0], [1, 2.5], [math.inf, math.inf]] == [pytest.approx(row) for row in heights.tolist()]


def test_the_cones_height_is_where_its_width_is_the_diameter() -> None:
    # 3 / tan 30 deg = 5.19615.
    assert vee().rim[0] == pytest.approx(5.19615, abs=5e-6)
    assert vee().width_at(vee().rim[0]) == pytest.approx(6.0)


def test_a_flat_bit_is_level_to_its_edge() -> None:
    bit = Flat(shape="flat", diameter=6, **COMMON)
    assert [0.0, 0.0, 0.0, math.inf] == bit.height_at(np.array([0, 2, 3, 3.001])).tolist()


def test_a_flat_bit_cuts_what_its_test_slot_measured() -> None:
    bit = Flat(shape="flat", diameter=6, measured_diameter=6.04, **COMMON)
    assert bit.width_at(1.0) == 6.04
    assert bit.height_at(np.array([3.01]))[0] == 0.0


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"measured_diameter": 5.9}, "a V-bit cannot have a measured_diameter, because its width depends on the depth"),
        ({"tip": 6}, "the flat of the tip must be smaller than the diameter"),
        ({"cutting_length": 4}, "the cone of this angle and diameter is 5.20 mm high"),
        ({"angle": 9}, "greater than or equal to 10"),
        ({"angle": 171}, "less than or equal to 170"),
        ({"tip": -0.1}, "must not be less than 0"),
        ({"shape": "flat"}, "Input should be 'vee'"),
    ],
)
def test_a_vee_that_cannot_be_is_refused_in_words(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        vee(**keys)


def test_a_refusal_speaks_the_jobs_units() -> None:
    keys = {"shape": "vee", "diameter": 0.5, "angle": 60, "cutting_length": 0.2, "shank": 0.25, "stickout": 1}
    # 0.25 / tan 30 deg = 0.433.
    with pytest.raises(ValidationError, match=r"0\.433 in high"):
        Vee.model_validate(keys, context={"units": "in"})


def test_a_cutting_length_that_was_written_rounded_is_taken() -> None:
    assert vee(cutting_length=5.2).cutting_length == 5.2
    assert vee(cutting_length=5.15).cutting_length == 5.15


# 2 sqrt(2 R d - d^2) with R 3: d 1, 2 sqrt 5 = 4.47214; d 0.5, 2 sqrt 2.75 = 3.31662; worked by hand.
@pytest.mark.parametrize(("depth", "width"), [(0.5, 3.31662), (1.0, 4.47214), (3.0, 6.0), (9.0, 6.0)])
def test_a_ball_cuts_the_chord_of_its_circle(depth: float, width: float) -> None:
    assert width == pytest.approx(ball().width_at(depth), abs=5e-6)


def test_a_ball_leaves_the_scallop_of_the_closed_form() -> None:
    # R - sqrt(R^2 - (s/2)^2) with R 3, s 0.6: 0.015038, derived from the circle.
    assert 0.015038 == pytest.approx(float(ball().height_at(np.array([0.3]))[0]), abs=5e-7)


def test_a_bull_cuts_its_flat_at_once_and_its_diameter_below_its_corner() -> None:
    # Flat 4, corner 1: 4 + 2 sqrt(2 d - d^2); d 0.5: 4 + sqrt 3 = 5.73205.
    assert [5.73205, 6.0, 6.0] == pytest.approx([bull().width_at(d) for d in (0.5, 1.0, 5.0)], abs=5e-6)
    assert 4.0 == pytest.approx(bull().width_at(1e-12), abs=1e-5)


def test_a_bull_is_level_over_its_flat_and_round_outside() -> None:
    # 1 - sqrt(1 - 0.6^2) = 0.2 at 0.6 mm from the flat's edge.
    heights = bull().height_at(np.array([0.0, 2.0, 2.6, 3.0, 3.001]))
    assert [0.0, 0.0, 0.2, 1.0, math.inf] == pytest.approx(heights.tolist())


def test_a_tapered_balls_cone_touches_its_ball_without_a_kink() -> None:
    bit = tapered()
    # r = 0.75, half angle 10 degrees: touches at r cos 10 = 0.738606, r (1 - sin 10) = 0.619764 high.
    assert (0.738606, 0.619764) == pytest.approx((bit.touch_radius, bit.touch_height), abs=5e-7)
    below, at, above = bit.height_at(bit.touch_radius + np.array([-1e-6, 0.0, 1e-6]))
    assert (at - below) / 1e-6 == pytest.approx((above - at) / 1e-6, rel=1e-3)
    assert 1 / math.tan(math.radians(10)) == pytest.approx((above - at) / 1e-6, rel=1e-6)


@pytest.mark.parametrize("bit", [vee(), tapered(), drill(), ball(), bull()], ids=lambda b: b.shape)
def test_the_width_at_a_depth_is_where_the_profile_is_that_high(bit: Bit) -> None:
    for depth in (0.05, 0.3, 0.6, 0.9):
        half = bit.width_at(depth) / 2
        assert depth == pytest.approx(float(bit.height_at(np.array([half - 1e-12]))[0]), abs=1e-6)


def test_a_drills_point_of_118_degrees_is_three_tenths_of_its_diameter_high() -> None:
    # 3 / tan 59 deg = 1.80258; "0.3 D" is the shop's rule of thumb (from memory).
    assert 1.80258 == pytest.approx(drill().rim[0], abs=5e-6)
    assert 6.0 == drill().width_at(2.0)


@pytest.mark.parametrize("bit", EVERY, ids=[b.shape for b in EVERY])
def test_every_profile_rises_outwards_ever_steeper(bit: Bit) -> None:
    # What the exact swept heights rest on.
    heights = bit.height_at(np.linspace(0, bit.radius, 2001))
    rises = np.diff(heights)
    assert np.all(rises >= 0)
    assert np.all(np.diff(rises) >= -1e-12)


def test_on_its_own_line_a_corner_is_as_steep_as_the_ramp() -> None:
    # u = flat + corner sin(atan k), by hand from the tangent of a circle.
    k = np.array([0.05, 0.5, 2.0])
    assert 2.0 + 1.0 * np.sin(np.arctan(k)) == pytest.approx(past_on_corner(np.zeros(3), k, 2.0, 1.0))


def test_a_corner_without_a_flat_is_a_ball() -> None:
    aside, k = np.meshgrid(np.linspace(0.01, 2.99, 40), np.array([1e-6, 0.03, 0.4, 1.0, 7.0, 1e4]))
    # In its height, which changes with the square of the place. A steep ramp leaves 1e4 times the last digit.
    heights = [
        ball_height(np.hypot(u, aside), 3.0) - k * u
        for u in (past_on_ball(aside, k, 3.0), past_on_corner(aside, k, 0.0, 3.0))
    ]
    assert heights[0] == pytest.approx(heights[1], abs=1e-10)


@pytest.mark.parametrize(
    ("bit", "keys", "message"),
    [
        (ball, {"cutting_length": 2}, "the half ball of this diameter is 3.00 mm high"),
        (bull, {"corner": 3}, "a corner radius of 3.00 mm leaves no flat on a bit of 6.00 mm"),
        (bull, {"corner": 0}, "must be more than 0"),
        (bull, {"corner": 2.5, "cutting_length": 2}, "the corner of this radius is 2.50 mm high"),
        (bull, {"measured_diameter": 1.9}, "a corner radius of 1.00 mm leaves no flat on a bit of 1.90 mm"),
        (tapered, {"tip": 4}, "the ball at the tip must be smaller than the diameter"),
        (tapered, {"measured_diameter": 3.9}, "a tapered ball bit cannot have a measured_diameter"),
        (tapered, {"angle": 5}, "the taper of this tip, angle and diameter is 29.3"),
        (tapered, {"angle": 0.5}, "greater than or equal to 1"),
        (drill, {"cutting_length": 1.5}, "the point of this angle and diameter is 1.80 mm high"),
        (drill, {"angle": 20}, "greater than or equal to 30"),
        (drill, {"centre_cutting": False}, "a drill cuts at its centre, or it is none"),
    ],
)
def test_a_bit_that_cannot_be_is_refused_in_words(bit: type, keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        bit(**keys)


def test_the_rack_has_a_bit_of_every_shape() -> None:
    assert set(BITS) == {bit.shape for bit in load_rack().values()}


def test_a_tapered_ball_works_as_the_ball_at_its_tip_and_is_as_stiff_as_its_mean() -> None:
    assert (1.5, 2.75, True) == (tapered().working_diameter, tapered().stiff_diameter, tapered().is_pointed)


@pytest.mark.parametrize("bit", [ball(), bull(), drill()], ids=lambda b: b.shape)
def test_round_and_drilling_bits_are_judged_by_their_diameter(bit: Bit) -> None:
    assert (6.0, 6.0, False) == (bit.working_diameter, bit.stiff_diameter, bit.is_pointed)
