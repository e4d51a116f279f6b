"""Where a moving cylinder meets a box or wood: exact formulas against brute force."""

import numpy as np
import pytest
import shapely

from tests.support.check_input_builder import inputs, program
from toolpaths.verification import cylinder_sweep
from toolpaths.verification.cylinder_sweep import first_of_cylinder, lowest_of_cylinder, lowest_over_box, overlap

BOX = (10.0, -4.0, 18.0, 5.0)


def brute_over_box(start: np.ndarray, end: np.ndarray, radius: float) -> float:
    """The move sampled at 4,001 places, distances by the geometry library."""
    t = np.linspace(0, 1, 4_001)[:, None]
    at = start + t * (end - start)
    near = shapely.distance(shapely.box(*BOX), shapely.points(at[:, :2])) < radius
    return float(at[near, 2].min()) if near.any() else np.inf


def test_lowest_over_a_box_agrees_with_sampling() -> None:
    random = np.random.default_rng(7)
    start = random.uniform([-5, -20, 0], [35, 20, 20], (120, 3))
    end = random.uniform([-5, -20, 0], [35, 20, 20], (120, 3))
    radius = 3.0
    found = lowest_over_box(start, end, radius, BOX)
    wanted = np.array([brute_over_box(a, b, radius) for a, b in zip(start, end, strict=True)])
    both = np.isfinite(wanted)
    assert both.sum() > 30
    assert np.all(found[both] <= wanted[both] + 1e-5)
    assert found[both] == pytest.approx(wanted[both], abs=5e-3)
    # Sampling may miss the lightest brush past a corner, and nothing else.
    assert np.isinf(found[~both]).mean() > 0.97


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ((14, 0, 9), (14, 0, 2), 2.0),  # straight down over it
        ((14, 0, 2), (14, 0, 9), 2.0),  # and up
        ((7, 0, 5), (7, 9, 1), np.inf),  # along its side, touching
        ((7.01, 0, 5), (7.01, 0, 1), 1.0),
        ((7.87, 7.13, 1), (7.87, 7.13, 3), np.inf),  # off the corner by 3.01 along the diagonal
        ((0, 0, 10), (28, 0, 10), 10.0),
        ((0, 0, 20), (28, 0, 6), 9.5),  # leaves it at x 21, three quarters of the way
    ],
)
def test_lowest_over_a_box(start: tuple[float, ...], end: tuple[float, ...], expected: float) -> None:
    found = lowest_over_box(np.array([start], float), np.array([end], float), 3.0, BOX)[0]
    assert found == pytest.approx(expected, abs=1e-5)


def test_a_cylinder_comes_first_at_one_height_and_lowest_at_another() -> None:
    # 20 mm along, 10 down, radius 2: over the point at x 10 from x 8 (z 6) to x 12 (z 4).
    start, end, point = np.array([[0.0, 0, 10]]), np.array([[20.0, 0, 0]]), np.array([[10.0, 0]])
    assert first_of_cylinder(start, end, point, 2.0)[0] == pytest.approx(6.0)
    assert lowest_of_cylinder(start, end, point, 2.0)[0] == pytest.approx(4.0)
    assert np.isinf(lowest_of_cylinder(start, end, np.array([[10.0, 2.01]]), 2.0)[0])


def deepest(text: str, radius: float) -> list[float]:
    """How deep a cylinder of that radius is in the blank (10 high) on each move of a program, mm."""
    given = inputs(program(text))
    moves = np.arange(len(given.moves))
    return overlap(given, moves, radius, lambda a, b, p: lowest_of_cylinder(a, b, p, radius), 1e-3).depth.tolist()


@pytest.mark.parametrize("far", [100, 3_000, 40_000])
@pytest.mark.parametrize("radius", [1.0, 3.0, 20.0])
def test_however_long_a_move_is_it_is_found_where_it_crosses_the_blank(far: int, radius: float) -> None:
    """A level rapid 7.5 above the bed through wood 10 high: 2.5 deep, elementary; one beside the blank meets none."""
    level = max(deepest(f"G0 X{-far} Y5\nG0 Z7.5\nG0 X{far} Y5", radius))
    slanted = max(deepest(f"G0 X{-far} Y{-far}\nG0 Z7.5\nG0 X{far} Y{far}", radius))
    beside = max(deepest(f"G0 X{-far} Y{far}\nG0 Z7.5\nG0 X{far} Y{far}", radius))
    assert (2.5, 2.5, 0.0) == pytest.approx((level, slanted, beside))


@pytest.mark.parametrize("seed", range(40))
def test_points_that_the_move_before_has_passed_may_be_left_out(seed: int) -> None:
    """Cuts in short moves, level, rising and falling, and a body wider than the bit: found or not, all the same."""
    rng = np.random.default_rng(seed)
    x, y, z, lines = 40.0, 0.0, 9.0, ["G0 X40 Y0", "G0 Z12"]
    for _ in range(30):
        way = rng.uniform(0, 2 * np.pi)
        x, y = x + rng.uniform(0.2, 2) * np.cos(way), y + rng.uniform(0.2, 2) * np.sin(way)
        z = float(np.clip(z + rng.choice([0, 0, 0, 0.4, -0.4]), 7.0, 11.0))
        lines.append(f"G1 X{x:.3f} Y{y:.3f} Z{z:.3f} F500")
    given = inputs(program("\n".join(lines)))
    radius, rises = float(rng.uniform(1.0, 6.0)), float(rng.choice([0.0, 0.5, 1.5]))
    chosen = np.nonzero(rng.uniform(size=len(given.moves)) < rng.choice([0.7, 1.0]))[0]

    def low(start: np.ndarray, end: np.ndarray, points: np.ndarray) -> np.ndarray:
        return lowest_of_cylinder(start, end, points, radius) + rises

    few = cylinder_sweep._overlap(given, chosen, radius, low, 1e-3, again=False).depth
    every = cylinder_sweep._overlap(given, chosen, radius, low, 1e-3, again=True).depth
    assert np.any(few > 1e-3) == np.any(every > 1e-3)
    assert np.array_equal(every, overlap(given, chosen, radius, low, 1e-3).depth) or not np.any(every > 1e-3)
