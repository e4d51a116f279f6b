"""Truss rods and bars as they are sold, and the channel and slots that each wants.

Lengths mm, depths below the glue face. Sizes differ from maker to maker: those here are typical ones, from memory, and
give way to what the instrument says.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from toolpaths.job.neck import NUT_SHELF, Bars, Rod, RodKind

WIDER, DEEPER, LONGER = 0.05, 0.2, 1.0
"""How much larger a channel is than its rod: it drops in without force, and lies below the face. Common practice, no
source."""
FROM_NUT = 4.0
"""Where a rod begins that is turned at the heel: wood stays under the nut. Common practice, no source."""
GLUE = (0.1, 0.2)
"""Clearance of a bar's slot for glue. Common practice, no source."""
BARS_FROM = 12.0
"""Where bars begin, from the nut line. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class RodSizes:
    """Typical sizes of one kind. `rise`: how much deeper it lies in the middle than at its ends.

    `pocket`: width, length and depth of the adjuster's; `end`: where that usually is.
    """

    width: float
    depth: float
    rise: float
    pocket: tuple[float, float, float]
    end: Literal["nut", "heel"]


RODS: Mapping[RodKind, RodSizes] = {
    # Two rods, or a rod and a flat bar, in one body 1/4 in wide: lies level. From memory.
    "double acting": RodSizes(6.35, 9.3, 0.0, (12.0, 20.0, 11.0), "heel"),
    # One rod of about 5 mm under a strip of wood, deeper in the middle; a nut and a washer at the nut. From memory.
    "single bent": RodSizes(5.0, 8.8, 2.0, (11.0, 20.0, 11.0), "nut"),
    # As double acting, turned by a wheel with holes at the board's end. From memory.
    "two-way wheel": RodSizes(6.35, 9.3, 0.0, (16.0, 18.0, 12.0), "heel"),
}


@dataclass(frozen=True, slots=True)
class ChannelWanted:
    """The channel that a rod wants: `middle` is deeper than `depth` for one that lies on an arc.

    `pocket`: width, length and depth; `end`: the end at which it begins.
    """

    width: float
    depth: float
    middle: float
    start: float
    pocket: tuple[float, float, float]
    end: Literal["nut", "heel"]
    over_all: float

    @property
    def deepest(self) -> float:
        """The deepest of channel and pocket."""
        return max(self.middle, self.pocket[2])


def body_of(rod: Rod) -> tuple[float, float]:
    """Width and depth of a rod: its own, else those of its kind."""
    usual = RODS[rod.kind]
    return rod.width or usual.width, rod.depth or usual.depth


def channel_for(rod: Rod) -> ChannelWanted:
    """The channel for a rod: a little larger than it; its pocket at the rod's own end, else at its kind's."""
    usual, (width, depth) = RODS[rod.kind], body_of(rod)
    end = rod.adjuster or usual.end
    wide, long, deep = usual.pocket
    return ChannelWanted(
        width=width + WIDER,
        depth=depth + DEEPER,
        middle=depth + DEEPER + usual.rise,
        start=FROM_NUT if end == "heel" else -NUT_SHELF,
        pocket=(max(wide, width + WIDER), max(long, wide, width + WIDER), max(deep, depth + DEEPER)),
        end=end,
        over_all=rod.length + LONGER,
    )


def slot_width(bars: Bars) -> float:
    """Of the slot for a bar, with room for glue."""
    return bars.width + sum(GLUE) / 2
