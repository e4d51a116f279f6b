"""What turns in the collet: one file a shape."""

from __future__ import annotations

from toolpaths.bits.ball import Ball
from toolpaths.bits.bull import Bull
from toolpaths.bits.drill import Drill
from toolpaths.bits.flat import Flat
from toolpaths.bits.tapered_ball import TaperedBall
from toolpaths.bits.vee import Vee
from toolpaths.core.bit import Bit

BITS: dict[str, type[Bit]] = {
    Flat.kind: Flat,
    Vee.kind: Vee,
    Ball.kind: Ball,
    Bull.kind: Bull,
    TaperedBall.kind: TaperedBall,
    Drill.kind: Drill,
}
"""Every shape of bit, by the word that a job or the rack uses for it."""
