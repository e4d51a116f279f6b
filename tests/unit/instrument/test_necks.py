"""The finished neck from its numbers. Check numbers: derived by hand from the formulas beside them."""

import math

import numpy as np
import pytest
from shapely import Polygon

from tests.support.neck_builder import WHOLE, half_ellipse, instrument
from toolpaths.common.errors import FeatureError
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.instrument.necks import (
    FILLET,
    back_depth,
    depth_on_centre,
    flatness,
    half_width_at,
    head_end,
    neck_end,
    neck_of,
    neck_outline,
    side_corners,
)

FRET_1 = 584 * (1 - 2 ** (-1 / 12))  # 32.777 mm; fret 12 at 292 mm


def at(made, x, **more):
    return float(depth_on_centre(made, np.array([float(x)]), **more)[0])


def test_the_thickness_holds_at_the_named_frets_with_the_board_taken_off() -> None:
    plain = instrument({"thickness": {1: 20.5, 12: 22}})
    assert 14.5 == pytest.approx(at(plain, FRET_1))
    assert 16.0 == pytest.approx(at(plain, 292.0))


def test_the_thickness_is_straight_between_the_frets_and_goes_on_beyond_them() -> None:
    plain = instrument({"thickness": {1: 20.5, 12: 22}})
    slope = 1.5 / (292 - FRET_1)
    assert 15.25 == pytest.approx(at(plain, (292 + FRET_1) / 2))
    assert 14.5 - slope * FRET_1 == pytest.approx(at(plain, 0.0))
    assert 16.0 + slope * 50 == pytest.approx(at(plain, 342.0))


def test_three_named_frets_make_two_straight_pieces() -> None:
    bent = instrument({"thickness": {0: 20, 5: 20, 12: 24}})
    fifth = 584 * (1 - 2 ** (-5 / 12))
    assert 14.0 == pytest.approx(at(bent, fifth / 2))
    assert 16.0 == pytest.approx(at(bent, (fifth + 292) / 2))


def test_behind_the_nut_line_the_thickness_at_the_nut_goes_on_into_the_headstock() -> None:
    whole = instrument(WHOLE)
    nut = at(whole, 0.0)
    # Half way through the blend of 25 mm the two are mixed half and half.
    assert (nut + 14.0) / 2 == pytest.approx(at(whole, -12.5))
    assert 14.0 == pytest.approx(at(whole, -25.0))
    assert 14.0 == pytest.approx(at(whole, -120.0))


def test_a_lowered_headstock_has_its_back_lower_by_as_much() -> None:
    assert 18.0 == pytest.approx(at(instrument(WHOLE), -60.0, head_drop=4.0))


def test_the_heels_thickness_is_reached_where_the_heel_begins() -> None:
    whole = instrument(WHOLE)
    assert 19.0 == pytest.approx(at(whole, 330.0))
    assert 19.0 == pytest.approx(at(whole, 390.0))
    # Before its blend of 20 mm the shaft knows nothing of it.
    assert 16.0 + 1.5 / (292 - FRET_1) * (309.0 - 292) == pytest.approx(at(whole, 309.0))


@pytest.mark.parametrize("joint", [0.0, -25.0, 310.0, 330.0])
def test_the_back_has_no_step_and_no_kink_where_a_blend_begins_and_ends(joint) -> None:
    whole = instrument(WHOLE)
    x = joint + np.array([-2e-3, -1e-3, 0.0, 1e-3, 2e-3])
    depth = depth_on_centre(whole, x, 4.0)
    slopes = np.diff(depth) / 1e-3
    # The thickness at the nut goes on level behind the nut line: the taper's own slope ends there.
    taper = 1.5 / (292 - FRET_1)
    assert np.ptp(slopes) <= taper + 1e-3
    assert np.ptp(depth) < 1e-4


def test_the_blends_rise_steadily_to_a_thicker_heel_and_a_thicker_head() -> None:
    whole = instrument(WHOLE)
    heel = depth_on_centre(whole, np.linspace(305, 335, 400))
    head = depth_on_centre(whole, np.linspace(-30, 0, 400), 4.0)
    assert np.all(np.diff(heel) >= -1e-12)
    assert np.all(np.diff(head) <= 1e-12)


def test_a_round_back_is_half_an_ellipse_from_edge_to_edge_of_the_glue_face() -> None:
    made = half_ellipse(20.0, 14.0)
    y = np.array([0.0, 8.0, -12.0, 16.0, 20.0])
    # 14 sqrt(1 - (y / 20)^2)
    expected = [14.0, 14 * math.sqrt(0.84), 11.2, 8.4, 0.0]
    np.testing.assert_allclose(back_depth(made, np.full(5, 150.0), y), expected, atol=1e-9)


def test_a_soft_vee_is_straight_between_its_points() -> None:
    made = instrument({"thickness": {1: 20}, "back": "soft vee"}, nut=40, fret_12=40)
    # Half width 20, depth 14; points (0.45, 0.80) and (0.7, 0.56): half way between lies (0.575, 0.68).
    y = np.array([0.0, 9.0, 11.5, 14.0, 20.0])
    np.testing.assert_allclose(back_depth(made, np.full(5, 150.0), y), [14.0, 11.2, 14 * 0.68, 7.84, 0.0], atol=1e-9)


def test_an_own_profile_may_leave_an_upright_edge() -> None:
    made = instrument({"thickness": {1: 20}, "back": [[0, 1], [0.5, 0.9], [1, 0.2]]}, nut=40, fret_12=40)
    np.testing.assert_allclose(
        back_depth(made, np.full(3, 150.0), np.array([5.0, 15.0, 20.0])), [14 * 0.95, 14 * 0.55, 2.8], atol=1e-9
    )


def test_heel_and_headstock_have_flat_backs() -> None:
    whole = instrument(WHOLE)
    np.testing.assert_allclose(back_depth(whole, np.full(3, 380.0), np.array([0.0, -13.0, 26.0])), 19.0)
    np.testing.assert_allclose(back_depth(whole, np.full(3, -100.0), np.array([0.0, -20.0, 33.0])), 14.0)
    np.testing.assert_allclose(flatness(whole, np.array([100.0, 330.0, -25.0, 320.0])), [0.0, 1.0, 1.0, 0.5])


def test_beside_the_trimmed_neck_there_is_no_depth() -> None:
    whole = instrument(WHOLE)
    assert 0.0 == back_depth(whole, np.array([0.0]), np.array([18.01]))[0]
    assert 0.0 == back_depth(whole, np.array([401.0]), np.array([0.0]))[0]


def test_the_width_follows_the_board_and_stays_behind_the_nut_line() -> None:
    whole = instrument(WHOLE)
    # 36 at the nut, 44 at 292: 18 + 4 x / 292; the shelf keeps 18 as far as 6 mm behind the nut line.
    x = np.array([-6.0, -3.0, 0.0, 146.0, 292.0, -31.0, -150.0, 330.0, 400.0])
    np.testing.assert_allclose(half_width_at(whole, x), [18, 18, 18, 20, 22, 33, 33, 26, 26], atol=1e-9)


def test_margin_widens_the_shaft_alone() -> None:
    whole = instrument(WHOLE)
    wide = dict(side_corners(whole, 0.5))
    assert 18.5 == wide[-6.0]
    assert 33.0 == wide[-150]
    assert 26.0 == wide[400.0]


def test_the_outline_rounds_hollow_corners_only() -> None:
    whole = instrument(WHOLE)
    outline = neck_outline(whole, 0.0)
    side = side_corners(whole, 0.0)
    sharp = Polygon([*((x, -y) for x, y in side), *((x, y) for x, y in reversed(side))])
    assert outline.covers(sharp.buffer(-1e-6))
    assert (-150.0, -33.0, 400.0, 33.0) == pytest.approx(outline.bounds, abs=1e-6)
    # A hollow corner that turns by 2 t, filled by a circle: r^2 (tan t - t). Four such on each side: where the flare
    # and the heel's flank meet the shaft; the flank's and the flare's outer corners are not hollow.
    flare = math.atan2(15.0, 25.0) / 2
    taper = math.atan2(4.0, 292.0)
    into = 18 + 4 * 310 / 292
    flank = (math.atan2(26.0 - into, 20.0) - taper) / 2
    bend = taper / 2
    fill = 2 * FILLET**2 * sum(math.tan(t) - t for t in (flare, flank, bend))
    assert fill == pytest.approx(outline.area - sharp.area, rel=2e-3)


def test_a_drawn_headstock_is_joined_and_its_back_goes_on_sideways() -> None:
    drawn = instrument({**WHOLE, "headstock": {"drawing": "head.dxf", "thickness": 14}})
    head = Polygon([(-100, -40), (-4, -18), (-4, 18), (-100, 25)])
    assert -100.0 == pytest.approx(neck_outline(drawn, 0.0, head).bounds[0], abs=1e-6)
    assert math.isnan(head_end(drawn))
    np.testing.assert_allclose(back_depth(drawn, np.full(2, -60.0), np.array([0.0, 39.0])), 14.0)


def test_the_ends_of_the_neck() -> None:
    assert 400.0 == neck_end(instrument(WHOLE))
    assert -150.0 == head_end(instrument(WHOLE))
    # Without a heel the neck ends with the board: fret 19 and 8 mm.
    assert 584 * (1 - 2 ** (-19 / 12)) + 8 == pytest.approx(neck_end(half_ellipse(20, 14)))
    assert 0.0 == head_end(half_ellipse(20, 14))


def test_an_instrument_without_a_neck_is_refused(instrument) -> None:
    with pytest.raises(FeatureError, match="no neck"):
        neck_of(instrument)


# A volute. Its rise is height (1 + cos(pi u)) / 2, u the part of half its length. Derived by hand.


@pytest.mark.parametrize(("place", "x0"), [("nut", 0.0), ("fret 3", 584 * (1 - 2 ** (-3 / 12))), (120, 120.0)])
@pytest.mark.parametrize(("height", "length"), [(3.0, 40.0), (1.2, 25.0), (5.0, 90.0)])
def test_a_volute_stands_on_the_back_and_ends_level(place, x0, height, length) -> None:
    plain = instrument(WHOLE)
    humped = instrument({**WHOLE, "volute": {"height": height, "at": place, "length": length}})

    def rise(x):
        return depth_on_centre(humped, np.asarray(x, dtype=float)) - depth_on_centre(plain, np.asarray(x, dtype=float))

    quarter = length / 4
    half_way = [x0 - quarter, x0, x0 + quarter]
    np.testing.assert_allclose(rise(half_way), [height / 2, height, height / 2], atol=1e-9)
    beyond = x0 + np.array([-length, -length / 2, length / 2, length])
    np.testing.assert_allclose(rise(beyond), 0.0, atol=1e-12)
    # Smooth and level at its top and at both ends: the steepest, half way, is pi height / length.
    x = x0 + np.linspace(-0.6 * length, 0.6 * length, 2401)
    slope = np.gradient(rise(x), x)
    steepest = math.pi * height / length
    assert steepest == pytest.approx(np.abs(slope).max(), rel=1e-3)
    for level in (x0 - length / 2, x0, x0 + length / 2):
        assert abs(float(np.interp(level, x, slope))) < 0.01 * steepest
    assert np.abs(np.diff(slope)).max() < 0.02 * steepest


def test_a_volute_stands_at_the_nut_where_nothing_is_said() -> None:
    humped = instrument({**WHOLE, "volute": {"height": 3, "length": 30}})
    assert 3.0 == pytest.approx(at(humped, 0.0) - at(instrument(WHOLE), 0.0))


def test_a_volute_falls_off_to_the_sides_as_the_back_does() -> None:
    humped = instrument({"thickness": {1: 20}, "volute": {"height": 2, "at": 100, "length": 40}}, nut=40, fret_12=40)
    # 14 and 2 on the centreline, half an ellipse of half width 20.
    y = np.array([0.0, 12.0, 20.0])
    np.testing.assert_allclose(back_depth(humped, np.full(3, 100.0), y), [16.0, 12.8, 0.0], atol=1e-9)


def test_a_cut_under_a_volute_has_so_much_more_wall() -> None:
    plain, humped = (
        FinishedNeck.of(instrument({"thickness": {1: 20}, **more}, nut=60, fret_12=60))
        for more in ({}, {"volute": {"height": 2.5, "at": 150, "length": 400}})
    )
    # Under a channel 9 deep on the centreline of a wide, shallow section: straight down, 14 - 9 and 2.5 more.
    point = np.array([[150.0, 0.0, 9.0]])
    assert 5.0 == pytest.approx(float(plain.least(point)[0][0]), abs=0.01)
    assert 7.5 == pytest.approx(float(humped.least(point)[0][0]), abs=0.01)


def test_a_volute_at_a_fret_that_is_not_there_is_refused() -> None:
    lacking = instrument({**WHOLE, "volute": {"height": 2, "at": "fret 20", "length": 30}})
    with pytest.raises(FeatureError, match="there is no fret 20"):
        at(lacking, 0.0)
