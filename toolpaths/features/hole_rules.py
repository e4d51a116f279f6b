"""Rules for round holes: which bit may cut them, and their demands."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units, show, show_at_most
from toolpaths.job.bit import Bit
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.slots import SAME
from toolpaths.target_shape.bevel_floor import ConeFloor
from toolpaths.target_shape.demand import Level

HELIX = 0.8
"""A bit without centre-cutting edges is at most so much of its hole. Common practice, no source."""
BACKING = "into the backing"


def must_suit(name: str, bit: Bit, diameters: Iterable[float], units: Units) -> None:
    """Raises FeatureError, for the key `bit`, where a bit cannot cut holes of such diameters (mm)."""
    if bit.shape != "drill":
        must_be_flat(name, bit, "", units)
    for d in diameters:
        if bit.shape == "drill" and abs(bit.cut_diameter - d) > SAME + 1e-9:
            problem = (
                f"{name} is a drill of {show(bit.cut_diameter, units)} and makes holes of its own diameter, "
                f"but one hole is to be {show(d, units)}"
            )
            raise FeatureError(problem, f"take a drill of {show(d, units)}, or a smaller flat bit", "bit")
        if bit.cut_diameter > d + 1e-9:
            problem = f"{name} is {show(bit.cut_diameter, units)} wide, and a hole only {show(d, units)}"
            raise FeatureError(problem, "take a smaller bit", "bit")
        if bit.cut_diameter > HELIX * d and not bit.centre_cutting:
            problem = f"{name} does not cut at its centre, and is too wide for a hole of {show(d, units)}"
            raise FeatureError(
                problem,
                f"take a bit of at most {show_at_most(HELIX * d, units)}, or one that cuts at its centre",
                "bit",
            )


def hole_floor(context: SetupContext, depth: float | None, top: float, key: str = "depth") -> float:
    """Height above the bed of a hole's floor, mm: at its depth, or below the bed where it goes through.

    Raises FeatureError where the depth leaves no floor, or does not reach the wood at `top`.
    """
    if depth is None:
        return -context.breakthrough
    floor = context.at_depth(depth)
    if floor <= 0:
        raise FeatureError("the holes are deeper than the wood", "leave `depth` out for through holes", key)
    if floor >= top:
        hint = "change the depth: it counts from the plane of the glue face, on a lowered headstock too"
        raise FeatureError("the holes do not reach the wood", hint, key)
    return floor


def tip_at(bit: Bit, floor: float, units: Units, *, through: bool, key: str = "depth") -> float:
    """Height of the tip at the bottom of a hole whose full width reaches down to `floor`, mm above the bed.

    A drill's point goes on below a blind hole's full width; where a hole goes through, all of it must. Raises
    FeatureError where the point would come out below, or is too long to go through.
    """
    point = point_of(bit)
    if not through and point > 0 and floor - point <= 0:
        raise FeatureError(
            f"the drill's point goes {show(point, units)} deeper than the hole and would come out below",
            "make the holes less deep, or take a flat bit",
            key,
        )
    if through and point > -floor + 1e-9:
        raise FeatureError(
            f"the drill's point is {show(point, units)} long and must go right through, but the bed may be cut only "
            f"{show(-floor, units)} deep",
            "take a flat bit, or lay waste wood under the blank and give a greater `bed_allowance` in the machine file",
            "bit",
        )
    return floor if through else floor - point


def floor_at(bit: Bit, place: tuple[float, float], floor: float, *, through: bool) -> Level | ConeFloor:
    """Floor of a hole: level, or a cone under a drill; the hole's depth counts to the cone's rim."""
    point = point_of(bit)
    if through or point == 0:
        return Level(0.0 if through else floor)
    return ConeFloor(*place, floor - point, point / bit.radius, bit.radius)


def point_of(bit: Bit) -> float:
    """Height of a drill's point, mm; 0 for others."""
    return float(bit.profile(np.array([bit.radius]))[0]) if bit.shape == "drill" else 0.0
