"""What a part's tabs bear of a cut, against elementary mechanics worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.held_part import HeldPart
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.simulation.columns import Columns
from toolpaths.verification.holding.joint_group import group_ratio, joint_bearings, outermost
from toolpaths.verification.holding.weakest_joint import weakest_joint

MAPLE = WoodStrength.of(705.6).poor
NOWHERE = np.empty((0, 2))


def places(*at: tuple[float, float]) -> np.ndarray:
    return np.array(at, dtype=np.float64)


def on_tabs(part: HeldPart, side: float, strength: WoodStrength = MAPLE, lies: bool = True) -> float:
    """How many times the tabs bear a cut along the part's outline; the lift is 0.6 of the side force."""
    wood = part.columns
    joints = weakest_joint(wood, part.core, part.held, strength)
    assert joints is not None
    a, b = part.length / 2, part.width / 2
    bed = outermost(wood, part.inside(0)) if lies else NOWHERE
    return group_ratio(
        joint_bearings(joints, strength), side, 0.6 * side, places((-a, -b), (a, -b), (a, b), (-a, b)), bed
    )


SIX = tuple((x, side) for x in (-150.0, 0.0, 150.0) for side in (-1, 1))
LIKELY = 12.0
"""Side force in N of a skim at full height, counting an edge as long as it is in the wood."""


def test_six_tabs_of_3_mm_bear_well_and_fewer_bear_less() -> None:
    one, two, six = (on_tabs(HeldPart(tabs=tabs), LIKELY) for tabs in (SIX[:1], SIX[2:4], SIX))
    assert 0 == one
    assert 0.5 < two < 1.5
    assert six > 3 * two


def test_tabs_of_0_9_mm_bear_nothing_and_of_1_1_something() -> None:
    assert 0 == on_tabs(HeldPart(tabs=SIX, tab=(8.0, 0.9)), LIKELY)
    assert 0 < on_tabs(HeldPart(tabs=SIX, tab=(8.0, 1.1)), LIKELY) < 1.5


def test_higher_and_longer_tabs_bear_more() -> None:
    higher = [on_tabs(HeldPart(tabs=SIX, tab=(8.0, h)), LIKELY) for h in (1.5, 2.0, 3.0, 4.0)]
    longer = [on_tabs(HeldPart(tabs=SIX, tab=(w, 3.0)), LIKELY) for w in (4.0, 6.0, 8.0)]
    assert sorted(higher) == higher
    assert sorted(longer) == longer


def test_a_thin_board_of_hard_maple_by_hand() -> None:
    """6 mm thick, tabs 8 x 2 mm at (+-150, +-25), kerf 4 mm; 10 N at its corners.

    Poor hard maple: across 0.6 x 5.54 = 3.32, bent across 0.6 x 10.16 = 6.1, shear 0.6 x 13.0 = 7.8 N/mm2 (Wood
    Handbook, from memory). A tab, 1.8 mm counted on: pulled 3.32 x 14.4 = 47.8 N; pushed the lesser of
    6.1 x 1.8 x 64 / 12 = 58.6 and 7.8 x 14.4 / 1.5 = 74.9; lifted 6.1 x 8 x 3.24 / 12 = 13.2.
    Tipping about the tabs at x = -150 bears 2 x 13.2 x 300 = 7,900 Nmm, against 6 N x (150 + 215) = 2,190: 3.6.
    About those at y = -25: 2 x 13.2 x 50 = 1,320 against 6 x 50 = 300: 4.4.
    Sideways at (215, 25): J / k = 4 x (150^2 + 25^2) = 92,500; a tab takes 10 (1 / 4 + 215 x 150 / 92,500) = 6 N of
    47.8 pulling it, and 10 x 215 x 25 / 92,500 = 0.6 N of 58.6: 7.4.
    """
    part = HeldPart(length=430, thickness=6, tabs=[(x, s) for x in (-150.0, 150.0) for s in (-1, 1)], tab=(8.0, 2.0))
    assert 3.6 == pytest.approx(on_tabs(part, 10.0, lies=False), rel=0.15)


def test_a_part_that_lies_on_nothing_needs_tabs_on_two_sides() -> None:
    two = HeldPart(tabs=(SIX[0], SIX[5]))
    assert on_tabs(two, LIKELY, lies=False) < 0.1
    assert 1 < on_tabs(two, LIKELY)


def test_harder_wood_bears_more() -> None:
    part = HeldPart(tabs=SIX)
    soft, hard = (on_tabs(part, LIKELY, WoodStrength.of(d).poor) for d in (450, 900))
    assert hard > 2 * soft


def on_a_lug(width: float, thickness: float = 20.0) -> float:
    """How many times a lug at the right end bears 20 N across at the left end; the lug is as high as the blank."""
    part = HeldPart(length=450, thickness=thickness)
    wood, (x, y) = part.columns, part.grid
    lug = (x > 200) & (np.abs(y) < width / 2)
    high = np.where(lug, thickness, wood.high).astype(np.float32)
    joints = weakest_joint(Columns(wood.low, high, wood.x0, wood.y0, wood.pitch), part.core, part.held, MAPLE)
    if joints is None:
        return math.inf
    return group_ratio(joint_bearings(joints, MAPLE), 20, 0, places((-225, -25), (-225, 25)), NOWHERE)


def test_a_slender_lug_does_not_bear_turning_though_it_is_hard_to_pull_off() -> None:
    """9 mm wide, 20 mm high: 9 x 19.8 x 30 = 5,400 N tear it, but the end's waste splits along the grain beside it.

    Two splits 15 mm long bear 2 x 15 x 19.8 x 3.32 = 1,970 N, and a push of 20 N at 450 mm turns them: a couple of
    some 9,000 / 9 = 1,000 N. 40 mm apart it is a quarter of that.
    """
    ratios = [on_a_lug(width) for width in (5, 9, 16, 24, 40)]
    assert sorted(ratios) == ratios
    assert ratios[1] < 0.5
    assert ratios[4] > 1.5
