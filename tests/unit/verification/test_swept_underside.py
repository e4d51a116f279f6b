"""The underside of what moves sweep, as points: on the true surface, dense enough, none forgotten at corners."""

import math

import numpy as np
import pytest

from toolpaths.gcode.reader.trace import Moves
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.vee import Vee
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.swept_underside import ALONG, about, lowest_cells, underside

SIX = Flat(shape="flat", diameter=6.0, flutes=2, cutting_length=12.0, shank=6.0, stickout=30.0)
POINTED = Vee(shape="vee", angle=90, diameter=6.0, flutes=2, cutting_length=3.0, shank=6.0, stickout=30.0)


def moves(*corners, bit=1):
    at = np.array(corners, dtype=float)
    n = len(at) - 1
    return Moves(at[:-1], at[1:], np.arange(n), np.full(n, bit))


def every(made, bit=SIX):
    return underside(made, {1: bit}, np.arange(len(made)))


def test_a_level_move_has_two_straight_edges_and_a_rim_at_each_end() -> None:
    found = every(moves((0, 0, 5), (20, 0, 5)))
    off = np.hypot(found.points[:, 0] - np.clip(found.points[:, 0], 0, 20), found.points[:, 1])
    # Every point lies on the edge of the cut or, of the rims, inside it: 3 mm from the middle line at most.
    assert 3.0 == pytest.approx(off.max())
    np.testing.assert_allclose(found.points[:, 2], 5.0)
    left = np.sort(found.points[np.abs(found.points[:, 1] - 3.0) < 1e-9, 0])
    assert np.diff(left).max() <= ALONG + 1e-9
    assert [0.0, 20.0] == pytest.approx([left[0], left[-1]])
    assert -3.0 == pytest.approx(found.points[:, 0].min())
    assert 23.0 == pytest.approx(found.points[:, 0].max())


def test_a_corner_has_its_whole_rim_and_a_slight_bend_needs_none() -> None:
    corner = every(moves((0, 0, 5), (20, 0, 5), (20, 20, 5)))
    # The outer side of the corner: 3 mm along the diagonal from (20, 0).
    target = np.array([20 + 3 / math.sqrt(2), -3 / math.sqrt(2)])
    assert np.linalg.norm(corner.points[:, :2] - target, axis=1).min() < 1e-9
    bend = every(moves((0, 0, 5), (20, 0, 5), (40, 1, 5)))
    straight = every(moves((0, 0, 5), (40, 0, 5)))
    assert abs(len(bend.points) - len(straight.points)) < 12


def test_ramps_and_plunges_have_their_rim_all_along() -> None:
    ramp = every(moves((0, 0, 8), (20, 0, 6)))
    behind = ramp.points[np.abs(ramp.angle - math.pi) < 1e-9]
    # The floor that a descending ramp leaves is cut by the trailing edge: at x - 3, at the tip's height there.
    np.testing.assert_allclose(behind[:, 2], 8 - 2 * (behind[:, 0] + 3) / 20)
    assert np.diff(np.sort(behind[:, 0])).max() <= ALONG + 1e-9
    plunge = every(moves((0, 0, 8), (0, 0, 2)))
    assert 2.0 == plunge.points[:, 2].min()


def test_a_pointed_bit_is_looked_at_from_tip_to_rim() -> None:
    found = every(moves((0, 0, 5), (20, 0, 5)), POINTED)
    # 90 degrees: as high above the tip as it is away from the axis.
    np.testing.assert_allclose(found.points[:, 2], 5.0 + found.ring)
    assert {0.0, 3.0} <= set(found.ring)


def test_close_about_a_point_the_rim_is_much_denser() -> None:
    made = moves((0, 0, 5), (20, 0, 5))
    found = every(made)
    i = int(np.argmax(found.points[:, 0]))
    near = about(made, {1: SIX}, found, i)
    turned = np.sort(np.unique(np.round(near.angle, 9)))
    assert np.degrees(np.diff(turned).max()) < 0.5
    assert np.all(np.linalg.norm(near.points - found.points[i], axis=1) < 2.0)


def test_no_move_has_no_underside() -> None:
    assert (0, 3) == underside(moves((0, 0, 5), (20, 0, 5)), {1: SIX}, np.empty(0, dtype=np.int64)).points.shape


def test_of_every_square_of_a_map_the_lowest_cell_is_taken_where_it_was_lowered() -> None:
    before = DepthMap.over((0, 0, 4, 2), 10.0, 0.5)
    heights = before.heights.copy()
    heights[1, 2], heights[0, 3], heights[3, 7] = 8.0, 7.0, 9.0
    found = lowest_cells(before, before.with_heights(heights), (0, 0, 4, 2), 1.0)
    expected = [(before.xs[3], before.ys[0], 7.0), (before.xs[7], before.ys[3], 9.0)]
    np.testing.assert_allclose(found[np.argsort(found[:, 2])], expected)
    none = lowest_cells(before, before, (0, 0, 4, 2), 1.0)
    assert (0, 3) == none.shape
