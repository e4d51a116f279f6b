"""Formulas of bits against general-purpose numerics: a bent bar solved step by step, a chip measured on circles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from toolpaths.operations.chip_load import thickest_share
from toolpaths.operations.cutting_forces import stepped_cantilever

E = 550_000.0


def _bent(force: float, inner: tuple[float, float], outer: tuple[float, float], above_tip: float) -> float:
    """The end of a clamped bar by integrating its curvature M / (E I) twice from the clamp (Euler and Bernoulli)."""
    (a, thick), (b, thin) = inner, outer
    acts = a + b - above_tip

    state = np.zeros(2)
    # In three stretches, so that neither the step nor the force lies inside one.
    for x0, x1 in zip(stops := sorted({0.0, a, acts, a + b}), stops[1:], strict=False):
        middle = (x0 + x1) / 2

        def within(x: float, y: np.ndarray, diameter: float = thick if middle < a else thin) -> list[float]:
            return [y[1], force * max(acts - x, 0.0) / (E * math.pi * diameter**4 / 64)]

        state = solve_ivp(within, (x0, x1), state, rtol=1e-10, atol=1e-14).y[:, -1]
    return float(state[0])


@pytest.mark.parametrize(
    ("inner", "outer", "above"),
    [
        ((12.5, 3.175), (2.5, 0.48), 0.0),
        ((12.5, 3.175), (2.5, 0.48), 0.075),
        ((7.0, 3.175), (8.0, 2.54), 1.0),
        ((5.0, 6.35), (20.0, 5.08), 10.0),
        ((10.0, 6.0), (5.0, 2.0), 7.0),
    ],
)
def test_a_stepped_bar_leans_as_an_integration_from_the_clamp_says(
    inner: tuple[float, float], outer: tuple[float, float], above: float
) -> None:
    """Source: scipy's initial value solver on the bending equation."""
    expected = _bent(8.0, inner, outer, above)
    assert expected == pytest.approx(stepped_cantilever(8.0, inner, outer, E, above), rel=1e-6)


def _thickest(q: float, feed: float, radius: float = 1.0) -> float:
    """Greatest thickness of a chip between the edge's circle and the same circle one chip load back, along the radius.

    The wood's wall lies q diameters inside the bit's side; the feed goes along +x, the wood is on the side y > 0.
    """
    wall = radius - 2 * q * radius
    # Angle from the feed's direction; only points of the circle beyond the wall cut, and only ahead.
    angles = np.linspace(0.0, np.pi / 2, 200_001)
    cuts = radius * np.sin(angles) >= wall
    # Where the radius through (x, y) leaves the circle about (-feed, 0).
    u, v = np.cos(angles), np.sin(angles)
    back = -feed * u + np.sqrt(radius**2 - (feed * v) ** 2)
    return float(np.max(np.where(cuts, radius - back, 0.0)))


@pytest.mark.parametrize("q", [0.02, 0.05, 0.1, 0.25, 0.4, 0.5])
def test_a_chip_is_as_thin_as_two_circles_say(q: float) -> None:
    """Direct geometry, no formula: 0.05 2.2942, 0.1 1.6667, 0.25 1.1547, 0.5 1. Derived."""
    feed = 1e-4
    measured = _thickest(q, feed) / feed
    assert measured == pytest.approx(float(thickest_share(np.array([q]), np.array([0.0]), 30.0)[0]), rel=2e-3)


def test_the_wood_in_all_chips_is_what_the_pass_is_wide() -> None:
    """The thickness over the turn adds up to feed a tooth times width: f sin(angle) r d(angle). By scipy's quad."""
    q, radius, feed = 0.2, 3.0, 0.05
    first = math.acos(1 - 2 * q)
    area, _ = quad(lambda angle: feed * math.sin(angle) * radius, 0.0, first)
    assert feed * 2 * radius * q == pytest.approx(area)
