"""What a fine bit bears before it breaks: the stress at the root of its flutes, and the limits that follow from it.

The fluted length is a bar of the core's thickness, held at its root by the shank; the wood pushes at the middle of the
cut's depth. Runout eats into it: the edge that stands out takes the runout beside its own chip. All of it is for
screening, as every figure of `cutting_forces` is: the order of size counts.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from toolpaths.common.units import Units, show_fine
from toolpaths.job.bit import Bit
from toolpaths.operations import limit_words as words
from toolpaths.operations.cutting_forces import MOST_FORCE, deflection

CORE = 0.6
"""Part of its diameter that the core of a fluted bit is thick. From memory: 0.55 to 0.65 with two flutes."""
STRENGTH = {"carbide": 2000.0, "HSS": 2500.0}
"""Bending strength, N/mm2. From memory: test bars of fine-grained carbide break at 3000 to 4000, of high-speed steel at
about as much; a third is taken off for the grinding marks at the root of the flutes, more for the brittle one."""
SAFETY = 4.0
"""Least reserve against breaking of what is chosen by default: a worn edge doubles the force, a hard streak doubles it
again. From memory."""
EDGE_RADIUS = {"carbide": 0.004, "HSS": 0.006}
"""How round a new edge is, mm: a thinner chip is not cut but rubbed, and wears the edge. From memory."""
BENDS = 0.02
"""How far the tip may bend aside by default, mm: as far as a fret's line may be off its place. This project's own."""
FINE_PASS = 0.3
"""The deepest pass that a bit under 1 mm is given, mm: the trade takes 0.2 to 0.3. From memory."""
FINE_PART = 0.5
"""The deepest pass of a fine or thin bit as a part of its diameter. Common practice, no source."""


def fine_pass(diameter: float) -> float:
    """The deepest pass of a bit under 1 mm, mm: half of its diameter, at most 0.3."""
    return min(FINE_PASS, FINE_PART * diameter)


def edge_chip(chip: float, flutes: int, runout: float) -> float:
    """Chip of the edge that stands out most, mm: chip and runout, at most what all edges cut in a turn.

    `runout` is the total reading: of two edges one cuts so much more and the other so much less. Derived here.
    """
    return min(chip + runout, chip * flutes)


def force_on(bit: Bit, chip: float, depth: float, runout: float) -> float:
    """Greatest force on one edge, N, at a chip load and a depth in mm; 60 N a mm2 of the thickest chip.

    The edge's roundness presses on the wood as if the chip were so much thicker: this project's own.
    """
    return MOST_FORCE * (edge_chip(chip, bit.flutes, runout) + EDGE_RADIUS[bit.material]) * depth


def root_stress(bit: Bit, force: float, depth: float) -> float:
    """Bending stress at the root of the flutes, N/mm2, under a force in N halfway down a cut of a depth in mm.

    F l / (pi d^3 / 32), with d the core's diameter and l from the root to the force. Source: elementary mechanics.
    """
    lever = max(min(bit.cutting_length, bit.stickout) - depth / 2, depth / 2)
    return force * lever * 32.0 / (math.pi * (CORE * bit.stiff_diameter) ** 3)


def safety(bit: Bit, chip: float, depth: float, runout: float) -> float:
    """How many times the greatest load expected would break the bit."""
    return STRENGTH[bit.material] / root_stress(bit, force_on(bit, chip, depth, runout), depth)


class BitLimit(NamedTuple):
    """What a slender bit bears no more than. `bears`: whether it bears a chip load, a depth and a runout, all mm."""

    why: str
    bears: Callable[[float, float, float], bool]

    def deepest(self, chip: float, runout: float, most: float) -> float:
        """The deepest pass that it bears at a chip load, at most `most`; mm."""
        return _greatest(lambda depth: self.bears(chip, depth, runout), most)

    def thickest(self, depth: float, runout: float, most: float) -> float:
        """The thickest chip that it bears in passes so deep, at most `most`; mm a tooth."""
        return _greatest(lambda chip: self.bears(chip, depth, runout), most)


def limits_of(bit: Bit, units: Units) -> tuple[BitLimit, BitLimit]:
    """The reserve against breaking that a bit must keep, and how far its tip may bend; with the reason in words."""

    def is_strong(chip: float, depth: float, runout: float) -> bool:
        return safety(bit, chip, depth, runout) >= SAFETY

    def is_stiff(chip: float, depth: float, runout: float) -> bool:
        return deflection(bit, force_on(bit, chip, depth, runout), depth) <= BENDS

    return (
        BitLimit(words.STRENGTH.format(material=bit.material), is_strong),
        BitLimit(words.BENDS.format(by=show_fine(BENDS, units)), is_stiff),
    )


def _greatest(bears: Callable[[float], bool], most: float) -> float:
    """The greatest value up to `most` that is borne, by halving: whatever is less is borne too."""
    if bears(most):
        return most
    low, high = 0.0, most
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if bears(middle) else (low, middle)
    return low
