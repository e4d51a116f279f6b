"""Strips of waste as beams, against the closed forms of elementary mechanics."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.held_part import HeldPart
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.operations.cutting_forces import stepped_cantilever
from toolpaths.verification.holding.joints import Joints
from toolpaths.verification.holding.sway import Strip, part_sway, strips_of
from toolpaths.verification.holding.weakest_joint import weakest_joint

E = 12_000.0
MAPLE = WoodStrength.of(705.6).poor
EI = E * 800.0


def strip(length: float, tabs: list[float], ends: tuple[bool, bool] = (True, True), moment: float = 800.0) -> Strip:
    """A beam of 100 mm and more between two fixed (or free) elements of 4 mm."""
    x = np.concatenate([[-4], np.linspace(0, length, 41), [length + 4]])
    fixed = np.zeros(len(x) - 1, dtype=bool)
    fixed[0], fixed[-1] = ends
    return Strip(x, np.full(len(x) - 1, moment), fixed, np.array(tabs, dtype=np.float64))


def test_a_beam_built_in_at_both_ends() -> None:
    """1 N in the middle: L^3 / (192 E I). Source: elementary mechanics."""
    give = strip(200, [100.0]).give(E)
    assert give is not None
    assert 200**3 / (192 * EI) == pytest.approx(give[0, 0], rel=1e-6)


def test_a_beam_built_in_at_both_ends_anywhere() -> None:
    """1 N at a: a^3 b^3 / (3 L^3 E I) there; at x < a, b^2 x^2 (3 a L - x (3 a + b)) / (6 L^3 E I)."""
    a, x, length = 130.7, 51.3, 200.0
    b = length - a
    give = strip(length, [a, x]).give(E)
    assert give is not None
    assert a**3 * b**3 / (3 * length**3 * EI) == pytest.approx(give[0, 0], rel=1e-6)
    there = b**2 * x**2 * (3 * a * length - x * (3 * a + b)) / (6 * length**3 * EI)
    assert [there, there] == pytest.approx([give[0, 1], give[1, 0]], rel=1e-6)


@pytest.mark.parametrize("away", [1e-12, 1e-6, 1e-3, 0.06])
def test_a_tab_beside_a_node_is_as_one_on_it(away: float) -> None:
    on, beside = (strip(200, [100.0 + a, 60.0 - a]).give(E) for a in (0.0, away))
    assert on is not None
    assert beside is not None
    assert on == pytest.approx(beside, rel=0.01)


def test_a_strip_held_at_one_end_is_a_cantilever() -> None:
    """1 N at 150 mm: L^3 / (3 E I)."""
    give = strip(200, [150.0], (True, False)).give(E)
    assert give is not None
    assert 150**3 / (3 * EI) == pytest.approx(give[0, 0], rel=1e-6)


def test_a_stepped_cantilever_is_that_of_another_formula() -> None:
    """Source: the closed form for stepped bars, with the second moments of its round sections."""
    x = np.array([-4.0, 0, 30, 60, 100])
    thick, thin = (math.pi * d**4 / 64 for d in (12.0, 7.0))
    beam = Strip(x, np.array([thick, thick, thick, thin]), np.array([True, False, False, False]), np.array([100.0]))
    give = beam.give(E)
    assert give is not None
    assert stepped_cantilever(1, (60, 12), (40, 7), E) == pytest.approx(give[0, 0], rel=1e-9)


def test_a_strip_that_nothing_holds_bears_nothing() -> None:
    assert strip(200, [100.0], (False, False)).give(E) is None
    assert math.inf == part_sway([strip(200, [50.0, 150.0], (False, False))], E, 5, np.array([100.0]))


def test_one_tab_does_not_keep_a_part_from_turning() -> None:
    assert math.inf == part_sway([strip(200, [100.0]), strip(200, [100.0])], E, 5, np.array([0.0]))


def test_a_stiff_part_on_two_strips_by_hand() -> None:
    """Tabs at 50 and 150 of two strips 200 mm long; 6 N in the middle: each tab bears 1.5 N.

    Two loads P at a and L - a of a built-in beam: give a^3 b^3 / (3 L^3 E I) of its own, and with b = L - a, x = a,
    that of the other: a^2 a^2 (3 b L - a (3 b + a)) / (6 L^3 E I).
    """
    a, b, length = 50.0, 150.0, 200.0
    one = a**3 * b**3 / (3 * length**3 * EI)
    other = a**4 * (3 * b * length - a * (3 * b + a)) / (6 * length**3 * EI)
    two = [strip(length, [a, b]), strip(length, [a, b])]
    assert 1.5 * (one + other) == pytest.approx(part_sway(two, E, 6, np.array([100.0])), rel=1e-5)
    # At the end the part also turns: moment 6 x 100 against tabs at +-50, 4 x 50 x 3 N, a give of one - other each.
    turned = 6 * 100 / (4 * 50) * (one - other) * 100 / 50
    assert 1.5 * (one + other) + turned == pytest.approx(part_sway(two, E, 6, np.array([100.0, 200.0])), rel=1e-5)


def test_a_part_without_a_push_does_not_move() -> None:
    assert 0 == part_sway([], E, 0, np.array([0.0]))


TABS = tuple((x, side) for x in (-90.0, 90.0) for side in (-1, 1))


def test_strips_of_a_blank_are_as_wide_and_as_long_as_the_waste() -> None:
    """Waste 21 mm wide and 20 high beside a part 300 mm long: I = 20 x 21^3 / 12, fixed beyond the part's ends."""
    part = HeldPart(length=300, tabs=TABS)
    joints = weakest_joint(part.columns, part.core, part.held, MAPLE)
    assert joints is not None
    for own in strips_of(part.columns, part.inside(0), part.held, joints):
        assert [-90.0, 90.0] == pytest.approx(sorted(own.tabs.tolist()), abs=0.3)
        bends = ~own.fixed
        assert 300 == pytest.approx(np.diff(own.x)[bends].sum(), abs=8)
        assert 20 * 21**3 / 12 == pytest.approx(np.median(own.moment[bends]), rel=0.06)


def test_narrow_waste_sways_with_the_cube_of_its_width() -> None:
    """Waste sawn off beside a part of 300 mm, 5 and 10 mm wide: eight times as much, but for cells of 0.4 mm."""

    def swaying(width: float) -> float:
        part = HeldPart(length=300, tabs=TABS)
        wood, (x, y) = part.columns, part.grid
        high = wood.high.copy()
        high[(np.abs(x) < 155) & (np.abs(y) > 29 + width)] = 0
        sawn = type(wood)(wood.low, high, wood.x0, wood.y0, wood.pitch)
        joints = weakest_joint(sawn, part.core, part.held, MAPLE)
        assert joints is not None
        return part_sway(strips_of(sawn, part.inside(0), part.held, joints), MAPLE.elasticity, 6, np.array([0.0]))

    slender, stout = swaying(5), swaying(10)
    assert 8 == pytest.approx(slender / stout, rel=0.2)
    # Built in over 300 mm, tabs at 60 and 240, 1.5 N each: I = 20 x 5^3 / 12 = 208 mm4, E = 11,900 N/mm2.
    a, b, length = 60.0, 240.0, 300.0
    both = a**3 * b**3 / 3 + a**4 * (3 * b * length - a * (3 * b + a)) / 6
    assert 1.5 * both / length**3 / (11_900 * 208) == pytest.approx(slender, rel=0.2)


def test_a_screw_in_the_strip_keeps_it_still() -> None:
    part = HeldPart(length=300, tabs=TABS)
    x, y = part.grid
    joints = weakest_joint(part.columns, part.core, part.held, MAPLE)
    assert joints is not None
    screws = part.held | (np.hypot(np.abs(x) - 90, np.abs(y) - 40) < 6)
    loose, held = (
        part_sway(strips_of(part.columns, part.inside(0), h, joints), MAPLE.elasticity, 6, np.array([0.0]))
        for h in (part.held, screws)
    )
    assert held < loose / 20


def test_waste_sawn_through_holds_nothing_beyond_the_cut() -> None:
    """Both strips sawn through at both ends, and no holder on them; with a screw at one end they hold again."""
    part = HeldPart(length=300, tabs=TABS)
    wood, (x, y) = part.columns, part.grid
    high = wood.high.copy()
    high[(np.abs(np.abs(x) - 140) < 1) & (np.abs(y) > 26)] = 0
    sawn = type(wood)(wood.low, high, wood.x0, wood.y0, wood.pitch)
    k = np.zeros(4)
    tabs = Joints(np.array(TABS) * [1, 25], np.array([[0.0, s] for _, s in TABS]), k, k, k, k)
    assert math.inf == part_sway(strips_of(sawn, part.inside(0), part.held, tabs), MAPLE.elasticity, 6, np.array([0.0]))
    one_end = part.held | (np.hypot(x - 120, np.abs(y) - 40) < 8)
    again = strips_of(sawn, part.inside(0), one_end, tabs)
    assert 6 == len(again)
    assert part_sway(again, MAPLE.elasticity, 6, np.array([0.0])) < 5
