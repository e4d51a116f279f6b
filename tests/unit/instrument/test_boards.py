"""A board is a trapezoid through two given widths. Check numbers: derived by hand from the two-point line."""

import numpy as np
import pytest

from toolpaths.common.errors import FeatureError
from toolpaths.instrument.boards import board_end, corners, half_width


def test_the_board_ends_its_overhang_past_the_last_fret(instrument) -> None:
    # 648 x 3/4 + 8
    assert 494.0 == pytest.approx(board_end(instrument), abs=1e-9)


def test_width_holds_at_both_given_places(instrument) -> None:
    assert 43 / 2 == half_width(instrument, 0.0)
    assert 56 / 2 == pytest.approx(half_width(instrument, 494.0), abs=1e-12)


def test_width_at_a_fret_goes_on_beyond_it(make_instrument) -> None:
    board = make_instrument(width={"nut": 36, 12: 44}, scale=584, frets=19)
    # Fret 12 at 292: 8 mm wider over 292 mm, so 16 wider over 584 and 8 narrower 292 before the nut.
    assert 22.0 == pytest.approx(half_width(board, 292.0))
    assert 26.0 == pytest.approx(half_width(board, 584.0))
    assert 14.0 == pytest.approx(half_width(board, -292.0))


def test_width_takes_arrays(instrument) -> None:
    x = np.array([0.0, 247.0, 494.0])
    np.testing.assert_allclose(half_width(instrument, x), [21.5, 24.75, 28.0], atol=1e-12)


def test_corners_run_counter_clockwise_from_the_operators_nut_corner(instrument) -> None:
    points = corners(instrument)
    np.testing.assert_allclose(points, [(0, -21.5), (494, -28), (494, 28), (0, 21.5)], atol=1e-9)
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True)) / 2
    # Trapezoid: mean width times length, positive where counter-clockwise.
    assert (43 + 56) / 2 * 494 == pytest.approx(area)


def test_sides_that_meet_are_refused(make_instrument) -> None:
    with pytest.raises(FeatureError, match="sides meet before its end") as caught:
        corners(make_instrument(width={"nut": 40, 1: 36}))
    assert "width" == caught.value.key
