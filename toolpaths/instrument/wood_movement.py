"""Movement of wood with the humidity of the air.

Formulas of the Wood Handbook of the USDA Forest Products Laboratory (FPL-GTR-190, 2010; FPL-GTR-282, 2021).
Along the grain wood moves by 0.1 to 0.2 % from green to dry (from memory), which is nothing here: frets do not wander.
"""

from __future__ import annotations

COLDEST, HOTTEST = -1.1, 132.2
"""Temperatures in degrees C between which the equation of the moisture content holds (30 to 270 degrees F)."""
DRIEST, DAMPEST = 5.0, 95.0
"""Relative humidities in percent between which it holds."""
LINEAR = (6.0, 14.0)
"""Moisture contents in percent between which the dimensional change coefficients hold."""
FIBRE_SATURATION = 30.0
"""Moisture content in percent above which wood neither swells nor shrinks, as the handbook counts."""
_EDGE = 1e-9


def moisture_at(humidity: float, temperature: float) -> float:
    """Equilibrium moisture content in percent at a relative humidity in percent and a temperature in degrees C.

    Source: Wood Handbook, Eq. 4-5. It agrees with the handbook's Table 4-2 within 0.06.
    Raises ValueError outside 5 to 95 % and -1.1 to 132.2 degrees C.
    """
    if not DRIEST <= humidity <= DAMPEST:
        raise ValueError(f"the humidity must be from {DRIEST:g} to {DAMPEST:g} %")
    if not COLDEST <= temperature <= HOTTEST:
        raise ValueError(f"the temperature must be from {COLDEST:g} to {HOTTEST:g} degrees C")
    h, t = humidity / 100.0, temperature
    w = 349.0 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * h
    first = kh / (1.0 - kh)
    second = (k1 * kh + 2.0 * k1 * k2 * kh * kh) / (1.0 + k1 * kh + k1 * k2 * kh * kh)
    return 1800.0 / w * (first + second)


def movement(width: float, coefficient: float, from_mc: float, to_mc: float) -> float:
    """How much wider wood gets, in the unit of `width`, from one moisture content in percent to another.

    width x coefficient x (to - from), less than 0 where it shrinks.
    Source: Wood Handbook, Eq. 13-2. Raises ValueError outside 6 to 14 %, where the coefficients do not hold.
    """
    low, high = LINEAR
    if not (min(from_mc, to_mc) >= low - _EDGE and max(from_mc, to_mc) <= high + _EDGE):
        raise ValueError(f"the moisture must be from {low:g} to {high:g} %: the coefficients hold only there")
    return width * coefficient * (to_mc - from_mc)


def movement_by_shrinkage(width: float, shrinkage: float, from_mc: float, to_mc: float) -> float:
    """The same from the shrinkage green to oven-dry in percent, for any moisture content from 0 to 30 %.

    width (to - from) / (30 x 100 / S - 30 + from): the size at 30 % is the whole of which S is lost.
    Source: Wood Handbook, Eq. 13-3, from memory; it follows from linear shrinkage below 30 %.
    Raises ValueError outside 0 to 30 %, or for a shrinkage not between 0 and 100 %.
    """
    if not (min(from_mc, to_mc) >= 0.0 and max(from_mc, to_mc) <= FIBRE_SATURATION):
        raise ValueError(f"the moisture must be from 0 to {FIBRE_SATURATION:g} %: wood moves only there")
    if not 0.0 < shrinkage < 100.0:
        raise ValueError("the shrinkage must be between 0 and 100 %")
    return width * (to_mc - from_mc) / (FIBRE_SATURATION * 100.0 / shrinkage - FIBRE_SATURATION + from_mc)


def coefficient_from_shrinkage(shrinkage: float) -> float:
    """Dimensional change coefficient, a percent of moisture, from the shrinkage green to oven-dry in percent.

    (S / 30) / (100 - 20 S / 30): what wood loses a percent of moisture below 30 %, over its size at 10 %.
    Source: derived from the handbook's rule of linear shrinkage; it gives the coefficients of Table 13-5 from the
    shrinkages of Tables 4-3 and 4-4 for maple, walnut, cherry and ash.
    """
    loss = shrinkage / FIBRE_SATURATION
    return loss / (100.0 - 20.0 * loss)


def shrinkage_from_coefficient(coefficient: float) -> float:
    """Shrinkage in percent from a movement coefficient: the same relation, inverted."""
    return FIBRE_SATURATION * 100.0 * coefficient / (1.0 + 20.0 * coefficient)


def change_of_width(width: float, coefficient: float, from_mc: float, to_mc: float) -> float:
    """As `movement`, and beyond 6 to 14 % by the shrinkage that belongs to the coefficient."""
    low, high = LINEAR
    if min(from_mc, to_mc) >= low and max(from_mc, to_mc) <= high:
        return movement(width, coefficient, from_mc, to_mc)
    return movement_by_shrinkage(width, shrinkage_from_coefficient(coefficient), from_mc, to_mc)
