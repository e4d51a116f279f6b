"""A floor that follows the rounded top lies lower by the sagitta, with the slope of the circle.

Sagitta: R 241.3, width 42: 0.9155 mm; 304.8, 56: 1.2888. Derived (elementary geometry).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import ArcFloor, Floor, Level


@pytest.mark.parametrize(
    ("radius", "width", "sagitta"), [(241.3, 42, 0.9155), (304.8, 56, 1.2888), (184.15, 42, 1.2013)]
)
def test_the_edges_lie_lower_by_the_sagitta(radius: float, width: float, sagitta: float) -> None:
    dome = CrownFloor(Level(5.5), radius, radius, 400.0)
    edges = dome.height(np.array([10.0, 300.0, 10.0]), np.array([width / 2, -width / 2, 0.0]))
    assert [5.5 - sagitta, 5.5 - sagitta, 5.5] == pytest.approx(edges.tolist(), abs=5e-5)


def test_a_compound_radius_grows_in_a_straight_line() -> None:
    dome = CrownFloor(Level(0.0), 254.0, 406.4, 400.0)
    assert [254.0, 330.2, 406.4] == pytest.approx(dome.radius(np.array([0.0, 200.0, 400.0])).tolist())


def test_the_slope_is_the_gradient() -> None:
    dome = CrownFloor(ArcFloor(40.0, 60.0, 5.0, 4.6), 254.0, 406.4, 400.0)
    rng = np.random.default_rng(5)
    x, y, h = 50 + rng.uniform(0.3, 2, 50), rng.uniform(-25, 25, 50), 1e-5
    gradient = np.hypot((dome.height(x, y + h) - dome.height(x, y - h)) / (2 * h), 0 * x)
    along = (dome.height(x + h, y) - dome.height(x - h, y)) / (2 * h)
    # The two add up at most: a bound that holds in every direction.
    assert np.all(np.hypot(gradient, along) <= dome.slope(x, y) + 1e-6)


def test_a_blind_groove_s_end_is_level() -> None:
    dome = CrownFloor(Level(0.0), 241.3, 241.3, 400.0, (16.0, 18.0))
    low, end = dome.height(np.zeros(2), np.array([18.0, 20.0]))
    assert low == end
    assert low == pytest.approx(-(241.3 - np.sqrt(241.3**2 - 18**2)))
    low, end = dome.height(np.zeros(2), np.array([-16.0, -20.0]))
    assert low == end
    assert low == pytest.approx(-(241.3 - np.sqrt(241.3**2 - 16**2)))
    assert dome.height(np.zeros(1), np.array([-20.0])) == dome.mirrored().height(np.zeros(1), np.array([20.0]))


def test_mirrored_it_is_the_same_dome() -> None:
    dome = CrownFloor(ArcFloor(40.0, 60.0, 5.0, 4.6), 254.0, 406.4, 400.0)
    x, y = np.array([50.0, 51.0]), np.array([3.0, -8.0])
    assert dome.height(x, y).tolist() == dome.mirrored().height(x, -y).tolist()


# Under a pointed bit


def swept(groove: ConeGroove, x: float, y: float) -> float:
    """The lowest cone of 20,000 close to one another along the tip's way, by trial alone."""
    tips = np.linspace(groove.start, groove.end, 20_001)
    inner = np.maximum(np.abs(tips[:, 1]) - groove.flat, 0.0)
    away = np.hypot(*(tips - (x, y)).T)
    cones = groove.under.height(tips[:, 0], inner) + groove.rise * np.maximum(away - groove.flat, 0.0)
    return float(cones[away <= groove.rim].min())


@pytest.mark.parametrize(
    "under", [Level(4.0), CrownFloor(Level(4.0), 150.0, 150.0, 400.0), CrownFloor(Level(4.0), 160.0, 300.0, 400.0)]
)
@pytest.mark.parametrize("lean", [0.0, 0.3, -0.7])
@pytest.mark.parametrize(("angle", "flat"), [(20, 0.05), (60, 0.0), (90, 0.2), (120, 0.1)])
def test_a_pointed_bit_leaves_the_lowest_of_all_its_cones(under: Floor, lean: float, angle: int, flat: float) -> None:
    rise = 1 / math.tan(math.radians(angle / 2))
    groove = ConeGroove(under, (200 - 26 * lean, -26.0), (200 + 30 * lean, 30.0), flat, rise, 3.175)
    rng = np.random.default_rng(angle)
    # Beside its way, and past both of its ends, as far as the bit reaches.
    along, aside = rng.uniform(-27, 31, 80), rng.uniform(-2, 2, 80)
    unit = np.array([lean, 1.0]) / math.hypot(lean, 1.0)
    x, y = 200 + along * lean - aside * unit[1], along + aside * unit[0]
    expected = [swept(groove, float(a), float(b)) for a, b in zip(x, y, strict=True)]
    assert expected == pytest.approx(groove.height(x, y).tolist(), abs=5e-4)
    assert groove.height(x, y) == pytest.approx(groove.mirrored().height(x, -y), abs=1e-12)


def test_a_leaning_groove_is_as_wide_square_to_itself() -> None:
    lean = math.tan(math.radians(30))
    groove = ConeGroove(Level(4.0), (10 - 20 * lean, -20.0), (10 + 20 * lean, 20.0), 0.1, 2.0, 3.0)
    # 0.5 square to the line through (10, 0) that goes 30 degrees aside, at y 6: derived.
    x, y = 10 + 6 * lean + 0.5 * math.cos(math.radians(30)), 6 - 0.5 * math.sin(math.radians(30))
    assert [4.0, 4.0 + 2.0 * (0.5 - 0.1)] == pytest.approx(
        groove.height(np.array([10 + 6 * lean, x]), np.array([6.0, y])).tolist()
    )
