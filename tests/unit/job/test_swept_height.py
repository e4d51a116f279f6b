"""The exact height that a straight move leaves, against the same move sampled, and against its own symmetries."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.brute_force import KINDS, NEVER_ABOVE, sampled_height, sampling_error, some_bits, some_move
from toolpaths.job.bit import Bit

BITS = some_bits()
each_bit = pytest.mark.parametrize("bit", list(BITS.values()), ids=list(BITS))
place = st.tuples(*[st.floats(-6, 6, allow_nan=False)] * 2, st.floats(0, 4, allow_nan=False))


def swept(bit: Bit, a: np.ndarray, b: np.ndarray, points: np.ndarray) -> np.ndarray:
    n = len(points)
    return bit.swept_height(np.tile(a, (n, 1)), np.tile(b, (n, 1)), points)


@each_bit
@pytest.mark.parametrize("case", range(24))
def test_a_move_leaves_what_brute_force_finds(bit: Bit, case: int) -> None:
    rng = np.random.default_rng(1000 + case)
    a, b = some_move(KINDS[case % len(KINDS)], rng)
    # Half of the points lie anywhere, half beside the move's line.
    beside = a[:2] + (b[:2] - a[:2]) * rng.uniform(-0.2, 1.2, (60, 1)) + rng.normal(0, 1, (60, 2))
    points = np.concatenate([rng.uniform(-8, 8, (60, 2)), beside])
    exact, sampled = swept(bit, a, b, points), sampled_height(bit, a, b, points)
    assert np.array_equal(np.isfinite(sampled), np.isfinite(exact))
    met = np.isfinite(exact)
    assert np.all(exact[met] <= sampled[met] + NEVER_ABOVE)
    assert np.all(sampled[met] <= exact[met] + sampling_error(bit))


@each_bit
@settings(max_examples=40)
@given(a=place, b=place, x=st.floats(-8, 8), y=st.floats(-8, 8))
def test_a_move_and_its_reverse_leave_the_same(bit: Bit, a: tuple, b: tuple, x: float, y: float) -> None:
    start, end, point = np.array([a]), np.array([b]), np.array([[x, y]])
    there, back = bit.swept_height(start, end, point)[0], bit.swept_height(end, start, point)[0]
    # On the very rim rounding decides whether the move reaches at all.
    rim = abs(_distance(a, b, x, y) - bit.radius) < 1e-6
    assert rim or there == pytest.approx(back, abs=1e-6)


@each_bit
@settings(max_examples=40)
@given(a=place, b=place, x=st.floats(-8, 8), y=st.floats(-8, 8), part=st.floats(0.1, 0.9))
def test_a_move_leaves_what_its_two_parts_leave(bit: Bit, a: tuple, b: tuple, x: float, y: float, part: float) -> None:
    start, end, point = np.array([a]), np.array([b]), np.array([[x, y]])
    middle = start + (end - start) * part
    whole = bit.swept_height(start, end, point)[0]
    parts = min(bit.swept_height(start, middle, point)[0], bit.swept_height(middle, end, point)[0])
    rim = abs(_distance(a, b, x, y) - bit.radius) < 1e-6
    assert rim or whole == pytest.approx(parts, abs=1e-6)


@each_bit
def test_a_level_move_leaves_the_bits_profile_at_the_distance_from_its_line(bit: Bit) -> None:
    rng = np.random.default_rng(5)
    points = rng.uniform(-6, 6, (400, 2))
    for _ in range(10):
        a, b = some_move("level", rng)
        # Distances by a general-purpose geometry library.
        distance = shapely.distance(shapely.points(points), shapely.LineString([a[:2], b[:2]]))
        assert swept(bit, a, b, points) == pytest.approx(a[2] + bit.height_at(distance), abs=1e-9)


@each_bit
def test_a_plunge_leaves_the_bits_profile_at_its_lower_end(bit: Bit) -> None:
    distance = np.array([0.0, 0.3, 0.9, 1.4, 2.9, 3.5])
    points = np.stack([1.0 + distance, np.full(6, 2.0)], axis=1)
    top, bottom = np.array([1.0, 2.0, 5.0]), np.array([1.0, 2.0, 0.5])
    expected = 0.5 + bit.height_at(distance)
    assert expected == pytest.approx(swept(bit, top, bottom, points))
    assert expected == pytest.approx(swept(bit, bottom, top, points))
    assert expected == pytest.approx(swept(bit, bottom, bottom, points))


def test_on_a_ramp_a_flat_bits_lower_edge_cuts_not_its_centre() -> None:
    # 1 mm of fall over 10 mm; a point under the line's middle is last covered 1.5 mm further down:
    # 1 - 0.1 * (5 + 1.5) = 0.35, by hand.
    flat = BITS["flat"]
    height = flat.swept_height(np.array([[0.0, 0, 1]]), np.array([[10.0, 0, 0]]), np.array([[5.0, 0]]))
    assert [0.35] == pytest.approx(height)


def test_on_a_ramp_steeper_than_its_cone_a_vee_cuts_with_its_lower_end_alone() -> None:
    # A 150 degree cone rises 1 mm in 3.73; the move falls 1 mm in 1.
    blunt = BITS["blunt vee"]
    start, end = np.array([[0.0, 0, 2]]), np.array([[2.0, 0, 0]])
    assert [blunt.height_at(np.array([1.0]))[0]] == pytest.approx(
        blunt.swept_height(start, end, np.array([[1.0, 0.0]]))
    )


def _distance(a: tuple, b: tuple, x: float, y: float) -> float:
    """Distance in plan from the move's line; either end may be the whole of it."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    t = 0.0 if square == 0 else min(1.0, max(0.0, ((x - a[0]) * dx + (y - a[1]) * dy) / square))
    return math.hypot(x - a[0] - t * dx, y - a[1] - t * dy)
