"""Which bit shapes leave the surface that a feature asks for, and the message for those that do not."""

from __future__ import annotations

import numpy as np

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, show
from toolpaths.job.bit import Bit

CHIPS_OUT = 2.0
"""So much of a bit's edges should stand out of a cut, mm, where another bit would do. Common practice, no source."""
_HAIR = 1e-3
"""Depth at which a bit's end shows how far it opens, mm."""


def must_be_flat(name: str, bit: Bit, otherwise: str, units: Units, key: str = "bit") -> None:
    """Raises FeatureError where a bit is not flat, saying what its shape would leave; `otherwise`: what that spoils."""
    if bit.shape != "flat":
        spoils = f"; {otherwise}" if otherwise else ""
        raise FeatureError(f"{name} {what_is_wrong(bit, units)}{spoils}", "name a flat bit", key)


def must_cut_lines(name: str, bit: Bit) -> None:
    """Raises FeatureError where a bit leaves no line with a level floor or straight sloping walls."""
    if bit.shape in ("flat", "vee"):
        return
    wrong = bit.spoils("") if bit.shape == "drill" else f"is a {bit.shape} bit: its line would be round at the bottom"
    raise FeatureError(f"{name} {wrong}", "name a flat bit or a V-bit", "bit")


def must_reach(name: str, deep: float, reach: float, units: Units) -> None:
    """Raises FeatureError where a cut is deeper than the bit's edges reach, mm."""
    if deep > reach + 1e-9:
        raise FeatureError(
            f"{show(deep, units)} is deeper than the cutting edges of {name} reach, {show(reach, units)}",
            "cut less deep, or take a bit with longer edges",
            "depth",
        )


def cone_of(bit: Bit) -> tuple[float, float]:
    """(radius of a bit's flat end, how far it opens to each side a mm of height), mm; it opens 0 where it is flat."""
    return bit.level_radius, max((bit.width_at(_HAIR) / 2 - bit.level_radius) / _HAIR, 0.0)


def what_is_wrong(bit: Bit, units: Units) -> str:
    """Why a bit that is not flat cannot leave a level floor with upright walls."""
    return bit.spoils(show(float(bit.profile(np.array([bit.radius]))[0]), units))
