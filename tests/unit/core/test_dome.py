"""A floor that follows the rounded top lies lower by the sagitta, with the slope of the circle.

Sagitta: R 241.3, width 42: 0.9155 mm; 304.8, 56: 1.2888. Derived (elementary geometry).
"""

from __future__ import annotations

import numpy as np
import pytest

from toolpaths.core.dome import Domed
from toolpaths.core.target import Level, Valley


@pytest.mark.parametrize(
    ("radius", "width", "sagitta"), [(241.3, 42, 0.9155), (304.8, 56, 1.2888), (184.15, 42, 1.2013)]
)
def test_the_edges_lie_lower_by_the_sagitta(radius: float, width: float, sagitta: float) -> None:
    dome = Domed(Level(5.5), radius, radius, 400.0)
    edges = dome.height(np.array([10.0, 300.0, 10.0]), np.array([width / 2, -width / 2, 0.0]))
    assert [5.5 - sagitta, 5.5 - sagitta, 5.5] == pytest.approx(edges.tolist(), abs=5e-5)


def test_a_compound_radius_grows_in_a_straight_line() -> None:
    dome = Domed(Level(0.0), 254.0, 406.4, 400.0)
    assert [254.0, 330.2, 406.4] == pytest.approx(dome.radius(np.array([0.0, 200.0, 400.0])).tolist())


def test_the_slope_is_the_gradient() -> None:
    dome = Domed(Valley(50.0, 5.0, 0.1, 0.8), 254.0, 406.4, 400.0)
    rng = np.random.default_rng(5)
    x, y, h = 50 + rng.uniform(0.3, 2, 50), rng.uniform(-25, 25, 50), 1e-5
    gradient = np.hypot((dome.height(x, y + h) - dome.height(x, y - h)) / (2 * h), 0 * x)
    along = (dome.height(x + h, y) - dome.height(x - h, y)) / (2 * h)
    # The two add up at most: a bound that holds in every direction.
    assert np.all(np.hypot(gradient, along) <= dome.slope(x, y) + 1e-6)


def test_a_blind_groove_s_end_is_level() -> None:
    dome = Domed(Level(0.0), 241.3, 241.3, 400.0, (16.0, 18.0))
    low, end = dome.height(np.zeros(2), np.array([18.0, 20.0]))
    assert low == end
    assert low == pytest.approx(-(241.3 - np.sqrt(241.3**2 - 18**2)))
    low, end = dome.height(np.zeros(2), np.array([-16.0, -20.0]))
    assert low == end
    assert low == pytest.approx(-(241.3 - np.sqrt(241.3**2 - 16**2)))
    assert dome.height(np.zeros(1), np.array([-20.0])) == dome.mirrored().height(np.zeros(1), np.array([20.0]))


def test_mirrored_it_is_the_same_dome() -> None:
    dome = Domed(Valley(50.0, 5.0, 0.1, 0.8), 254.0, 406.4, 400.0)
    x, y = np.array([50.0, 51.0]), np.array([3.0, -8.0])
    assert dome.height(x, y).tolist() == dome.mirrored().height(x, -y).tolist()
