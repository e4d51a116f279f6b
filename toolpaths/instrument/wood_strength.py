"""How strong wood is, along the grain and across it, from its density alone.

Strength as a power of the specific gravity at 12 % moisture, for clear, straight-grained hardwoods: Wood Handbook of
the USDA Forest Products Laboratory (FPL-GTR-282, 2021), chapter 5, Table 5-11, from memory.
The grain runs along x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.instrument.woods import density_at_12

POOR = 0.6
"""Part of the average strength that the weakest piece in twenty has.

1 - 1.645 x 0.25 = 0.59: the lowest twentieth of a normal spread, at a coefficient of variation of 25 %. Derived. That
coefficient is the handbook's for pulling across the grain (Table 5-6, from memory); the others are smaller.
"""
_PULLED = 0.5
"""Strength pulled along the grain, as a part of the rupture in bending.

Own choice, on the safe side: straight wood bears about as much as in bending (from memory), a sloping grain much less.
"""
_BENT = 0.1
"""Strength bent across the grain, as a part of that along it. From memory."""


@dataclass(frozen=True, slots=True)
class WoodStrength:
    """Strengths in N/mm2: `rupture` in bending, `shear` along the grain, `across` pulled across the grain.

    `elasticity`: modulus along the grain, N/mm2.
    """

    rupture: float
    shear: float
    across: float
    elasticity: float

    @staticmethod
    def of(density: float) -> WoodStrength:
        """Average strength at 12 % moisture of a wood of that density, kg/m3 at 12 %.

        rupture 171.3 G^1.13, shear 21.9 G^1.13, across 10.1 G^1.3, elasticity 16500 G^0.7.
        Source: Wood Handbook, Table 5-11, hardwoods at 12 %, from memory. Raises ValueError below 0.
        """
        if not density > 0:
            raise ValueError("a density is greater than 0")
        g = density / density_at_12(1.0)
        return WoodStrength(171.3 * g**1.13, 21.9 * g**1.13, 10.1 * g**1.3, 16500.0 * g**0.7)

    @property
    def poor(self) -> WoodStrength:
        """That of the weakest piece in twenty; stiffness stays the average."""
        return WoodStrength(POOR * self.rupture, POOR * self.shear, POOR * self.across, self.elasticity)

    def pulled(self, degrees: float) -> float:
        """Strength pulled at an angle to the grain, N/mm2: Hankinson's formula between half of rupture and across."""
        return hankinson(_PULLED * self.rupture, self.across, degrees)

    def bent(self, degrees: float) -> float:
        """Strength in bending whose stress runs at an angle to the grain, N/mm2: Hankinson's formula."""
        return hankinson(self.rupture, _BENT * self.rupture, degrees)


def hankinson(along: float, across: float, degrees: float) -> float:
    """Strength at an angle to the grain from those along and across it: P Q / (P sin^2 + Q cos^2).

    Source: Hankinson's formula (1921), also in the Wood Handbook, chapter 5; from memory, with the exponent 2.
    """
    s, c = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    return along * across / (along * s * s + across * c * c)
