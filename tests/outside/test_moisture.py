"""Moisture in wood, its movement, and the woods' shrinkage, against the Wood Handbook's tables and worked example.

The handbook is the Wood Handbook of the USDA Forest Products Laboratory, FPL-GTR-190 (2010) and FPL-GTR-282 (2021).
Marks beside a number: read in the source; quoted in another text; derived apart from this code; from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from toolpaths.instrument.wood_movement import (
    coefficient_from_shrinkage,
    moisture_at,
    movement,
    movement_by_shrinkage,
    shrinkage_from_coefficient,
)
from toolpaths.instrument.woods import WOODS

# Table 4-2: temperature in degrees C (30, 70, 100 degrees F), humidity in percent, moisture in percent. Quoted.
TABLE_4_2 = [
    (21.1, 5, 1.3),
    (21.1, 30, 6.2),
    (21.1, 50, 9.2),
    (21.1, 75, 14.4),
    (21.1, 85, 17.9),
    (21.1, 95, 23.9),
    (-1.1, 75, 14.9),
    (-1.1, 95, 24.3),
    (37.8, 50, 8.7),
    (37.8, 90, 19.5),
]

# Tables 4-3 and 4-4, shrinkage green to oven-dry in percent: radial, tangential, of the volume.
SHRINKAGE = [
    ("hard maple", 4.8, 9.9, 14.7),  # quoted
    ("black walnut", 5.5, 7.8, 12.8),  # read
    ("black cherry", 3.7, 7.1, 11.5),  # read
    ("white ash", 4.9, 7.8, 13.3),  # read
    ("mahogany", 3.0, 4.1, 7.8),  # quoted
    ("sapele", 4.6, 7.4, 14.0),  # quoted
    ("indian rosewood", 2.7, 5.8, 8.5),  # read
]

# Table 13-5, dimensional change coefficients, radial and tangential; quoted.
TABLE_13_5 = [
    ("hard maple", 0.00165, 0.00353),
    ("black walnut", 0.00190, 0.00274),
    ("black cherry", 0.00126, 0.00248),
    ("white ash", 0.00169, 0.00274),
    ("mahogany", 0.00172, 0.00238),
]
# Not in that table; derived from the shrinkage, rough.
DERIVED = [("sapele", 0.00158, 0.00259), ("indian rosewood", 0.00092, 0.00201)]


@pytest.mark.parametrize(("temperature", "humidity", "moisture"), TABLE_4_2)
def test_the_moisture_in_air_is_that_of_table_4_2(temperature: float, humidity: float, moisture: float) -> None:
    # The table is rounded to a tenth; the equation agrees with it within 0.06 (derived).
    assert moisture == pytest.approx(moisture_at(humidity, temperature), abs=0.06)


def test_moisture_grows_with_humidity_and_falls_with_heat() -> None:
    damp = [moisture_at(h, 21) for h in np.linspace(5, 95, 91)]
    assert sorted(damp) == damp
    # Along the columns of Table 4-2 every step of temperature from -1.1 degrees C up lowers the moisture or keeps it;
    # from memory, from 10 degrees C up.
    warm = [moisture_at(60, t) for t in np.linspace(10, 130, 121)]
    assert sorted(warm, reverse=True) == warm


def test_white_fir_of_the_worked_example_swells_by_1_7_mm() -> None:
    # Chapter 13: flat sawn, 232 mm wide, from 8 to 11 %: +1.7 mm (read); coefficient 0.00245 (from memory).
    assert 1.7 == pytest.approx(movement(232, 0.00245, 8, 11), abs=0.05)
    assert -1.7 == pytest.approx(movement(232, 0.00245, 11, 8), abs=0.05)


@pytest.mark.parametrize(("name", "radial", "tangential", "volumetric"), SHRINKAGE)
def test_shrinkage_is_the_handbooks(name: str, radial: float, tangential: float, volumetric: float) -> None:
    wood = WOODS[name]
    assert (radial, tangential, volumetric) == (wood.radial, wood.tangential, wood.volumetric)


@pytest.mark.parametrize(("name", "radial", "tangential"), TABLE_13_5 + DERIVED)
def test_the_coefficients_are_the_handbooks(name: str, radial: float, tangential: float) -> None:
    assert (radial, tangential) == (WOODS[name].radial_coefficient, WOODS[name].tangential_coefficient)


@pytest.mark.parametrize(("name", "radial", "tangential"), [r for r in TABLE_13_5 if r[0] != "mahogany"])
def test_shrinkage_gives_the_coefficients_of_table_13_5(name: str, radial: float, tangential: float) -> None:
    # To five decimals, all that the table has. Not for mahogany, where the tables disagree.
    found = [coefficient_from_shrinkage(s or 0) for s in (WOODS[name].radial, WOODS[name].tangential)]
    assert [radial, tangential] == [round(c, 5) for c in found]


def test_for_mahogany_the_tables_disagree_and_the_larger_movement_is_taken() -> None:
    wood = WOODS["mahogany"]
    assert wood.tangential is not None
    assert wood.tangential_coefficient is not None
    assert wood.tangential_coefficient > coefficient_from_shrinkage(wood.tangential) * 1.5


def test_ebony_has_no_figures_of_movement() -> None:
    ebony = WOODS["ebony"]
    assert (None, None, None) == (ebony.radial, ebony.tangential, ebony.volumetric)
    assert (None, None) == (ebony.radial_coefficient, ebony.tangential_coefficient)


def test_the_two_formulas_agree_where_both_hold() -> None:
    # A coefficient is the slope at 10 %: from 10 % on the two are the same line (derived).
    for wood in WOODS.values():
        if wood.tangential is not None:
            coefficient = coefficient_from_shrinkage(wood.tangential)
            assert movement_by_shrinkage(50, wood.tangential, 10, 13) == pytest.approx(
                movement(50, coefficient, 10, 13), rel=1e-9
            )
            assert wood.tangential == pytest.approx(shrinkage_from_coefficient(coefficient), rel=1e-12)


def test_green_wood_dried_out_loses_its_whole_shrinkage() -> None:
    # The definition of shrinkage: 9.9 % of the size at 30 % moisture.
    assert -9.9 == pytest.approx(movement_by_shrinkage(100, 9.9, 30, 0))
    assert -9.9 == pytest.approx(movement_by_shrinkage(100, 9.9, 30, 12) + movement_by_shrinkage(94.06, 9.9, 12, 0))
