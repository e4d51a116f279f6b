"""How far a bit leans, how hard the wood pushes and what the spindle has to give."""

from __future__ import annotations

import math

import pytest

from tests.support.closed_forms import cantilever
from toolpaths.job.bits.flat import Flat
from toolpaths.operations.cutting_forces import (
    cutting_forces,
    cutting_powers,
    deflection,
    power_at,
    second_moment,
    stepped_cantilever,
    torque,
)


# F 10 N, 0.8 D: worked values derived from F L^3 / (3 E I), I = pi d^4 / 64 (elementary mechanics).
@pytest.mark.parametrize(
    ("diameter", "length", "elasticity", "leans"),
    [
        (3.175, 15, 600e3, 0.009177),
        (1.5875, 8, 600e3, 0.022275),
        (6.35, 25, 600e3, 0.002655),
        (3.175, 15, 550e3, 0.010011),
        (1.5875, 8, 550e3, 0.024300),
        (6.35, 25, 550e3, 0.002897),
    ],
)
def test_a_bar_at_eight_tenths_of_the_diameter(diameter: float, length: float, elasticity: float, leans: float) -> None:
    assert leans == pytest.approx(cantilever(10, length, 0.8 * diameter, elasticity), abs=5.1e-7)


def test_flutes_lean_over_twice_as_far_as_a_solid_bar() -> None:
    # 1 / 0.8^4 = 2.4414. Derived; 0.8: Kops and Vo, CIRP Annals 39(1), 1990, 93-96 (abstract).
    assert 2.4414 == pytest.approx(second_moment(6) / second_moment(0.8 * 6), abs=5e-5)


def test_a_bar_without_a_step_leans_as_a_plain_one() -> None:
    assert cantilever(7, 20, 3, 550e3) == pytest.approx(stepped_cantilever(7, (12, 3), (8, 3), 550e3), rel=1e-12)
    assert cantilever(7, 20, 3, 550e3) == pytest.approx(stepped_cantilever(7, (0, 9), (20, 3), 550e3), rel=1e-12)


def test_a_force_higher_up_turns_the_tip_along() -> None:
    # From the clamp, a force at distance a leans the end of a bar of length L by F a^2 (3 L - a) / (6 E I).
    # Source: elementary mechanics.
    load, length, above = 5.0, 20.0, 6.0
    a = length - above
    expected = load * a**2 * (3 * length - a) / (6 * 550e3 * second_moment(3))
    assert expected == pytest.approx(stepped_cantilever(load, (12, 3), (8, 3), 550e3, above), rel=1e-12)


def test_a_force_acts_somewhere_on_the_bar() -> None:
    with pytest.raises(ValueError, match="somewhere on the bar"):
        stepped_cantilever(1, (5, 3), (5, 2), 550e3, 10.5)


def test_a_bit_is_its_shank_and_its_flutes() -> None:
    bit = Flat(shape="flat", diameter=2.0, flutes=2, cutting_length=8.0, shank=3.175, stickout=20.0)
    assert stepped_cantilever(4, (12, 3.175), (8, 1.6), 550e3) == pytest.approx(deflection(bit, 4), rel=1e-12)
    assert deflection(bit, 4, depth=4) < deflection(bit, 4)


def test_a_bit_of_steel_leans_further_than_one_of_carbide() -> None:
    # 550 / 200: elasticity of cemented carbide (weak sources) and of steel (from memory).
    carbide = Flat(shape="flat", diameter=3.0, flutes=2, cutting_length=8.0, shank=3.0, stickout=20.0)
    steel = carbide.model_copy(update={"material": "HSS"})
    assert 2.75 == pytest.approx(deflection(steel, 4) / deflection(carbide, 4))


def test_forces_are_a_spread() -> None:
    # 10 to 60 N a mm2 of chip, from memory; 0.05 x 2 mm is 0.1 mm2.
    assert (1.0, 6.0) == pytest.approx(cutting_forces(0.05, 2.0))
    # 32.0 and 37.6 N/mm2, particleboard: Palubicki, Materials 2021, 14, 2208, lie within.
    low, high = cutting_forces(1.0, 1.0)
    assert low < 32.0 < 37.6 < high


def test_power_is_force_times_speed_of_removal() -> None:
    # 6 x 3 mm at 3000 mm/min: 900 mm3/s, by 10 and 60 N/mm2 is 9 and 54 W. Derived.
    assert (9.0, 54.0) == pytest.approx(cutting_powers(18.0, 3000.0))


def test_torque_is_power_over_the_angle_a_second() -> None:
    # 100 W at 60/(2 pi) x 1000 rpm is 0.1 Nm. Derived from its definition.
    assert 0.1 == pytest.approx(torque(100, 1000 * 60 / (2 * math.pi)))


def test_a_spindle_has_half_its_label_at_full_speed_and_less_below() -> None:
    # Common practice, no source.
    assert (400.0, 200.0, 400.0) == (
        power_at(800, 24000, 24000),
        power_at(800, 24000, 12000),
        power_at(800, 24000, 30000),
    )
