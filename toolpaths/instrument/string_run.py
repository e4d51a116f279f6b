"""How high the strings come to lie over the body at the bridge, and by what depth or shim that is put right.

Seen from the side, along the middle of the neck: x from the nut line toward the bridge, heights mm. Derived: a string
is straight from the nut over the top of fret 12, and the neck turns about one end of its pocket.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.instrument.fans import fret_x, scale_at
from toolpaths.job.job import Instrument, StringRun
from toolpaths.job.neck import Heel

_OCTAVE = 12


@dataclass(frozen=True, slots=True)
class OverBridge:
    """`height`: of the strings above the body at the bridge, as the pocket is; `wanted`: as the bridge wants them.

    `depth`: of a pocket that brings them there. `angle`: degrees by which a shim would turn the neck, positive where
    its nut goes down; `shim`: its thickness at one end of the pocket, 0 at the other; `end`: which end that is.
    """

    height: float
    wanted: float
    depth: float
    angle: float
    shim: float
    end: str

    @property
    def off(self) -> float:
        """How much too high they lie, mm; negative where too low."""
        return self.height - self.wanted


def over_bridge(instrument: Instrument, run: StringRun, heel: Heel, pocket: float) -> OverBridge:
    """The strings at the bridge of a neck in a pocket so deep (mm). A fanned board counts in its middle."""
    scale = scale_at(instrument, 0, 0.0)
    octave = fret_x(instrument, _OCTAVE)
    # Above the board's face: at the nut, over fret 12, and on that line at the bridge.
    there = run.nut + (run.fret + run.action - run.nut) * scale / octave
    height = heel.thickness - pocket + there
    off = height - run.bridge
    long = heel.to - heel.start
    # A shim at the end toward the bridge lifts all that lies behind the other end, and the other way round.
    pivot = heel.start if off < 0 else heel.to
    turn = -off / (scale - pivot)
    return OverBridge(
        height,
        run.bridge,
        pocket + off,
        math.degrees(math.atan(turn)),
        abs(turn) * long,
        "toward the bridge" if off < 0 else "toward the nut",
    )
