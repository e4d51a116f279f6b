"""Chip thickness: what each edge cuts, and the recommended range.

No public handbook gives chip load by bit diameter for wood, and published figures differ by several times.
The table below is common practice for hobby routers, on the careful side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.job.bit import Bit

SIXTEENTH = 1.5875
"""Diameter in mm below which the band goes down with the diameter."""
RUBS = 0.01
"""Chips thinner than this, mm, rub and burn with bits from 1/16 in up: under about 0.01 to 0.02.

Common practice, no source. For thinner bits it means nothing: their whole band lies about there.
"""
HARD, SOFT = 1000.0, 600.0
"""Janka hardness in lbf at and above which wood counts as hard, at and below which as soft.

Common practice, no source.
"""

# Diameters 1/16, 1/8, 1/4, 1/2 in; low and high for hard wood, low and high for soft, mm a tooth.
# Common practice, no source.
_DIAMETERS = (1.5875, 3.175, 6.35, 12.7)
_HARD_LOW = (0.01, 0.02, 0.05, 0.08)
_HARD_HIGH = (0.03, 0.06, 0.13, 0.15)
_SOFT_LOW = (0.015, 0.03, 0.06, 0.10)
_SOFT_HIGH = (0.04, 0.08, 0.18, 0.20)


@dataclass(frozen=True, slots=True)
class Band:
    """Chip load to stay within, mm a tooth. `origin`: where the numbers come from, in words."""

    low: float
    high: float
    origin: str

    def at(self, fraction: float) -> float:
        """The chip load at a fraction of the way from low to high, mm a tooth."""
        return self.low + fraction * (self.high - self.low)


def chip_load(feed: float, rpm: float, flutes: int) -> float:
    """Chip load in mm a tooth for a feed in mm/min: feed / (rpm x flutes). Source: its definition."""
    return feed / (rpm * flutes)


def surface_speed(diameter: float, rpm: float) -> float:
    """Speed of the cutting edge in m/min for a diameter in mm: pi D n / 1000. Source: its definition."""
    return math.pi * diameter * rpm / 1000.0


def thickest_share(from_wall: Array, slope: Array, steep: float) -> Array:
    """How thick (K,) a chip is at most, as a part of the chip load, by what the bit meets.

    `from_wall` (K,): part q of the diameter from the bit's side to the wood nearest its middle; on the level a chip is
    2 sqrt(q - q^2) of the chip load (two circles one chip load apart, derived; see docs/sources.md). It is a reason to
    warn, never to raise a feed. `slope` (K,): degrees down. On a ramp the level part of the feed counts that way.
    Straight down a chip counts twice: a plunge bears half of the feed (25 to 50 %, common practice, no source), so only
    that counts beyond `steep` degrees, and it counts on a ramp where it is more.
    """
    q = np.clip(from_wall, 1e-4, 0.5)
    down = 2.0 * np.maximum(np.sin(np.radians(slope)), 0.0)
    level = np.cos(np.radians(slope)) * 2.0 * np.sqrt(q - q * q)
    return np.asarray(np.where(slope > steep, down, np.maximum(level, down)))


def softness(janka: float) -> float:
    """How soft a wood counts: 0 from 1000 lbf up, 1 from 600 lbf down, linear between.

    Common practice, no source.
    """
    return min(1.0, max(0.0, (HARD - janka) / (HARD - SOFT)))


def chip_band(diameter: float, janka: float) -> Band:
    """Chip load to stay within for a bit's diameter in mm and a wood's Janka hardness in lbf.

    Linear between the diameters of the table and between hard and soft wood.
    Below 1/16 in it goes down with the diameter (0.0063 D to 0.019 D in hard wood); above 1/2 in it stays.
    Common practice, no source. Raises ValueError for a diameter not above 0.
    """
    if diameter <= 0:
        raise ValueError("a diameter is more than 0")
    soft = softness(janka)
    scale = min(1.0, diameter / SIXTEENTH)
    low = _between(diameter, soft, _HARD_LOW, _SOFT_LOW) * scale
    high = _between(diameter, soft, _HARD_HIGH, _SOFT_HIGH) * scale
    wood = "hard wood" if soft == 0 else "soft wood" if soft == 1 else "wood of middling hardness"
    return Band(low, high, f"common practice for {wood}, no source")


def bit_band(bit: Bit, janka: float) -> Band:
    """As `chip_band`, for the diameter at which a bit works."""
    return chip_band(bit.working_diameter, janka)


def _between(diameter: float, soft: float, hard_row: tuple[float, ...], soft_row: tuple[float, ...]) -> float:
    hard = float(np.interp(diameter, _DIAMETERS, hard_row))
    return hard + soft * (float(np.interp(diameter, _DIAMETERS, soft_row)) - hard)
