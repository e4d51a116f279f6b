"""Surfaces near the finished back against a brute search over the section itself, on necks of every kind.

The section is drawn here anew: half an ellipse, or straight lines between the pairs of a profile. Elementary geometry.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.neck_builder import half_ellipse, instrument
from toolpaths.instrument.back_surfaces import (
    STEEPEST,
    Faceted,
    KerfFloor,
    NearBack,
    kerf_tip,
    part_of_width,
    steepness,
)
from toolpaths.instrument.necks import back_depth, half_width_at
from toolpaths.job.job import Instrument

OWN = [[0, 1], [0.35, 0.93], [0.8, 0.5], [1, 0.1]]
VEE = [(0.0, 1.0), (0.2, 0.94), (0.45, 0.80), (0.7, 0.56), (0.9, 0.27), (1.0, 0.0)]
HEEL = {"from": 330, "to": 400, "width": 52, "thickness": 25, "blend": 30}
HEAD = {"length": 150, "width": 66, "thickness": 14, "blend": 28}
BACKS = ["round", "soft vee", OWN]


def neck(back: Any, thickness: float = 20.5, **more: Any) -> Instrument:
    return instrument({"thickness": {1: thickness, 12: thickness + 1.5}, "back": back, **more})


def section(made: Instrument, x: float, count: int = 1201, drop: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """y and depth of the finished section at x, corners of its profiles among them, the very edges left out."""
    half = float(half_width_at(made, np.array([x]))[0])
    corners = np.array([w for w, _ in [*VEE, *OWN]])
    parts = np.sort(np.concatenate([np.sin(np.linspace(-math.pi / 2, math.pi / 2, count)), corners, -corners]))
    y, count = half * parts * (1 - 1e-12), len(parts)
    return y, back_depth(made, np.full(count, x), y, drop)


def facet(made: Instrument, x: float, lean: float) -> tuple[float, float]:
    """(support, y of the touch) of the section for a normal that leans so far outwards: the greatest of all places."""
    y, z = section(made, x)
    along = z * math.cos(lean) + y * math.sin(lean)
    k = int(np.argmax(along))
    return float(along[k]), float(y[k])


@given(
    back=st.sampled_from(BACKS),
    planes=st.sampled_from([2, 4]),
    x=st.floats(5.0, 300.0),
    leave=st.floats(0.0, 4.0),
    thickness=st.floats(16.0, 26.0),
)
def test_each_plane_lies_at_the_section_s_own_support(
    back: Any, planes: int, x: float, leave: float, thickness: float
) -> None:
    made = neck(back, thickness)
    surface = Faceted(made, 0.0, leave, planes)
    assert [math.pi / 2 * k / (planes + 1) for k in range(planes + 1)] == pytest.approx(surface.leans)
    y, _ = section(made, x)
    found = np.array(
        [(facet(made, x, lean)[0] - np.abs(y) * math.sin(lean)) / math.cos(lean) for lean in surface.leans]
    )
    # 1201 places leave less than half width (1 - cos(pi / 2400)) between them, and a plane that leans by 72 degrees
    # stands as much higher as 1 / cos 72. Derived.
    assert surface.height(np.full(len(y), x), y) == pytest.approx(found.min(axis=0) + leave, abs=5e-5)


@given(
    back=st.sampled_from(BACKS),
    planes=st.sampled_from([2, 4]),
    x=st.floats(-27.0, 329.0),
    leave=st.floats(0.0, 4.0),
    drop=st.floats(0.0, 5.0),
)
def test_planes_are_never_below_what_is_left_and_each_touches_it_once(
    back: Any, planes: int, x: float, leave: float, drop: float
) -> None:
    made = neck(back, heel=HEEL, headstock=HEAD)
    y, z = section(made, x, drop=drop)
    over = Faceted(made, drop, leave, planes).height(np.full(len(y), x), y) - z - leave
    assert over.min() >= -1e-9
    # Each plane of a side, and the one on top, comes down to the section (at the wide end of a flat part or at a
    # corner of a profile it is the same place for several); 1201 places come within 0.002 of it.
    lean = [math.pi / 2 * k / (planes + 1) for k in range(planes + 1)]
    for a in lean:
        k = int(np.argmax(z * math.cos(a) + y * math.sin(a)))
        assert over[k] <= 0.002


@given(x=st.floats(10.0, 290.0), planes=st.sampled_from([2, 4]), leave=st.floats(0.0, 3.0))
def test_on_half_an_ellipse_the_touches_lie_where_its_normals_lean(x: float, planes: int, leave: float) -> None:
    """Point of an ellipse of half axes w, d whose normal leans by a: y = w^2 sin a / sqrt(w^2 sin^2 a + d^2 cos^2 a).

    Elementary geometry.
    """
    w, d = 21.0, 15.0
    made = half_ellipse(w, d)
    surface = Faceted(made, 0.0, leave, planes)
    for a in surface.leans:
        h = math.hypot(w * math.sin(a), d * math.cos(a))
        y = w * w * math.sin(a) / h
        assert d * math.sqrt(1 - (y / w) ** 2) + leave == pytest.approx(
            float(surface.height(np.array([x]), np.array([y]))[0]), abs=1e-9
        )
        for aside in (-1.0, 1.0):
            # Beside the touch it stands above: no place is touched along a stretch.
            at = np.array([y + aside])
            true = d * np.sqrt(np.maximum(1 - (at / w) ** 2, 0.0)) + leave
            assert surface.height(np.array([x]), at)[0] > true[0] + 0.005


@given(x=st.floats(-20.0, 320.0), y=st.floats(0.0, 20.0), leave=st.floats(0.0, 4.0))
def test_every_surface_is_the_same_on_both_sides_and_mirrored(x: float, y: float, leave: float) -> None:
    made = neck("round", heel=HEEL, headstock=HEAD)
    at = np.array([x])
    for surface in (
        NearBack(made, 2.0, leave),
        Faceted(made, 2.0, leave, 2),
        KerfFloor(made, 2.0, leave, x, 1.5, 15.0),
    ):
        assert surface.height(at, np.array([y]))[0] == surface.height(at, np.array([-y]))[0]
        assert surface.mirrored() is surface


def test_near_the_back_is_the_back_and_what_is_left() -> None:
    made = half_ellipse(20.0, 14.0)
    y = np.array([0.0, 8.0, -12.0, 16.0])
    # 14 sqrt(1 - (y / 20)^2) + 1.25
    expected = [15.25, 14 * math.sqrt(0.84) + 1.25, 12.45, 9.65]
    assert expected == pytest.approx(NearBack(made, 0.0, 1.25).height(np.full(4, 100.0), y).tolist(), abs=1e-9)


def disc(made: Instrument, x: float, tip: float, radius: float, drop: float = 0.0) -> float:
    """The highest of the finished back under a disc, by places all over it."""
    rho, turn = np.meshgrid(radius * np.array([0.0, 0.5, 1.0]), np.linspace(0, 2 * math.pi, 181))
    u, v = (rho * np.cos(turn)).ravel(), (rho * np.sin(turn)).ravel()
    return float(back_depth(made, x + u, tip + v, drop).max())


@given(
    back=st.sampled_from(BACKS),
    x=st.floats(10.0, 300.0),
    radius=st.floats(0.4, 4.0),
    tip=st.floats(0.0, 14.0),
    volute=st.booleans(),
)
def test_a_flat_end_stands_on_the_highest_place_under_it(
    back: Any, x: float, radius: float, tip: float, volute: bool
) -> None:
    more = {"volute": {"height": 3, "at": "fret 1", "length": 40}} if volute else {}
    made = neck(back, **more)
    found = float(kerf_tip(made, 0.0, x, radius, np.array([tip]))[0])
    # Both go by places on the rim: 17 over its inner half here, 181 turns there.
    assert disc(made, x, tip, radius) == pytest.approx(found, abs=0.006)


@pytest.mark.parametrize("back", BACKS, ids=["round", "soft vee", "own"])
@pytest.mark.parametrize("radius", [0.8, 1.5875, 3.0])
def test_the_floor_of_a_kerf_is_the_lowest_of_many_discs_on_the_section(back: Any, radius: float) -> None:
    made, x, end, leave = neck(back), 137.0, 14.0, 0.6
    tips = np.linspace(0.0, end, 281)
    stands = np.array([disc(made, x, float(t), radius) for t in tips])
    rng = np.random.default_rng(11)
    # Places within the groove: a strip with half a disc at both ends.
    u, v = rng.uniform(-radius, radius, 1000), rng.uniform(-end - radius, end + radius, 1000)
    inside = (np.abs(u) < 0.995 * radius) & (np.abs(v) < end + np.sqrt(radius**2 - u**2) - 0.03)
    u, v = u[inside], v[inside]
    # A section is symmetric: the tips of one side reach what those of the other do.
    covers = np.hypot(u[:, None], np.abs(v)[:, None] - tips) <= radius
    lowest = np.where(covers, stands, np.inf).min(axis=1) + leave
    found = KerfFloor(made, 0.0, leave, x, radius, end).height(x + u, v)
    # Tips lie 0.05 apart, on slopes of up to 1.5 for these profiles.
    assert np.abs(found - lowest).max() <= 0.05 * 1.5 + 0.01
    assert np.abs(found - lowest).mean() <= 0.025


@given(part=st.floats(0.05, 0.95))
def test_the_part_of_the_width_that_is_so_deep(part: float) -> None:
    # Of half an ellipse sqrt(1 - part^2); a profile of straight pieces is read off backwards.
    assert math.sqrt(1 - part * part) == pytest.approx(part_of_width(half_ellipse(20, 14), part), abs=1e-9)
    widths, depths = np.array(VEE).T
    assert np.interp(part, depths[::-1], widths[::-1]) == pytest.approx(part_of_width(neck("soft vee"), part), abs=1e-9)


def test_an_upright_edge_is_reached_whole() -> None:
    # The profile ends 0.1 deep at its edge.
    assert 1.0 == pytest.approx(part_of_width(neck(OWN), 0.05), abs=1e-9)


def test_steepness_is_the_slope_of_the_ellipse_and_has_an_end() -> None:
    made = half_ellipse(20.0, 14.0)
    y = np.array([0.0, 6.0, -12.0, 16.0])
    # dz/dy = d y / (w^2 sqrt(1 - (y / w)^2))
    expected = 14 * np.abs(y) / (400 * np.sqrt(1 - (y / 20) ** 2))
    surface = NearBack(made, 0.0, 1.0)
    assert expected == pytest.approx(steepness(surface, np.full(4, 100.0), y), abs=1e-5)
    assert STEEPEST == surface.slope(np.array([100.0]), np.array([20.0]))[0]
    # Along the neck too: straight thickness of 1.5 mm from fret 1 to fret 12.
    first = 584 * (1 - 2 ** (-1 / 12))
    assert 1.5 / (292 - first) == pytest.approx(
        float(NearBack(neck("round"), 0.0, 1.0).slope(np.array([150.0]), np.array([0.0]))[0]), abs=1e-6
    )
