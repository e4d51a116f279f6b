"""How hard the bits of a program push the wood aside and lift it, from what they meet on their way.

An upper estimate: the force of cutting wood differs by several times with species, grain and edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from toolpaths.common.arrays import Array, Mask
from toolpaths.job.bit import Bit
from toolpaths.operations.chip_load import thickest_share
from toolpaths.operations.cutting_forces import MOST_FORCE
from toolpaths.simulation.columns import Columns
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import PLUNGE, engagement
from toolpaths.verification.trace_queries import speeds_of

LEAST_SIDE = 1.5
"""No bit counts as pushing less, N a mm of its diameter: an edge gets dull. This project's own."""
_BESIDE = 1.0
"""A bit whose edge is farther from a piece of wood than this does not push it, mm."""
_LIFTS = {"up": 0.6, "compression": 0.6, "down": 0.1, "straight": 0.1}
"""Lift as a part of the side force, by the way in which the flutes wind: tan 30 degrees for an up-cut spiral, from
memory; a tenth for others, common practice, no source. A compression bit lifts where only its lower end is in wood."""


@dataclass(frozen=True, slots=True)
class CuttingLoad:
    """The most that one bit of a program pushes and lifts, N, and the places (K, 2), mm, at which it cuts.

    `reach`: how far from its middle it touches wood, mm.
    """

    bit: str
    side: float
    lift: float
    places: Array
    reach: float

    def near(self, columns: Columns, body: Mask) -> CuttingLoad:
        """The same at the places alone where the bit may touch a piece of wood (rows, cols)."""
        row, col = np.nonzero(body)
        if not len(row) or not len(self.places):
            return replace(self, places=self.places[:0])
        # Tiles of half the reach: the bit may touch what lies up to two tiles away.
        n = max(1, round(self.reach / columns.pitch / 2))
        tiles = np.zeros(np.array(body.shape) // n + 5, dtype=bool)
        tiles[row // n + 2, col // n + 2] = True
        near = _grown(_grown(tiles))
        at = np.rint((self.places[:, ::-1] - [columns.y0, columns.x0]) / columns.pitch).astype(np.int64) // n + 2
        at = np.clip(at, 0, np.array(tiles.shape) - 1)
        return replace(self, places=self.places[near[at[:, 0], at[:, 1]]])


def _grown(cells: Mask) -> Mask:
    """The cells (rows, cols) and all around them."""
    out = cells.copy()
    out[1:] |= cells[:-1]
    out[:-1] |= cells[1:]
    wide = out.copy()
    wide[:, 1:] |= out[:, :-1]
    wide[:, :-1] |= out[:, 1:]
    return wide


def cutting_loads(inputs: CheckInput) -> Iterator[CuttingLoad]:
    """The load of each bit of a program that cuts.

    60 N a mm2 of chip, times the chip's thickness, the depth of the cut, and as many edges as are in the wood at once
    on the mean over a turn: flutes x arc / (2 pi), arc = acos(1 - 2 w) for a part w of the width (geometry). At some
    hundred turns a second no part follows a single edge. Straight down a bit pushes the wood onto the bed.
    """
    met = engagement(inputs)
    share = thickest_share(met.from_wall, met.slope, PLUNGE)
    number = inputs.moves.bit[met.move]
    for bit_number, name, bit in inputs.bits_in(number[met.cuts & ~met.plunges]):
        mine = np.nonzero(met.cuts & ~met.plunges & (number == bit_number))[0]
        side = max(_side(inputs, name, bit, place, float(share[place])) for place in mine.tolist())
        side = max(side, LEAST_SIDE * bit.diameter)
        yield CuttingLoad(name, side, _LIFTS[bit.spiral] * side, met.at[mine, :2], bit.radius + _BESIDE)


def _side(inputs: CheckInput, name: str, bit: Bit, place: int, share: float) -> float:
    met = engagement(inputs)
    move = int(inputs.moves.parent[met.move[place]])
    feed = float(inputs.trace.feed[move])
    rpm = speeds_of(inputs, name, feed, float(inputs.trace.rpm[move]))[0]
    if rpm <= 0:
        return 0.0  # `spindle` stops one that stands still
    depth = float(min(met.axial[place], bit.cutting_length))
    arc = float(np.arccos(1 - 2 * min(float(met.radial[place]), 1.0)))
    return MOST_FORCE * share * feed / (rpm * bit.flutes) * depth * bit.flutes * arc / (2 * np.pi)
