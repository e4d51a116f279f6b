"""The rounded top against the analytic cylinder and cone, and its ridges against the closed form, at random places."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.closed_forms import scallop_of
from toolpaths.features.crown_passes import angles, cone_difference, tip_at
from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.bull import Bull
from toolpaths.job.bits.flat import Flat
from toolpaths.target_shape.crown_floor import CrownFloor
from toolpaths.target_shape.demand import Level

LENGTH, HALF, CROWN = 400.0, 26.0, 6.0
CYLINDER = CrownFloor(Level(CROWN), 241.3, 241.3, LENGTH)
COMPOUND = CrownFloor(Level(CROWN), 254.0, 406.4, LENGTH)


def ball(diameter: float = 6.0) -> Bit:
    return Ball(shape="ball", diameter=diameter, flutes=2, cutting_length=12, shank=6, stickout=28)


def bull() -> Bit:
    return Bull(shape="bull", diameter=6.0, corner=1.5, flutes=2, cutting_length=12, shank=6, stickout=28)


def flat() -> Bit:
    return Flat(shape="flat", diameter=6.0, flutes=2, cutting_length=12, shank=6, stickout=28)


def left_by(dome: CrownFloor, bit: Bit, scallop: float, points: np.ndarray) -> np.ndarray:
    """Heights (N,) that all passes leave of a board planed to its crown, by each bit's own exact sweep."""
    out = np.full(len(points), CROWN)
    half = angles(dome, bit, scallop, (0.0, HALF + 1.0))
    every = np.unique(np.concatenate([-half, half]))
    start = tip_at(dome, bit, np.full(len(every), -10.0), every, CROWN)
    end = tip_at(dome, bit, np.full(len(every), LENGTH + 10.0), every, CROWN)
    for a, b in zip(start, end, strict=True):
        many = np.broadcast_to(a, (len(points), 3)), np.broadcast_to(b, (len(points), 3))
        out = np.minimum(out, bit.swept_height(*many, points))
    return out


@pytest.mark.parametrize("dome", [CYLINDER, COMPOUND], ids=["cylinder", "compound"])
@pytest.mark.parametrize("bit", [ball(), bull(), flat()], ids=["ball", "bull", "flat"])
def test_at_10_000_places_the_top_is_never_low_and_nowhere_higher_than_its_ridges(dome: CrownFloor, bit: Bit) -> None:
    """Analytic surface: crown - (R - sqrt(R^2 - y^2)), R linear in x. Elementary geometry."""
    rng = np.random.default_rng(31)
    points = np.stack([rng.uniform(0, LENGTH, 10_000), rng.uniform(-HALF, HALF, 10_000)], axis=1)
    radius = dome.nut + (dome.end - dome.nut) * points[:, 0] / LENGTH
    true = CROWN - (radius - np.sqrt(radius**2 - points[:, 1] ** 2))
    scallop = 0.01
    over = left_by(dome, bit, scallop, points) - true
    assert over.min() >= -1e-6
    assert over.max() <= scallop * 1.01


@pytest.mark.parametrize("step", [0.002, 0.004])
def test_ridges_are_as_high_as_the_closed_form_says(step: float) -> None:
    """Two passes of a ball on a cylinder, the cusp measured by a dense search between them."""
    bit, r = ball(), 3.0
    angle = np.array([0.05, 0.05 + step])
    tip = tip_at(CYLINDER, bit, np.zeros(2), angle, CROWN)
    y = np.linspace(241.3 * np.sin(angle[0]), 241.3 * np.sin(angle[1]), 20_001)
    cut = np.minimum(*(t[2] + r - np.sqrt(r * r - (y - t[1]) ** 2) for t in tip))
    out = np.hypot(y, cut - (CROWN - 241.3)) - 241.3
    assert scallop_of(241.3, r, step) == pytest.approx(float(out.max()), abs=3e-6)


def test_on_a_flat_top_it_is_the_known_scallop() -> None:
    # R - sqrt(R^2 - (s/2)^2): R 3, s 0.6: 0.015038. Derived. A radius of 10 km is flat.
    assert 0.015038 == pytest.approx(scallop_of(1e7, 3.0, 0.6 / 1e7), abs=2e-4)


def test_a_true_cone_is_another_surface_and_hardly() -> None:
    """A right circular cone whose crown line is level, met by planes square to that line: solved point by point."""
    slope = (COMPOUND.end - COMPOUND.nut) / LENGTH
    alpha, crown_r = np.arctan(slope), COMPOUND.nut
    # Apex at the origin, axis tilted down by alpha so that the uppermost line is level; x where R tan fits.
    x = crown_r / np.tan(alpha)
    axis = np.array([np.cos(alpha), 0.0, -np.sin(alpha)])
    y = 27.0

    def off(d: float) -> float:
        p = np.array([x, y, -d])
        along = p @ axis
        return float(np.linalg.norm(p - along * axis) - along * np.tan(alpha))

    low, high = 0.0, 10.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if off(middle) > 0 else (low, middle)
    circle = crown_r - np.sqrt(crown_r**2 - y * y)
    assert abs(circle - low) == pytest.approx(cone_difference(COMPOUND, y), rel=1e-3)
    assert cone_difference(COMPOUND, y) < 0.01
    assert 0.0 == pytest.approx(cone_difference(CYLINDER, y), abs=1e-9)
