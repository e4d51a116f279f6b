"""Cutting force, bending of the bit and spindle power.

All of it is for screening. The force of cutting wood differs by several times with species, grain, moisture and
edge, so every figure here is a spread, and only the order of size counts.
"""

from __future__ import annotations

import math

from toolpaths.job.bit import Bit

FLUTED = 0.8
"""Part of its diameter that a fluted length is as stiff as.

Kops and Vo, CIRP Annals 39(1), 1990, 93-96: about 80 % for two and four flutes (abstract read).
"""
ELASTICITY = {"carbide": 550_000.0, "HSS": 200_000.0}
"""N/mm2. Cemented carbide 550 to 650 GPa: the lower end is taken (from weak sources); steel 200 GPa (from memory)."""
LEAST_FORCE, MOST_FORCE = 10.0, 60.0
"""Specific cutting force of solid wood, N a mm2 of chip section, higher for thin chips. From memory.

32.0 and 37.6 were measured in particleboard: Palubicki, Materials 2021, 14, 2208.
"""
AT_THE_BIT = 0.5
"""Part of the watts on a spindle's label that reach the wood, at its highest speed. Common practice, no source."""


def second_moment(diameter: float) -> float:
    """Second moment of area of a round bar in mm4: pi d^4 / 64. Source: elementary mechanics."""
    return math.pi * diameter**4 / 64.0


def stepped_cantilever(
    force: float, inner: tuple[float, float], outer: tuple[float, float], elasticity: float, above_tip: float = 0.0
) -> float:
    """Deflection of the free end of a stepped round bar, mm.

    `inner`, `outer`: (length, diameter) in mm of the part at the clamp and of the part at the tip; the force (N) acts
    `above_tip` mm from the free end. The integral of M m / (E I) along the bar, with M the moment of the force and
    m the distance to the tip (Castigliano), in closed form. Raises ValueError where the force acts beyond the bar.
    """
    (a, thick), (b, thin) = inner, outer
    whole = a + b
    if not 0 <= above_tip <= whole:
        raise ValueError("the force acts somewhere on the bar")

    def part(near: float, far: float, diameter: float) -> float:
        # From the tip: between `near` and `far`, of (x - c) x / I; nothing nearer to the tip than the force.
        low = max(near, above_tip)
        if far <= low:
            return 0.0
        area = (far**3 - low**3) / 3 - above_tip * (far**2 - low**2) / 2
        return area / second_moment(diameter)

    return force / elasticity * (part(0.0, b, thin) + part(b, whole, thick))


def deflection(bit: Bit, force: float, depth: float = 0.0) -> float:
    """Deflection of a bit's tip under a force in N, mm, where its cut is `depth` mm deep.

    The shank at its diameter, the fluted length at 0.8 of the diameter at which the bit works; the force acts in the
    middle of the cut's depth. For a pointed bit a rough figure. Screening only.
    """
    fluted = min(bit.cutting_length, bit.stickout)
    return stepped_cantilever(
        force,
        (bit.stickout - fluted, bit.shank),
        (fluted, FLUTED * bit.stiff_diameter),
        ELASTICITY[bit.material],
        min(depth / 2, bit.stickout),
    )


def cutting_forces(chip: float, depth: float) -> tuple[float, float]:
    """Least and greatest force (N) of one edge with a chip so thick and a cut so deep, mm: 10 to 60 N a mm2 of it.

    From memory, screening only: see `LEAST_FORCE`.
    """
    return LEAST_FORCE * chip * depth, MOST_FORCE * chip * depth


def cutting_powers(section: float, feed: float) -> tuple[float, float]:
    """Least and greatest power in W for a cut of a section in mm2 at a feed in mm/min: force a mm2 x mm3/s / 1000.

    From memory, screening only: see `LEAST_FORCE`.
    """
    rate = section * feed / 60.0
    return LEAST_FORCE * rate / 1000.0, MOST_FORCE * rate / 1000.0


def mean_force(section: float, feed: float, diameter: float, rpm: float) -> float:
    """Greatest mean force in N at the edges of a bit (mm) for a cut of a section in mm2 at a feed in mm/min.

    The greatest cutting power over the speed of the edges, F = P / v: elementary mechanics. One edge at its thickest
    chip pushes harder, for a moment; a frame, which is heavy, follows the mean. Screening only: see `LEAST_FORCE`.
    """
    return cutting_powers(section, feed)[1] * 60_000.0 / (math.pi * diameter * rpm)


def torque(power: float, rpm: float) -> float:
    """Torque in Nm of a power in W at a speed in rpm: P / (2 pi n / 60). Source: its definition."""
    return power / (2.0 * math.pi * rpm / 60.0)


def power_at(label: float, highest: float, rpm: float) -> float:
    """Power of a spindle at the bit at a speed, W: half of its label, falling with the speed (constant torque).

    Common practice, no source.
    """
    return AT_THE_BIT * label * min(1.0, rpm / highest)
