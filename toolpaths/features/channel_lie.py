"""Where slots lie along the neck: their span, the pieces of a rod's channel, and the arc of its floor."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import show, show_at_least
from toolpaths.instrument.places import x_of
from toolpaths.job.place import Along
from toolpaths.job.setup_context import SetupContext

CHORD = 0.002
"""How far the straight cuts along an arc floor stray from it, mm."""


@dataclass(frozen=True, slots=True)
class ChannelPiece:
    """One slot along the centreline, x0 to x1 mm; `open_ends`: which ends run on into waste or into the next piece."""

    x0: float
    x1: float
    open_ends: tuple[bool, bool]


@dataclass(frozen=True, slots=True)
class ChannelLie:
    """The channel's own extremes x0, x1 mm, as asked for, and its pieces."""

    x0: float
    x1: float
    channel: ChannelPiece
    pocket: ChannelPiece | None

    @property
    def pieces(self) -> tuple[ChannelPiece, ...]:
        """The channel, and the pocket where there is one."""
        return (self.channel,) if self.pocket is None else (self.channel, self.pocket)


def span_along(context: SetupContext, start: Along, to: Along, width: float, what: str) -> tuple[float, float]:
    """x of a slot's extremes `from` and `to`, mm. Raises FeatureError where they are nearer than its width."""
    instrument, units = context.job.instrument, context.job.units
    x0, x1 = x_of(start, instrument, "from"), x_of(to, instrument, "to")
    if x1 - x0 < width:
        raise FeatureError(
            f"from {show(x0, units)} to {show(x1, units)} is too short for a {what} {show(width, units)} wide",
            f"give a `to` of {show_at_least(x0 + width, units)} or more",
            "to",
        )
    return x0, x1


def end_slope(length: float, rise: float) -> float:
    """Steepness of a circle's arc at its ends, from its chord and its rise: tan(2 atan(2 rise / length))."""
    return math.tan(2 * math.atan(2 * rise / length))


def arc_line(lie: ChannelLie, ends: float, middle: float) -> Array:
    """The arc from the first end of the piece on, (K, 2): chords of equal turn that stray at most CHORD."""
    half, rise = (lie.x1 - lie.x0) / 2, ends - middle
    turn = 2 * math.atan2(rise, half)
    if rise <= 0:
        return np.array([[0.0, middle]])
    radius = half / math.sin(turn)
    count = math.ceil(2 * turn / (2 * math.acos(1 - CHORD / radius)))
    angle = np.linspace(-turn, turn, count + 1)
    along = lie.x0 - lie.channel.x0 + half + radius * np.sin(angle)
    return np.stack([along, middle + radius * (1 - np.cos(angle))], axis=1)
