"""What turns, as upright cylinders: bit, shank, collet nut and tool holder."""

from __future__ import annotations

from toolpaths.job.bit import Bit
from toolpaths.job.machine import Collet


def tool_parts(bit: Bit, collet: Collet) -> list[tuple[str, float, float]]:
    """(name, radius, how far above the tip it begins) of each part; mm.

    A pointed bit counts as wide as its rim from the tip on.
    """
    return [
        ("the bit", bit.radius, 0.0),
        ("the shank", bit.shank / 2, bit.cutting_length),
        ("the collet nut", collet.nut_diameter / 2, bit.stickout),
        ("the tool holder", collet.holder_diameter / 2, bit.stickout + collet.nut_height),
    ]
