"""In which places a blank that is longer than the travel can be cut, and where the pins go, ready to paste.

From the shapes that the job wants, never from its moves.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from shapely import box

from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.placed import OVERLAP
from toolpaths.verification.check_input import CheckInput

_SPARE = 2.0
"""Of the travel, left free at each end, mm; so far a plane runs off the wood too."""
_FREE = 40.0
"""How much two places overlap beside the overlap of their cuts, at least: room for a harmless seam and for pins, mm."""
_STEP = {"mm": 5.0, "in": MM_PER_INCH / 4}
"""A shift is a multiple of this, mm."""
_GRID = {"mm": 0.5, "in": MM_PER_INCH / 50}
"""So are the places of pins, mm."""
_WHOLE = 60.0
"""What is no longer than this along the neck is not divided, mm."""
_EDGE = 9.0
"""From a pin to the blank's edges at least, mm. Common practice, no source."""
_MOST = 12
_DEPTH = 8.0
"""Of the holes in the bed, mm."""

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Proposal:
    """Places by the x where the next begins, mm, how far apart their shifts are, and the pins of the first in the bed.

    `bit`, `diameter`: of the pins' bores. The pins are empty where the waste has no room for them.
    """

    seams: tuple[float, ...]
    shift: float
    pins: tuple[tuple[float, float], ...]
    bit: str
    diameter: float

    def lines(self, units: Units) -> str:
        """What is typed into the job: the key of the setup, then the features."""
        borders = ["start", *(_typed(x, units) for x in self.seams), "end"]
        places = ", ".join(
            f"{{name: place-{k + 1}, shift: {_typed(self.shift * k, units)}, from: {a}, to: {b}}}"
            for k, (a, b) in enumerate(pairwise(borders))
        )
        out = [f"placed: [{places}]"]
        if not self.pins:
            out.append("# The waste has no room for pins: take a wider blank.")
        else:
            wide, deep = _typed(self.diameter, units), _typed(_DEPTH, units)
            moved = [(x + self.shift * k, y) for k in range(1, len(self.seams) + 1) for x, y in self.pins]
            bed, blank = (_places(at, units) for at in (self.pins, moved))
            out.append(f"- bed_bores: {{bit: {self.bit}, diameter: {wide}, depth: {deep}, at: {bed}}}")
            out.append(f"- pin_bores: {{bit: {self.bit}, diameter: {wide}, at: {blank}}}")
        return "\n".join(out)


def proposal(inputs: CheckInput) -> Proposal | None:
    """Places for a setup whose moves are longer than the travel; None where it is moved already, or cannot be."""
    context, units = inputs.context, inputs.job.units
    cannot = context.apart or context.jig is not None or context.setup.skew is not None or context.job.part == "jig"
    if context.setup.placed or inputs.on_bed or cannot:
        return None
    used = [context.bits[name] for f in context.setup.features for name in f.bits if name in context.bits]
    x0, _, x1, _ = context.stock_box
    off = max((bit.radius for bit in used), default=0.0) + _SPARE
    low, long = x0 - off, x1 - x0 + 2 * off
    reach = context.machine.travel.x - 2 * _SPARE
    count = next((n for n in range(2, _MOST + 1) if _shift(long, reach, n, units) <= reach - OVERLAP - _FREE), None)
    if count is None:
        return None
    shift = _shift(long, reach, count, units)
    small = [d.asked.bounds for d in inputs.demands if not d.asked.is_empty]
    spans = [(b[0] - 1.0, b[2] + 1.0) for b in small if b[2] - b[0] <= _WHOLE]
    seams: list[float] = []
    for k in range(count - 1):
        # From where the next place reaches, to where this one does.
        seam = _seam((low + shift * (k + 1) + OVERLAP / 2, low + shift * k + reach - OVERLAP / 2), spans)
        if seam is None:
            return None
        seams.append(seam)
    name, bit = _bit(used, context.bits, context.top)
    grid = _GRID[units]
    diameter = 8.0 if bit is None else math.ceil(bit.cut_diameter * 1.3 / grid) * grid
    return Proposal(tuple(seams), shift, _pins(inputs, seams, shift, low, diameter), name, diameter)


# Private


def _places(at: Sequence[tuple[float, float]], units: Units) -> str:
    return "[" + ", ".join(f"[{_typed(x, units)}, {_typed(y, units)}]" for x, y in at) + "]"


def _typed(mm: float, units: Units) -> str:
    """A length as it is typed into the job."""
    return f"{round(mm, 2):g}" if units == "mm" else f"{round(mm / MM_PER_INCH, 3):g}"


def _shift(long: float, reach: float, count: int, units: Units) -> float:
    """By how much the blank is moved each time where `count` places of that reach cover a length, mm."""
    return math.ceil((long - reach) / (count - 1) / _STEP[units]) * _STEP[units]


def _seam(room: Span, spans: Sequence[Span]) -> float | None:
    """The place within a room that is furthest from all that must not be divided, mm; None where there is none."""
    at = np.arange(math.ceil(room[0]), math.floor(room[1]) + 1.0)
    if not len(at):
        return None
    away = np.full(len(at), np.inf)
    for a, b in spans:
        away = np.minimum(away, np.maximum(a - at, at - b))
    # Past the overlap all are as good; of such the last, so that the pins stand far apart.
    away = np.minimum(away, OVERLAP / 2 + 2.0) + 1e-6 * at
    best = int(np.argmax(away))
    return float(at[best]) if away[best] > 0 else None


def _bit(used: Sequence[Bit], bits: Mapping[str, Bit], top: float) -> tuple[str, Bit | None]:
    """The thickest flat bit of the job up to 6.5 mm that goes through the blank and cuts at its centre."""
    fit = [
        (name, bit)
        for name, bit in bits.items()
        if bit.shape == "flat" and 2.0 <= bit.cut_diameter <= 6.5 and bit.cutting_length > top and bit.centre_cutting
    ]
    mine = [pair for pair in fit if any(pair[1] is one for one in used)] or fit
    return max(mine, key=lambda pair: pair[1].cut_diameter, default=("NAME", None))


def _pins(
    inputs: CheckInput, seams: Sequence[float], shift: float, low: float, diameter: float
) -> tuple[tuple[float, float], ...]:
    """Two places in the waste at opposite edges, as far apart as the earlier places reach; none without room."""
    x0, y0, x1, y1 = inputs.context.stock_box
    r, n = diameter / 2, len(seams)
    first = max(x0 + _EDGE, low + r + _SPARE)
    reached = (seam + OVERLAP / 2 - r - 0.5 - shift * (k + 1) for k, seam in enumerate(seams))
    last, grid = min([x1 - _EDGE - shift * n, *reached]), _GRID[inputs.job.units]
    bores = [grid * i for i in range(math.ceil(first / grid), math.floor(last / grid) + 1)]

    def free(x: float, y: float) -> bool:
        every = [x + shift * k for k in range(n + 1)]
        if any(abs(at - seam) < r + 0.2 for at in every[1:] for seam in seams):
            return False
        room = [box(at - r - 2.0, y - r - 2.0, at + r + 2.0, y + r + 2.0) for at in every[1:]]
        near = [d.asked for d in inputs.demands if d.kind is not CutKind.face and d.kind is not CutKind.step]
        # Holders go with the blank, where their places are not given anew.
        near += [box(*it.bounds).buffer(inputs.context.setup.clearance + 2.0) for it in inputs.context.obstacles]
        return not any(shape.intersects(one) for shape in near for one in room)

    edge = math.ceil(max(_EDGE, r + 4.0) / grid) * grid
    left = next((x for x in bores if free(x, y0 + edge)), None)
    right = next((x for x in reversed(bores) if free(x, y1 - edge)), None)
    if left is None or right is None or right - left < 2 * diameter:
        return ()
    return (left, y0 + edge), (right, y1 - edge)
