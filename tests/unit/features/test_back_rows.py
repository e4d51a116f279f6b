"""How low a bit comes over a surface, against closed forms; which rows leave what; where rows must bend."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.neck_builder import instrument
from tests.support.setup_builder import flat
from toolpaths.features.back_rows import around, sections_at, touching
from toolpaths.instrument.back_surfaces import Faceted, NearBack
from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.bull import Bull

MORE = {"flutes": 2, "cutting_length": 25.0, "shank": 6.0, "stickout": 30.0}
diameters = st.floats(1.0, 13.0)
slopes, ways = st.floats(0.0, 2.5), st.floats(0.0, 2 * math.pi)


def ball(diameter: float) -> Bit:
    return Ball(shape="ball", diameter=diameter, **MORE)


def bull(diameter: float, part: float) -> Bit:
    return Bull(shape="bull", diameter=diameter, corner=part * diameter / 2, **MORE)


class Shape:
    """A surface by its heights."""

    def height(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        raise NotImplementedError

    def across(self, x: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
        return lambda y: self.height(x, y)


@dataclass(frozen=True)
class Plane(Shape):
    """A plane of a slope that rises in a direction."""

    slope: float
    way: float

    def height(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 10.0 + self.slope * (x * math.cos(self.way) + y * math.sin(self.way))


@dataclass(frozen=True)
class Cylinder(Shape):
    """The upper half of a cylinder along x."""

    radius: float

    def height(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        x, y = np.broadcast_arrays(x, y)
        return np.where(np.abs(y) < self.radius, np.sqrt(np.maximum(self.radius**2 - y**2, 0.0)), -50.0)


def lowest(surface: Shape, bit: Bit, x: float, y: float) -> float:
    return float(touching(surface, bit, np.array([x]), np.array([y]))[0])


@given(diameter=diameters, slope=slopes, way=ways, x=st.floats(-50, 50), y=st.floats(-20, 20))
def test_a_ball_on_a_plane(diameter: float, slope: float, way: float, x: float, y: float) -> None:
    # The centre stands r sqrt(1 + m^2) over the plane, the tip r below it. Elementary geometry.
    plane, r = Plane(slope, way), diameter / 2
    expected = float(plane.height(np.array(x), np.array(y))) + r * (math.sqrt(1 + slope**2) - 1)
    assert expected == pytest.approx(lowest(plane, ball(diameter), x, y), abs=0.005)


@given(diameter=diameters, slope=slopes, way=ways)
def test_a_flat_end_on_a_plane(diameter: float, slope: float, way: float) -> None:
    # It rests on its rim: r m over the plane at its middle.
    assert 10 + diameter / 2 * slope == pytest.approx(lowest(Plane(slope, way), flat(diameter), 0.0, 0.0), abs=0.005)


@given(diameter=diameters, part=st.floats(0.1, 0.95), slope=slopes, way=ways)
def test_a_bull_nose_on_a_plane(diameter: float, part: float, slope: float, way: float) -> None:
    # A flat of r - c, and round it the tube of a ball of c: (r - c) m + c (sqrt(1 + m^2) - 1).
    r, c = diameter / 2, part * diameter / 2
    expected = 10 + (r - c) * slope + c * (math.sqrt(1 + slope**2) - 1)
    assert expected == pytest.approx(lowest(Plane(slope, way), bull(diameter, part), 0.0, 0.0), abs=0.005)


@given(diameter=diameters, big=st.floats(15.0, 40.0), part=st.floats(-0.9, 0.9))
def test_a_ball_on_a_cylinder(diameter: float, big: float, part: float) -> None:
    # The centre lies R + r from the axis: sqrt((R + r)^2 - y^2) - r.
    r, y = diameter / 2, part * big
    assert math.sqrt((big + r) ** 2 - y * y) - r == pytest.approx(
        lowest(Cylinder(big), ball(diameter), 3.0, y), abs=0.005
    )


@pytest.mark.parametrize("back", ["round", "soft vee"])
@pytest.mark.parametrize("bit", [ball(6.0), bull(8.0, 0.3), flat(3.0)], ids=["ball", "bull", "flat"])
def test_what_rows_leave_over_a_section(back: str, bit: Bit) -> None:
    """Every row's profile at 4001 places, the lowest of all, over the section's own height."""
    surface = NearBack(instrument({"thickness": {1: 21, 12: 22}, "back": back}), 0.0, 1.0)
    out, wide, x = 14.0, 15.0, 120.0
    (section,) = sections_at(surface, bit, np.array([x]), np.array([out]), np.array([wide]))
    rng = np.random.default_rng(8)
    for sides in (around(9), around(33), np.sort(rng.uniform(-1, 1, 12))):
        rows = sides * out
        tips = touching(surface, bit, np.full(len(rows), x), rows)
        y = np.linspace(-wide, wide, 4001)
        left = np.full(len(y), np.inf)
        for row, tip in zip(rows, tips, strict=True):
            left = np.minimum(left, tip + bit.height_at(np.abs(y - row)))
        true = float((left - surface.height(np.full(len(y), x), y)).max())
        found = section.left(sides)
        if math.isinf(true):
            assert math.isinf(found)
        else:
            # It looks at 322 places, 0.1 mm apart, and a cusp falls off on both sides.
            assert true == pytest.approx(found, abs=0.08 * max(1.0, true))


def test_more_rows_leave_less() -> None:
    surface = NearBack(instrument({"thickness": {1: 21, 12: 22}}), 0.0, 1.0)
    (section,) = sections_at(surface, ball(6.0), np.array([120.0]), np.array([15.0]), np.array([11.0]))
    # Beyond 11 mm, on the slope, the ball at 15 mm no longer touches what lies under its middle.
    left = [section.left(around(n)) for n in (9, 17, 33, 65, 129)]
    assert sorted(left, reverse=True) == left
    assert left[-1] < 0.03


@given(count=st.integers(2, 101))
def test_rows_lie_evenly_on_both_sides_and_reach_out_all_the_way(count: int) -> None:
    found = around(count)
    assert (-1.0, 1.0) == pytest.approx((found[0], found[-1]))
    assert found == pytest.approx(-found[::-1], abs=1e-12)
    assert np.all(np.diff(found) > 0)


@pytest.mark.parametrize("bit", [ball(6.0), bull(8.0, 0.3), flat(3.0)], ids=["ball", "bull", "flat"])
@given(x=st.one_of(st.floats(-21.0, -1.0), st.floats(93.0, 109.0), st.floats(1.0, 90.0)), y=st.floats(-15.0, 15.0))
@settings(max_examples=15)
def test_where_facets_meet_in_edges_and_run_into_heel_and_headstock(bit: Bit, x: float, y: float) -> None:
    """Against places all over the end, 0.05 mm apart: none may stand higher, and the best lies hardly lower."""
    neck = {
        "thickness": {1: 18, 8: 19},
        "heel": {"from": 110, "to": 150, "width": 46, "thickness": 21, "blend": 18},
        "headstock": {"length": 75, "width": 50, "thickness": 14, "blend": 22},
        "volute": {"height": 2, "at": "nut", "length": 30},
    }
    surface = Faceted(instrument(neck, nut=34, fret_12=42, board=5, scale=300), 0.0, 0.5, 2)
    rho, turn = np.meshgrid(np.linspace(0, bit.radius, 61), np.linspace(0, 2 * math.pi, 361))
    u, v = (rho * np.cos(turn)).ravel(), (rho * np.sin(turn)).ravel()
    tried = float((surface.height(x + u, y + v) - bit.height_at(np.minimum(rho.ravel(), bit.radius))).max())
    found = float(touching(surface, bit, np.array([x]), np.array([y]))[0])
    assert tried - 0.002 <= found <= tried + 0.03
