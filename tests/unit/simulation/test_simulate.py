"""The depth map after a program, against plain ways to find it and against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.brute_force import (
    KINDS,
    NEVER_ABOVE,
    moves_of,
    sampled_height,
    sampling_error,
    some_bits,
    some_move,
)
from toolpaths.gcode.reader.trace import Moves
from toolpaths.job.bit import Bit
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.vee import Vee
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.simulate import simulate

BITS = some_bits()
each_bit = pytest.mark.parametrize("bit", list(BITS.values()), ids=list(BITS))
TOP = 3.0
ROUNDING = 5e-7


def centres(m: DepthMap) -> np.ndarray:
    """Cell centres (rows * cols, 2), mm."""
    x, y = np.meshgrid(m.xs, m.ys)
    return np.stack([x.ravel(), y.ravel()], axis=1)


def by_swept_height(before: DepthMap, moves: Moves, bits: dict[int, Bit]) -> np.ndarray:
    """The map (rows, cols) as the least of each move's swept height at every cell."""
    points = centres(before)
    out = before.heights.astype(np.float64).ravel()
    n = len(points)
    for k in range(len(moves)):
        bit = bits[int(moves.bit[k])]
        swept = bit.swept_height(np.tile(moves.start[k], (n, 1)), np.tile(moves.end[k], (n, 1)), points)
        out = np.minimum(out, swept)
    return out.reshape(before.heights.shape)


@each_bit
@pytest.mark.parametrize("case", range(24))
def test_a_cell_holds_what_brute_force_finds_at_its_centre(bit: Bit, case: int) -> None:
    a, b = some_move(KINDS[case % len(KINDS)], np.random.default_rng(2000 + case), reach=3.0)
    blank = DepthMap.over((-5, -4, 5, 4), TOP, 0.5)
    after = simulate(blank, moves_of([a], [b], [1]), {1: bit}).heights.ravel()
    sampled = np.minimum(sampled_height(bit, a, b, centres(blank)), TOP)
    assert np.all(after <= sampled + NEVER_ABOVE)
    assert np.all(sampled <= after + sampling_error(bit))


@each_bit
@pytest.mark.parametrize("pitch", [0.05, 0.11])
def test_many_moves_leave_the_least_of_their_swept_heights(bit: Bit, pitch: float) -> None:
    rng = np.random.default_rng(7)
    pairs = [some_move(KINDS[k % len(KINDS)], rng, reach=6.0) for k in range(45)]
    moves = moves_of([a for a, _ in pairs], [b for _, b in pairs], [1] * 45)
    blank = DepthMap.over((-5, -3, 5, 3), TOP, pitch)
    after = simulate(blank, moves, {1: bit})
    np.testing.assert_allclose(by_swept_height(blank, moves, {1: bit}), after.heights, rtol=0, atol=ROUNDING)


def test_moves_of_several_bits_add_up() -> None:
    rng = np.random.default_rng(8)
    bits = dict(enumerate(BITS.values(), start=1))
    pairs = [some_move(KINDS[k % len(KINDS)], rng) for k in range(40)]
    moves = moves_of([a for a, _ in pairs], [b for _, b in pairs], [1 + k % len(bits) for k in range(40)])
    blank = DepthMap.over((-5, -4, 5, 4), TOP, 0.1)
    after = simulate(blank, moves, bits)
    np.testing.assert_allclose(by_swept_height(blank, moves, bits), after.heights, rtol=0, atol=ROUNDING)


number = st.integers(-60, 60).map(lambda n: n / 10)
tip = st.tuples(number, number, st.integers(0, 40).map(lambda n: n / 10))


@each_bit
@settings(max_examples=40)
@given(path=st.lists(tip, min_size=2, max_size=8))
def test_any_path_of_round_coordinates_is_exact(bit: Bit, path: list[tuple[float, float, float]]) -> None:
    points = [np.array(p) for p in path]
    moves = moves_of(points[:-1], points[1:], [1] * (len(points) - 1))
    blank = DepthMap.over((-4, -4, 4, 4), TOP, 0.2)
    after = simulate(blank, moves, {1: bit})
    np.testing.assert_allclose(by_swept_height(blank, moves, {1: bit}), after.heights, rtol=0, atol=ROUNDING)


@each_bit
def test_the_order_of_moves_does_not_matter(bit: Bit) -> None:
    rng = np.random.default_rng(9)
    pairs = [some_move(KINDS[k % len(KINDS)], rng) for k in range(30)]
    blank = DepthMap.over((-5, -4, 5, 4), TOP, 0.1)
    there = simulate(blank, moves_of([a for a, _ in pairs], [b for _, b in pairs], [1] * 30), {1: bit})
    pairs.reverse()
    back = simulate(blank, moves_of([a for a, _ in pairs], [b for _, b in pairs], [1] * 30), {1: bit})
    assert np.array_equal(there.heights, back.heights)


@each_bit
def test_cutting_in_two_programs_is_cutting_in_one(bit: Bit) -> None:
    rng = np.random.default_rng(10)
    pairs = [some_move(KINDS[k % len(KINDS)], rng) for k in range(20)]
    a, b = [p for p, _ in pairs], [p for _, p in pairs]
    blank = DepthMap.over((-5, -4, 5, 4), TOP, 0.1)
    whole = simulate(blank, moves_of(a, b, [1] * 20), {1: bit})
    first = simulate(blank, moves_of(a[:9], b[:9], [1] * 9), {1: bit})
    assert np.array_equal(whole.heights, simulate(first, moves_of(a[9:], b[9:], [1] * 11), {1: bit}).heights)


@each_bit
@pytest.mark.parametrize("along", ["x", "y"])
def test_a_long_level_move_along_an_axis_is_exact(bit: Bit, along: str) -> None:
    ends = ([-20.0, 0.3, 1.2], [70.0, 0.3, 1.2]) if along == "x" else ([0.3, -20.0, 1.2], [0.3, 70.0, 1.2])
    moves = moves_of([np.array(ends[0])], [np.array(ends[1])], [1])
    blank = DepthMap.over((-5, -5, 65, 5) if along == "x" else (-5, -5, 5, 65), TOP, 0.1)
    after = simulate(blank, moves, {1: bit})
    np.testing.assert_allclose(by_swept_height(blank, moves, {1: bit}), after.heights, rtol=0, atol=ROUNDING)
    # Cut from end to end: the move runs off the wood at both.
    assert np.all(after.heights.min(axis=0 if along == "x" else 1) < 1.4)


@pytest.mark.parametrize("slope", [0.0, 1e-15, 1e-9, 1e-4, 0.02])
def test_a_move_that_is_almost_along_a_row_is_exact(slope: float) -> None:
    # Probes turn the moves, and what was square to a row is then square but for rounding.
    moves = moves_of([np.array([-30.0, 0.1, 1])], [np.array([170.0, 0.1 + 200 * slope, 1])], [1])
    bits: dict[int, Bit] = {1: BITS["flat"]}
    blank = DepthMap.over((-5, -3, 150, 8), TOP, 0.1)
    after = simulate(blank, moves, bits)
    np.testing.assert_allclose(by_swept_height(blank, moves, bits), after.heights, rtol=0, atol=ROUNDING)


def test_a_map_of_one_row_measures_a_slot_within_its_pitch() -> None:
    # A 3 mm slot along y, looked at across in steps of 0.001 mm.
    moves = moves_of([np.array([0.0, -5, 1])], [np.array([0.0, 5, 1])], [1])
    blank = DepthMap(np.full((1, 6000), TOP, dtype=np.float32), -3.0, 0.0, 0.001)
    cut = blank.xs[simulate(blank, moves, {1: BITS["flat"]}).heights[0] < TOP]
    assert 3.0 == pytest.approx(cut[-1] - cut[0], abs=0.0011)


def test_a_map_of_one_cell_is_a_point() -> None:
    moves = moves_of([np.array([-1.0, 0, 2])], [np.array([1.0, 0, 1])], [1])
    blank = DepthMap(np.full((1, 1), TOP, dtype=np.float32), 0.0, 0.25, 0.1)
    expected = BITS["sharp vee"].swept_height(moves.start, moves.end, np.array([[0.0, 0.25]]))
    assert expected == pytest.approx(simulate(blank, moves, {1: BITS["sharp vee"]}).heights[0])


@each_bit
def test_moves_beside_and_above_the_wood_change_nothing(bit: Bit) -> None:
    blank = DepthMap.over((0, 0, 10, 8), TOP, 0.1)
    starts = [[-9.0, 4, 1], [4, 20, 1], [1, 1, TOP], [1, 1, 5], [-9, -9, 0]]
    ends = [[-5.0, 4, 1], [30, 12, 0], [9, 7, TOP], [9, 7, 4], [-9, -9, 0]]
    after = simulate(blank, moves_of([np.array(a) for a in starts], [np.array(b) for b in ends], [1] * 5), {1: bit})
    assert np.array_equal(blank.heights, after.heights)


def test_no_moves_leave_the_map_as_it_is() -> None:
    blank = DepthMap.over((0, 0, 10, 8), TOP, 0.1)
    assert np.array_equal(blank.heights, simulate(blank, moves_of([], [], []), {}).heights)


def test_the_map_before_stays_as_it_is_and_the_one_after_is_read_only() -> None:
    blank = DepthMap.over((0, 0, 10, 8), TOP, 0.1)
    after = simulate(blank, moves_of([np.array([1.0, 1, 1])], [np.array([9.0, 7, 1])], [1]), {1: BITS["flat"]})
    assert blank.heights.min() == TOP
    assert not after.heights.flags.writeable
    assert (np.float32, blank.x0, blank.y0, blank.pitch) == (after.heights.dtype, after.x0, after.y0, after.pitch)


def test_a_bit_of_no_known_number_is_an_error() -> None:
    blank = DepthMap.over((0, 0, 10, 8), TOP, 0.1)
    with pytest.raises(KeyError):
        simulate(blank, moves_of([np.zeros(3)], [np.ones(3)], [4]), {1: BITS["flat"]})


def test_the_cells_cut_are_those_whose_centres_a_geometry_library_finds_in_the_swept_area() -> None:
    rng = np.random.default_rng(11)
    blank = DepthMap.over((-5, -4, 5, 4), TOP, 0.1)
    points = centres(blank)
    for _ in range(12):
        a, b = some_move("level", rng)
        a[2] = b[2] = 1.0
        after = simulate(blank, moves_of([a], [b], [1]), {1: BITS["flat"]})
        distance = shapely.distance(shapely.points(points), shapely.LineString([a[:2], b[:2]]))
        assert np.array_equal(distance <= 1.5, after.heights.ravel() == 1.0)


# A pocket's volume off by 0.11 % at 0.1 mm and by 0.016 % at 0.05 mm: measured in a study of such maps, no public
# source. Counting cells in a circle errs at random, so it is asked of the root mean square over several places.
@pytest.mark.parametrize(("pitch", "off"), [(0.1, 0.0011), (0.05, 0.00016)])
def test_a_round_pockets_volume_is_its_area_times_its_depth(pitch: float, off: float) -> None:
    asked = math.pi * 10.0**2 * 1.8
    errors = []
    for x, y in np.random.default_rng(12).uniform(10.95, 11.05, (6, 2)):
        angle = np.linspace(0, 2 * math.pi, 1441)
        rings = [
            np.stack([x + r * np.cos(angle), y + r * np.sin(angle), np.full(1441, 1.2)], axis=1)
            for r in (0.9, 2.9, 4.8, 6.7, 8.5)
        ]
        start, end = np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings])
        moves = moves_of(list(start), list(end), [1] * len(start))
        after = simulate(DepthMap.over((0, 0, 22, 22), TOP, pitch), moves, {1: BITS["flat"]})
        errors.append(float((TOP - after.heights.astype(np.float64)).sum()) * pitch**2 / asked - 1)
    assert off > math.sqrt(np.mean(np.square(errors)))


def test_a_vee_grooves_volume_is_its_triangle_along_its_length_and_a_cone_at_its_ends() -> None:
    # 90 degrees, 1 mm deep, 12 mm long: a section of d^2 tan(45 deg) = 1 mm2, and two half cones of radius 1.
    bit = Vee(shape="vee", diameter=6, angle=90, cutting_length=6, shank=6, stickout=20)
    moves = moves_of([np.array([4.0, 5, 2])], [np.array([16.0, 5, 2])], [1])
    after = simulate(DepthMap.over((0, 0, 20, 10), TOP, 0.05), moves, {1: bit})
    removed = float((TOP - after.heights.astype(np.float64)).sum()) * 0.05**2
    assert 12.0 + math.pi / 3 == pytest.approx(removed, rel=0.001)


def test_a_scored_line_is_as_wide_as_its_bit_wherever_it_lies_on_the_grid() -> None:
    # 0.6 mm in cells of 0.1 mm: six cells, at round places too, because the grid is shifted off them.
    bit = Flat(shape="flat", diameter=0.6, cutting_length=2.5, shank=3, stickout=15)
    blank = DepthMap.over((0, 0, 40, 4), TOP, 0.1)
    for x in (10.0, 10.05, 10.1, 20.35):
        after = simulate(blank, moves_of([np.array([x, -2, 2.5])], [np.array([x, 6, 2.5])], [1]), {1: bit})
        assert 6 == pytest.approx(np.count_nonzero(after.heights[20] < TOP))
