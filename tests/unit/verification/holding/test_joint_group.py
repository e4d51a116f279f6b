"""What joints and holders bear together, against elementary mechanics worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from tests.support.held_part import HeldPart
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.simulation.columns import Columns
from toolpaths.verification.holding.joint_group import (
    Bearing,
    area_bearings,
    group_ratio,
    joint_bearings,
    outermost,
)
from toolpaths.verification.holding.joints import Joints

MAPLE = WoodStrength.of(705.6).poor
PLAIN = WoodStrength(rupture=100, shear=10, across=5, elasticity=10_000)
NOWHERE = np.empty((0, 2))


def screw(x: float, y: float, sideways: float = 300.0, lift: float = 300.0) -> Bearing:
    return Bearing((x, y), sideways, sideways, lift)


def places(*at: tuple[float, float]) -> np.ndarray:
    return np.array(at, dtype=np.float64)


def one_joint(
    normal: tuple[float, float], area: float, height: float, span: float, at: tuple[float, float] = (0, 0)
) -> Joints:
    return Joints(
        places(at), places(normal), *(np.array([v], dtype=np.float64) for v in (area, height, area / height, span))
    )


# What one joint bears


def test_a_tab_across_the_grain_by_hand() -> None:
    """8 long, 3 high, span 5, normal along y.

    Pulled 5 x 24 = 120 N. Pushed: bent 10 x 3 x 64 / 15 = 128, sheared 10 x 24 / 1.5 = 160. Lifted: 10 x 8 x 9 / 15.
    """
    one, other = joint_bearings(one_joint((0, 1), 24, 3, 5, (7, 9)), PLAIN)
    assert {(0.0, 1.0)} == {one.normal, other.normal}
    assert (120, 128, 48) == pytest.approx((2 * one.along, 2 * one.across, 2 * one.lift))
    # Its halves lie a sixth of its 8 mm to either side, along it.
    assert {(7 - 8 / 6, 9.0), (7 + 8 / 6, 9.0)} == {one.middle, other.middle}


def test_a_tab_along_the_grain_by_hand() -> None:
    """The same, normal along x: pulled 50 x 24 = 1200 N, pushed and lifted 160, sheared; bent 1280 and 480."""
    one, _ = joint_bearings(one_joint((-1, 0), 24, 3, 5), PLAIN)
    assert (1200, 160, 160) == pytest.approx((2 * one.along, 2 * one.across, 2 * one.lift))


def test_a_long_span_bears_little_sideways() -> None:
    """8 long, 3 high, span 50, across the grain: a tenth of the tab above."""
    one, _ = joint_bearings(one_joint((0, 1), 24, 3, 50), PLAIN)
    assert (120, 12.8, 4.8) == pytest.approx((2 * one.along, 2 * one.across, 2 * one.lift))


def test_a_lone_joint_bears_the_moment_of_its_own_section() -> None:
    """24 long, 10 high, pulled 50 N/mm2 along the grain: W f = 10 x 24^2 / 6 x 50 = 48,000 Nmm (elementary mechanics).

    A push of 11 N at 600 mm is 6,600 Nmm; the push itself, 11 of the 1600 N that it bears across, adds 0.0069.
    """
    joint = joint_bearings(one_joint((1, 0), 240, 10, 0.5), PLAIN)
    times = group_ratio(joint, 11, 0, places((600, 0)), NOWHERE)
    assert times == pytest.approx(1 / (6600 / 48_000 + 11 / 1600), rel=0.05)


# Sideways and turning


def test_two_screws_pushed_between_them() -> None:
    """Each takes half of 60 N: 300 / 30."""
    assert 10 == pytest.approx(group_ratio([screw(-50, 0), screw(50, 0)], 60, 0, places((0, 0)), NOWHERE))


def test_two_screws_turned() -> None:
    """60 N across at x 100: M = 6000 Nmm, J = 2 x 50^2; the near screw takes 30 + 6000 x 50 / 5000 = 90 N."""
    assert 300 / 90 == pytest.approx(group_ratio([screw(-50, 0), screw(50, 0)], 60, 0, places((100, 0)), NOWHERE))


def test_four_screws_with_a_moment() -> None:
    """Corners (+-40, +-30), 100 N at (140, 0): J = 4 x 50^2 = 10000 mm2.

    The corner (40, 30) takes Fx / 4 - 140 x 30 / 10000 Fy = 0.25 Fx - 0.42 Fy along x and
    Fy / 4 + 140 x 40 / 10000 Fy = 0.81 Fy along y. Straight along y that is 91.2 N. The worst direction is the
    greatest root of the matrix's product with itself: ((0.895 + sqrt(0.77^2 + 4 x 0.105^2)) / 2)^0.5 = 0.92009.
    """
    corners = [screw(x, y) for x in (-40, 40) for y in (-30, 30)]
    assert 300 / 92.009 == pytest.approx(group_ratio(corners, 100, 0, places((140, 0)), NOWHERE), rel=1e-4)


def test_two_joints_by_hand() -> None:
    """Normals along y at x = +-50, 100 N along and 200 N across them, 10 N at (0, 0): each takes 5 N any way.

    Use 5 sin / 100 + 5 cos / 200, greatest 5 x sqrt(1 / 100^2 + 1 / 200^2) = 0.0559.
    """
    two = [Bearing((x, 0.0), 100.0, 200.0, 1.0, (0.0, 1.0)) for x in (-50.0, 50.0)]
    assert 1 / (5 * math.hypot(0.01, 0.005)) == pytest.approx(group_ratio(two, 10, 0, places((0, 0)), NOWHERE))


def test_one_thing_alone_does_not_bear_turning() -> None:
    assert 0 == group_ratio([screw(0, 0)], 10, 1, places((100, 0)), NOWHERE)
    assert 0 == group_ratio([screw(0, 0), screw(0, 0)], 10, 1, places((0, 0)), NOWHERE)


def test_nothing_bears_nothing_and_no_force_is_always_borne() -> None:
    assert 0 == group_ratio([], 10, 1, places((0, 0)), NOWHERE)
    assert 0 == group_ratio([screw(0, 0, 0.0), screw(9, 0, 0.0)], 10, 0, places((0, 0)), NOWHERE)
    assert math.inf == group_ratio([screw(0, 0)], 0, 0, places((0, 0)), NOWHERE)
    assert math.inf == group_ratio([], 10, 1, NOWHERE, NOWHERE)


def some_members(rng: np.random.Generator) -> list[Bearing]:
    out = []
    for _ in range(rng.integers(2, 9)):
        x, y, a, b, lift = rng.uniform((-200, -40, 20, 20, 5), (200, 40, 900, 900, 400)).tolist()
        angle = rng.uniform(0, 2 * np.pi)
        directed = rng.random() < 0.6
        normal = (math.cos(angle), math.sin(angle)) if directed else None
        out.append(Bearing((x, y), a, b if directed else a, lift, normal))
    return out


def by_directions(members: list[Bearing], force: float, at: np.ndarray) -> float:
    """The least ratio over 720 directions of the force, member by member."""
    k = [min(m.along, m.across) for m in members]
    cx, cy = (sum(s * m.middle[i] for s, m in zip(k, members, strict=True)) / sum(k) for i in (0, 1))
    j = sum(s * ((m.middle[0] - cx) ** 2 + (m.middle[1] - cy) ** 2) for s, m in zip(k, members, strict=True))
    least = math.inf
    for px, py in at.tolist():
        for angle in np.linspace(0, 2 * np.pi, 720, endpoint=False).tolist():
            fx, fy = force * math.cos(angle), force * math.sin(angle)
            moment = (px - cx) * fy - (py - cy) * fx
            for s, m in zip(k, members, strict=True):
                gx = s * (fx / sum(k) - moment * (m.middle[1] - cy) / j)
                gy = s * (fy / sum(k) + moment * (m.middle[0] - cx) / j)
                if m.normal is None:
                    use = math.hypot(gx, gy) / m.along
                else:
                    nx, ny = m.normal
                    use = abs(gx * nx + gy * ny) / m.along + abs(gy * nx - gx * ny) / m.across
                least = min(least, 1 / use)
    return least


@pytest.mark.parametrize("seed", range(12))
def test_the_worst_direction_is_found_exactly(seed: int) -> None:
    """Never above what 720 directions find, and as near to it as they are dense: cos(0.25 degrees)."""
    rng = np.random.default_rng(seed)
    members, at = some_members(rng), rng.uniform((-250, -50), (250, 50), (4, 2))
    found, tried = group_ratio(members, 40, 0, at, NOWHERE), by_directions(members, 40, at)
    assert tried * (1 - 2e-4) <= found <= tried * (1 + 1e-12)


@given(st.integers(0, 2**32 - 1), st.floats(5, 200), st.floats(0.5, 100))
def test_places_inside_the_hull_are_never_the_worst(seed: int, side: float, lift: float) -> None:
    rng = np.random.default_rng(seed)
    members, at = some_members(rng), rng.uniform((-250, -50), (250, 50), (5, 2))
    lies = rng.uniform((-250, -50), (250, 50), (int(rng.integers(0, 6)), 2))
    share = rng.dirichlet(np.ones(5), 8)
    more = np.concatenate([at, share @ at])
    assert group_ratio(members, side, lift, at, lies) == pytest.approx(group_ratio(members, side, lift, more, lies))


@given(st.integers(0, 2**32 - 1), st.floats(0, 2 * math.pi))
def test_nothing_depends_on_how_the_work_lies(seed: int, angle: float) -> None:
    rng = np.random.default_rng(seed)
    members, at = some_members(rng), rng.uniform((-250, -50), (250, 50), (3, 2))
    lies = rng.uniform((-250, -50), (250, 50), (4, 2))
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])

    def turned(xy: tuple[float, float], shift: float) -> tuple[float, float]:
        x, y = (turn @ xy + shift).tolist()
        return x, y

    moved = [
        Bearing(turned(m.middle, 70.0), m.along, m.across, m.lift, None if m.normal is None else turned(m.normal, 0.0))
        for m in members
    ]
    found = group_ratio(moved, 30, 20, at @ turn.T + 70, lies @ turn.T + 70)
    assert group_ratio(members, 30, 20, at, lies) == pytest.approx(found, rel=1e-6)


# Lifting


BOARD = places((0, 0), (100, 0), (100, 40), (0, 40))


def test_lifting_at_an_edge_by_hand() -> None:
    """Board 100 x 40, 400 N at (10, 20) and (90, 20), lifted with 50 N at (50, 40).

    About y = 0: 2 x 400 x 20 = 16,000 against 50 x 40 = 2,000: 8. About x = 0: 400 x (10^2 + 90^2) / 90 = 36,444
    against 2,500: 14.6. Straight up: 800 / 50 = 16.
    """
    two = [screw(10, 20, 300, 400), screw(90, 20, 300, 400)]
    assert 8 == pytest.approx(group_ratio(two, 0, 50, places((50, 40)), BOARD))


def test_lifting_straight_up_by_hand() -> None:
    """The same at (50, 20), held along both edges, where tipping is no easier: 4 x 100 / 50 = 8 straight up.

    About y = 0: 2 x 100 x 40 = 8,000 against 50 x 20 = 1,000: 8 as well.
    """
    four = [screw(x, y, 300, 100) for x in (0, 100) for y in (0, 40)]
    assert 8 == pytest.approx(group_ratio(four, 0, 50, places((50, 20)), BOARD))


def test_one_clamp_at_one_end_by_hand() -> None:
    """400 N at (10, 20), lifted with 20 N at (100, 20): about x = 0, 400 x 10 against 20 x 100: 2."""
    assert 2 == pytest.approx(group_ratio([screw(10, 20, 300, 400)], 0, 20, places((100, 20)), BOARD))


def test_what_hangs_on_tabs_alone_tips_about_them() -> None:
    """Tabs of 40 N at (+-100, +-25), lifted with 10 N at (150, 0).

    About x = -100: 2 x 40 x 200 = 16,000 against 10 x 250: 6.4; about y: 2 x 40 x 50 against 10 x 25: 16; up: 16.
    """
    four = [screw(x, y, 300, 40) for x in (-100, 100) for y in (-25, 25)]
    assert 6.4 == pytest.approx(group_ratio(four, 0, 10, places((150, 0)), NOWHERE))


def test_two_tabs_on_one_line_are_a_hinge() -> None:
    two = [screw(-100, 0, 300, 40), screw(100, 0, 300, 40)]
    assert 0 == group_ratio(two, 0, 10, places((0, 5)), NOWHERE)
    assert 8 == pytest.approx(group_ratio(two, 0, 10, places((0, 0)), NOWHERE))


# Areas


def test_tape_bears_by_its_area() -> None:
    low = np.zeros((200, 250), dtype=np.float32)
    wood = Columns(low, low + 6, 0.2, 0.2, 0.4)
    patches = area_bearings(wood, np.ones_like(low, dtype=bool), 0.05, 0.04)
    assert 4 * 5 == len(patches)
    assert 80 * 100 * 0.05 == pytest.approx(sum(p.along for p in patches))
    assert 80 * 100 * 0.04 == pytest.approx(sum(p.lift for p in patches))
    assert (10.0, 10.0) == pytest.approx(patches[0].middle)
    assert () == area_bearings(wood, np.zeros_like(low, dtype=bool), 0.05, 0.05)


def test_tape_under_a_board_bears_many_times_a_cut() -> None:
    """450 x 50 mm at 0.05 N/mm2 are 1,125 N. At an end, 30 N across also turn it: 30 x 225 Nmm.

    With stiffness by area, J / A = (450^2 + 50^2) / 12 = 17,083 mm2 (rectangle); the stress at the far corner, (225,
    25), is 30 / A (1 + 225 x 225 / 17,083) across and 30 / A x 225 x 25 / 17,083 along. Patches of 20 mm blur it.
    """
    wood = HeldPart(length=450, width=50).columns
    cells = wood.cells(shapely.box(-225, -25, 225, 25))
    ratio = group_ratio(area_bearings(wood, cells, 0.05, 0.05), 30, 0, places((225, 0)), outermost(wood, cells))
    across, along = 1 + 225 * 225 / 17_083, 225 * 25 / 17_083
    assert 450 * 50 * 0.05 / 30 / math.hypot(across, along) == pytest.approx(ratio, rel=0.08)


def test_the_outermost_cells_have_the_hull_of_all() -> None:
    rng = np.random.default_rng(4)
    low = np.zeros((30, 40), dtype=np.float32)
    wood = Columns(low, low, 5.0, -3.0, 0.4)
    for _ in range(20):
        cells = rng.random(low.shape) < 0.05
        y, x = np.nonzero(cells)
        whole = shapely.MultiPoint(np.stack([wood.xs[x], wood.ys[y]], axis=1)).convex_hull
        assert whole.equals(shapely.MultiPoint(outermost(wood, cells)).convex_hull)
    assert (0, 2) == outermost(wood, np.zeros_like(low, dtype=bool)).shape
