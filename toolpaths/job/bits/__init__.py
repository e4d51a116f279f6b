"""The shapes of bits: one file each."""

from __future__ import annotations

from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.bull import Bull
from toolpaths.job.bits.drill import Drill
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.tapered_ball import TaperedBall
from toolpaths.job.bits.vee import Vee

BITS: dict[str, type[Bit]] = {
    "flat": Flat,
    "vee": Vee,
    "ball": Ball,
    "bull": Bull,
    "tapered ball": TaperedBall,
    "drill": Drill,
}
"""Every shape of bit, by the word that a job or the rack uses for it."""
