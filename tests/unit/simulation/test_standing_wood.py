"""The wood before any move, against plain loops over all moves and against the simulated map."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.brute_force import KINDS, NEVER_ABOVE, moves_of, sampled_height, sampling_error, some_bits, some_move
from toolpaths.gcode.reader.trace import Moves
from toolpaths.job.bit import Bit
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.simulate import simulate
from toolpaths.simulation.standing_wood import StandingWood

BITS: dict[int, Bit] = dict(enumerate(some_bits().values(), start=1))
BOX = (-5.0, -4.0, 5.0, 4.0)
TOP = 3.0
COUNT = 150


@pytest.fixture(scope="module")
def moves() -> Moves:
    rng = np.random.default_rng(21)
    pairs = [some_move(KINDS[k % len(KINDS)], rng) for k in range(COUNT)]
    return moves_of([a for a, _ in pairs], [b for _, b in pairs], [1 + (k // 7) % len(BITS) for k in range(COUNT)])


@pytest.fixture(scope="module")
def points() -> np.ndarray:
    return np.random.default_rng(22).uniform(BOX[:2], BOX[2:], (500, 2))


@pytest.fixture(scope="module")
def left(moves: Moves, points: np.ndarray) -> np.ndarray:
    """What each move leaves at each point, (moves, points)."""
    n = len(points)
    return np.array(
        [
            BITS[int(moves.bit[k])].swept_height(np.tile(moves.start[k], (n, 1)), np.tile(moves.end[k], (n, 1)), points)
            for k in range(len(moves))
        ]
    )


@pytest.fixture(scope="module")
def wood(moves: Moves) -> StandingWood:
    return StandingWood(BOX, TOP).after(moves, BITS)


def test_the_blank_stands_at_its_top_and_nothing_stands_beside_it() -> None:
    blank = StandingWood(BOX, TOP)
    assert [TOP, TOP, -np.inf] == blank.heights(np.array([[0.0, 0.0], [5.0, 4.0], [5.01, 0.0]])).tolist()


def test_heights_are_the_least_that_any_move_left(wood: StandingWood, points: np.ndarray, left: np.ndarray) -> None:
    assert np.array_equal(np.minimum(left.min(axis=0), TOP), wood.heights(points))


def test_heights_before_a_move_count_earlier_moves_only(
    wood: StandingWood, points: np.ndarray, left: np.ndarray
) -> None:
    before = np.random.default_rng(23).integers(0, COUNT + 1, len(points))
    earlier = np.where(np.arange(COUNT)[:, None] < before, left, np.inf)
    assert np.array_equal(np.minimum(earlier.min(axis=0), TOP), wood.heights(points, before=before))


def test_the_first_move_itself_finds_the_blank(wood: StandingWood, points: np.ndarray) -> None:
    assert np.all(wood.heights(points, before=np.zeros(len(points), dtype=np.int64)) == TOP)


def test_the_first_move_below_a_limit_is_found(wood: StandingWood, points: np.ndarray, left: np.ndarray) -> None:
    limits = np.random.default_rng(24).uniform(-0.5, TOP, len(points))
    below = left < limits
    expected = np.where(below.any(axis=0), below.argmax(axis=0), -1)
    assert np.array_equal(expected, wood.first_below(points, limits))
    assert -1 in expected
    assert len(np.unique(expected)) > 10


def test_a_single_move_leaves_what_brute_force_finds(points: np.ndarray) -> None:
    rng = np.random.default_rng(25)
    for number, bit in BITS.items():
        for kind in ("level", "ramp", "down"):
            a, b = some_move(kind, rng)
            exact = StandingWood(BOX, TOP).after(moves_of([a], [b], [number]), BITS).heights(points)
            sampled = np.minimum(sampled_height(bit, a, b, points), TOP)
            assert np.all(exact <= sampled + NEVER_ABOVE)
            assert np.all(sampled <= exact + sampling_error(bit))


def test_the_map_holds_the_same_heights_at_its_cells(wood: StandingWood, moves: Moves) -> None:
    after = simulate(DepthMap.over(BOX, TOP, 0.1), moves, BITS)
    x, y = np.meshgrid(after.xs, after.ys)
    heights = wood.heights(np.stack([x.ravel(), y.ravel()], axis=1))
    assert heights == pytest.approx(after.heights.ravel(), abs=NEVER_ABOVE)


def test_programs_taken_in_one_by_one_number_their_moves_through(
    wood: StandingWood, moves: Moves, points: np.ndarray
) -> None:
    parts = [
        Moves(moves.start[s], moves.end[s], moves.parent[s], moves.bit[s]) for s in (slice(0, 60), slice(60, None))
    ]
    first = StandingWood(BOX, TOP).after(parts[0], BITS)
    both = first.after(parts[1], BITS)
    assert (60, COUNT) == (first.count, both.count)
    assert np.array_equal(wood.heights(points), both.heights(points))
    assert np.array_equal(first.heights(points), both.heights(points, before=np.full(len(points), 60)))
    limits = np.full(len(points), 1.0)
    assert np.array_equal(wood.first_below(points, limits), both.first_below(points, limits))


def test_what_earlier_programs_did_can_be_told_from_the_last_one_s(moves: Moves) -> None:
    wood = StandingWood(BOX, TOP)
    for first in (0, 60, 110):
        wood = wood.after(moves.where(slice(first, {0: 60, 60: 110, 110: COUNT}[first])), BITS)
    low = np.minimum(moves.start[:, 2], moves.end[:, 2]) < TOP
    for first in (0, 60, 110, COUNT):
        earlier = list(wood.made_before(first))
        assert low[:first].sum() == sum(len(start) for _, start, _ in earlier)
        wanted = {tuple(moves.start[k]) for k in range(first) if low[k]}
        assert wanted == {tuple(place) for _, start, _ in earlier for place in start}


def test_what_is_known_of_earlier_moves_need_not_be_asked_again(
    wood: StandingWood, moves: Moves, points: np.ndarray
) -> None:
    first = StandingWood(BOX, TOP).after(
        Moves(moves.start[:60], moves.end[:60], moves.parent[:60], moves.bit[:60]), BITS
    )
    later = wood.heights(points, since=60)
    assert np.array_equal(wood.heights(points), np.minimum(first.heights(points), later))


def test_no_points_have_no_heights(wood: StandingWood) -> None:
    assert (0,) == wood.heights(np.empty((0, 2))).shape
    assert (0,) == wood.first_below(np.empty((0, 2)), np.empty(0)).shape
