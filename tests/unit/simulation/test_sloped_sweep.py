"""Passes in many chords, as they are cut over curved tops: the map against each move's own exact height."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from tests.support.brute_force import some_bits
from toolpaths.job.bit import Bit
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.sloped_sweep import Cells, _Strips, lower_strips

ROUND = {name: bit for name, bit in some_bits().items() if name != "flat"}
each_bit = pytest.mark.parametrize("bit", list(ROUND.values()), ids=list(ROUND))
TOP = 4.0
ROUNDING = 5e-7


def by_hand(bit: Bit, path: np.ndarray, blank: DepthMap) -> np.ndarray:
    """The least of all moves' swept heights at every cell, (rows, cols)."""
    x, y = np.meshgrid(blank.xs, blank.ys)
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    out = np.full(len(points), TOP)
    for a, b in itertools.pairwise(path):
        near = reached(bit, a, b, points)
        n = (np.count_nonzero(near), 1)
        out[near] = np.minimum(out[near], bit.swept_height(np.tile(a, n), np.tile(b, n), points[near]))
    return out.reshape(blank.heights.shape)


def reached(bit: Bit, a: np.ndarray, b: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Which points (N, 2) lie no farther from a move than its bit is wide, and a little more."""
    way = (b - a)[:2]
    part = np.clip((points - a[:2]) @ way / max(float(way @ way), 1e-300), 0, 1)
    away = points - a[:2] - part[:, None] * way
    return np.hypot(away[:, 0], away[:, 1]) <= bit.radius + 0.5


def lowered(bit: Bit, path: np.ndarray, blank: DepthMap) -> np.ndarray:
    heights = blank.heights.copy()
    lower_strips(Cells(heights, blank.x0, blank.y0, blank.pitch), bit, path[:-1], path[1:], TOP)
    return heights


def arch(sign: float, degrees: float, chords: int = 9) -> np.ndarray:
    """A pass over a round top (sign -1) or through a round hollow (+1), in a direction, in even chords."""
    s = np.linspace(-6, 6, chords + 1)
    z = 2.5 + sign * (15 - np.sqrt(15**2 - s**2)) if sign < 0 else 1.0 + 15 - np.sqrt(15**2 - s**2)
    angle = math.radians(degrees)
    return np.stack([s * math.cos(angle), s * math.sin(angle), z], axis=1)


@each_bit
@pytest.mark.parametrize("sign", [-1.0, 1.0], ids=["crowned", "hollow"])
@pytest.mark.parametrize("degrees", [0.0, 90.0, 1.0, 37.0, -120.0, 180.0])
def test_a_pass_in_chords_is_exact_over_crowns_and_through_hollows(bit: Bit, sign: float, degrees: float) -> None:
    path = np.round(arch(sign, degrees), 4)
    blank = DepthMap.over((-8, -8, 8, 8), TOP, 0.29)
    np.testing.assert_allclose(by_hand(bit, path, blank), lowered(bit, path, blank), rtol=0, atol=ROUNDING)


@each_bit
def test_turns_there_and_back_plunges_and_stops_are_exact(bit: Bit) -> None:
    path = np.array(
        [
            (-3.0, -2, 3.0),
            (-3.0, -2, 1.0),  # down
            (2.0, -2, 1.0),
            (2.0, -2, 1.0),  # still
            (-1.0, -2, 1.0),  # back over the same
            (-1.0, 2, 0.6),
            (3.0, 2.5, 1.4),
            (4.0, 2.625, 1.3),  # straight on in plan, then down instead of up
            (4.0, 2.625, 2.0),  # up
        ]
    )
    blank = DepthMap.over((-6, -6, 7, 6), TOP, 0.13)
    np.testing.assert_allclose(by_hand(bit, path, blank), lowered(bit, path, blank), rtol=0, atol=ROUNDING)


@each_bit
@pytest.mark.parametrize("degrees", [0.0, 0.4, 3.0, 45.0, 91.0])
def test_a_long_ramp_is_cut_up_without_a_trace(bit: Bit, degrees: float) -> None:
    # 90 mm at 0.11 mm a cell: several patches along any direction.
    angle = math.radians(degrees)
    path = np.array([(-5.0, -5, 3.2), (-5 + 90 * math.cos(angle), -5 + 90 * math.sin(angle), 1.7)])
    blank = DepthMap.over((-8, -8, 60, 8) if degrees < 40 else (-8, -8, 8, 60), TOP, 0.11)
    np.testing.assert_allclose(by_hand(bit, path, blank), lowered(bit, path, blank), rtol=0, atol=ROUNDING)


def test_between_chords_over_a_crown_no_cell_is_missed_wherever_it_lies() -> None:
    # Joints right on cell centres: both strips end there.
    bit = ROUND["ball"]
    blank = DepthMap(np.full((81, 81), TOP, dtype=np.float32), -4.0, -4.0, 0.1)
    x = np.round(np.arange(-4, 4.01, 0.5), 6)
    path = np.stack([x, np.zeros_like(x), 2.0 - x * x / 40], axis=1)
    np.testing.assert_allclose(by_hand(bit, path, blank), lowered(bit, path, blank), rtol=0, atol=ROUNDING)
    assert np.all(lowered(bit, path, blank)[40] < 2.01)


def test_moves_above_what_stands_and_beside_the_grid_change_nothing() -> None:
    blank = DepthMap.over((-4, -4, 4, 4), TOP, 0.2)
    for path in ([(-3, 0, TOP), (3, 1, TOP + 1)], [(20, 0, 0), (30, 5, 1)], [(0, 0, TOP), (0, 0, TOP + 2)]):
        assert np.array_equal(blank.heights, lowered(ROUND["ball"], np.array(path, dtype=np.float64), blank))


@each_bit
@pytest.mark.parametrize("below", [1e-9, 1e-7, 1e-5, 0.01])
def test_a_move_that_is_hardly_below_the_top_is_not_cut_to_dust(bit: Bit, below: float) -> None:
    """However narrow its strip: a pointed bit's is next to nothing wide, and its pieces were as short (12 GB)."""
    move = np.array([(-6.0, -3, TOP - below), (6.0, 2, TOP - below / 2)])
    strips = _Strips.of(move[:1], move[1:])
    pieces = strips.pieces(bit, TOP, 0.17, 512 * 0.17)
    assert len(pieces.run) <= math.ceil(13 / 0.17)
    blank = DepthMap.over((-8, -8, 8, 8), TOP, 0.17)
    np.testing.assert_allclose(by_hand(bit, move, blank), lowered(bit, move, blank), rtol=0, atol=ROUNDING)
