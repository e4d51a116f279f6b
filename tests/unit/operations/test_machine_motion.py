"""Time with acceleration, corners and looking ahead. Table values: tests/outside/test_handbook.py."""

import math

import numpy as np
import pytest

from tests.support.closed_forms import corner_speed, reached_feeds, trapezoid_seconds, travel_seconds
from toolpaths.operations.machine_motion import bend_feed, driven

INF = np.inf


def test_a_long_move_takes_its_length_and_one_start(machine) -> None:
    # x: 200 mm/s2; 3000 mm/min is 50 mm/s.
    points = np.array([[0, 0, 0], [100, 0, 0]])
    assert [2.25] == pytest.approx(travel_seconds(points, np.array([3000.0]), machine))


def test_a_short_move_never_reaches_its_speed(machine) -> None:
    points = np.array([[0, 0, 0], [5, 0, 0]])
    assert [2 * math.sqrt(5 / 200)] == pytest.approx(travel_seconds(points, np.array([3000.0]), machine))


def test_cutting_a_straight_line_in_pieces_changes_nothing(machine) -> None:
    whole = trapezoid_seconds(100, 50, 200)
    x = np.linspace(0, 100, 1001)
    points = np.stack([x, 0 * x, 0 * x], axis=1)
    assert whole == pytest.approx(travel_seconds(points, np.full(1000, 3000.0), machine).sum(), rel=1e-9)


def test_a_reversal_stops(machine) -> None:
    points = np.array([[0, 0, 0], [100, 0, 0], [0, 0, 0]])
    assert [2.25, 2.25] == pytest.approx(travel_seconds(points, np.full(2, 3000.0), machine))


def test_a_square_corner_is_passed_slowly(machine) -> None:
    points = np.array([[0, 0, 0], [100, 0, 0], [100, 100, 0]])
    corner = corner_speed(90, 200, 0.01)
    # Up to 50 mm/s from rest and down to the corner's speed, by hand.
    up, down = 50**2 / 400, (50**2 - corner**2) / 400
    leg = 50 / 200 + (50 - corner) / 200 + (100 - up - down) / 50
    assert [leg, leg] == pytest.approx(travel_seconds(points, np.full(2, 3000.0), machine))


def test_a_rapid_goes_as_fast_as_its_axis(machine) -> None:
    points = np.array([[0, 0, 0], [400, 0, 0], [400, 0, 30]])
    t = travel_seconds(points, np.array([INF, INF]), machine)
    # The corner between x and z is taken at the slower axis' acceleration (z: 100 mm/s2).
    c = corner_speed(90, 100, 0.01)
    v = 5000 / 60
    along = v / 200 + (v - c) / 200 + (400 - v**2 / 400 - (v**2 - c**2) / 400) / v
    assert along == pytest.approx(t[0])
    v = 2000 / 60
    up = (v - c) / 100 + v / 100 + (30 - (v**2 - c**2) / 200 - v**2 / 200) / v
    assert up == pytest.approx(t[1])


def test_a_slanted_rapid_is_bound_by_its_slowest_axis(machine) -> None:
    points = np.array([[0, 0, 0], [300, 400, 0]])
    # y: 4000 mm/min at 4/5 of the speed: 5000; x: 5000 at 3/5: 8333. Acceleration 200 / 0.8 = 250.
    assert trapezoid_seconds(500, 5000 / 60, 250) == pytest.approx(travel_seconds(points, np.array([INF]), machine)[0])


def test_a_feed_above_the_limit_is_driven_at_the_limit(machine) -> None:
    points = np.array([[0, 0, 0], [100, 0, 0]])
    assert trapezoid_seconds(100, 4000 / 60, 200) == pytest.approx(
        travel_seconds(points, np.array([9000.0]), machine)[0]
    )


def test_a_move_of_no_length_takes_no_time_and_hides_no_corner(machine) -> None:
    plain = np.array([[0, 0, 0], [50, 0, 0], [50, 50, 0]])
    stuttering = plain[[0, 1, 1, 1, 2]]
    t = travel_seconds(stuttering, np.full(4, 3000.0), machine)
    expected = travel_seconds(plain, np.full(2, 3000.0), machine)
    assert [expected[0], 0, 0, expected[1]] == pytest.approx(t)


def test_nothing_takes_nothing(machine) -> None:
    assert 0 == travel_seconds(np.zeros((1, 3)), np.zeros(0), machine).size
    assert 0 == travel_seconds(np.zeros((0, 3)), np.zeros(0), machine).size
    assert [0.0] == list(travel_seconds(np.zeros((2, 3)), np.array([100.0]), machine))


@pytest.mark.parametrize("feeds", [[0.0], [-5.0], [np.nan], [100.0, 100.0]])
def test_a_path_without_a_true_feed_is_an_error(machine, feeds: list[float]) -> None:
    with pytest.raises(ValueError, match="feed"):
        travel_seconds(np.array([[0, 0, 0], [1, 0, 0]]), np.array(feeds), machine)


def test_slow_feeds_approach_length_over_feed(machine) -> None:
    rng = np.random.default_rng(4)
    points = np.cumsum(rng.uniform(-3, 3, (200, 3)), axis=0)
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    t = travel_seconds(points, np.full(199, 6.0), machine).sum()
    assert length / 0.1 == pytest.approx(t, rel=1e-3)
    assert t > length / 0.1


def test_it_agrees_with_a_planner_that_goes_move_by_move(machine) -> None:
    """The running minima against the passes written out as loops."""
    rng = np.random.default_rng(11)
    n = 3000
    points = np.cumsum(rng.normal(0, 1, (n, 3)) * rng.choice([0.02, 0.5, 20], (n, 1)) * [1, 1, 0.1], axis=0)
    feeds = rng.choice([150.0, 900.0, 2500.0, INF], n - 1)
    got = travel_seconds(points, feeds, machine)
    np.testing.assert_allclose(got, _move_by_move(points, feeds, machine), rtol=1e-6, atol=1e-9)


def _move_by_move(points, feeds, machine) -> list[float]:
    steps = np.diff(points, axis=0)
    d = [float(np.linalg.norm(s)) for s in steps]
    u = [s / length for s, length in zip(steps, d, strict=True)]

    def limit(axes, direction) -> float:
        return min(a / abs(c) for a, c in zip((axes.x, axes.y, axes.z), direction, strict=True) if c)

    a = [limit(machine.acceleration, c) for c in u]
    v = [
        limit(machine.rapid, c) / 60 if f == INF else min(f, limit(machine.feed_limit, c)) / 60
        for f, c in zip(feeds, u, strict=True)
    ]
    node = [0.0]
    for i in range(1, len(d)):
        angle = math.degrees(math.acos(float(np.clip(-u[i - 1] @ u[i], -1, 1))))
        node.append(min(v[i - 1], v[i], corner_speed(angle, min(a[i - 1], a[i]), machine.corner_deviation)))
    node.append(0.0)
    for i in reversed(range(len(d))):
        node[i] = min(node[i], math.sqrt(node[i + 1] ** 2 + 2 * a[i] * d[i]))
    for i in range(len(d)):
        node[i + 1] = min(node[i + 1], math.sqrt(node[i] ** 2 + 2 * a[i] * d[i]))
    out = []
    for i in range(len(d)):
        peak = min(v[i], math.sqrt(a[i] * d[i] + (node[i] ** 2 + node[i + 1] ** 2) / 2))
        used = (2 * peak**2 - node[i] ** 2 - node[i + 1] ** 2) / (2 * a[i])
        out.append((2 * peak - node[i] - node[i + 1]) / a[i] + max(0.0, d[i] - used) / peak)
    return out


def test_a_straight_corner_needs_no_slowing_and_a_reversal_stops() -> None:
    assert INF == corner_speed(180, 200, 0.01)
    assert 0.0 == corner_speed(0, 200, 0.01)


def test_a_short_move_is_driven_below_the_feed_asked_for(machine) -> None:
    # d 5, a 200: peak sqrt(a d) = 31.623 mm/s, mean half of it. Source: uniformly accelerated motion.
    points = np.array([[0, 0, 0], [5, 0, 0]])
    peak, mean = reached_feeds(points, np.array([3000.0]), machine)
    assert [31.6228 * 60] == pytest.approx(peak, rel=1e-5)
    assert [31.6228 * 30] == pytest.approx(mean, rel=1e-5)


def test_a_long_move_reaches_its_feed_and_its_mean_is_length_by_time(machine) -> None:
    peak, mean = reached_feeds(np.array([[0, 0, 0], [100, 0, 0]]), np.array([3000.0]), machine)
    assert ([3000.0], [100 / 2.25 * 60]) == (pytest.approx(peak), pytest.approx(mean))


def test_between_two_sharp_corners_no_feed_is_reached(machine) -> None:
    """A zigzag of 0.5 mm legs: each from corner speed to corner speed."""
    points = np.array([[0.0, 0, 0], [50, 0, 0], [50, 0.5, 0], [0, 0.5, 0]])
    peak, _ = reached_feeds(points, np.full(3, 3000.0), machine)
    corner = corner_speed(90, 200, 0.01)
    assert math.sqrt(200 * 0.5 + corner**2) * 60 == pytest.approx(peak[1])
    assert peak[1] < 0.4 * 3000


def test_a_move_of_no_length_has_no_feed(machine) -> None:
    peak, mean = reached_feeds(np.array([[0.0, 0, 0], [0, 0, 0], [9, 0, 0]]), np.full(2, 600.0), machine)
    assert (0.0, 0.0) == (peak[0], mean[0])


def test_a_curve_takes_all_of_the_acceleration_at_its_bend_feed() -> None:
    # a = v^2 / r: 20 mm/s on 2 mm are 200 mm/s2.
    assert 20 * 60 == pytest.approx(bend_feed(2.0, 200.0))


def test_points_inside_a_curve_are_no_corners(machine) -> None:
    a = np.linspace(0, 2 * np.pi, 13)
    points = np.stack([10 * np.cos(a), 10 * np.sin(a), 0 * a], axis=1)
    feeds = np.full(12, 1200.0)
    smooth = np.ones(13, dtype=bool)
    length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    # In the middle nothing slows it; by its corners alone it never comes near.
    assert 1200 == pytest.approx(driven(points, feeds, machine, smooth).mean[5], rel=1e-9)
    assert driven(points, feeds, machine).mean[5] < 1100
    assert length / 20 < driven(points, feeds, machine, smooth).seconds.sum() < length / 20 + 0.2
