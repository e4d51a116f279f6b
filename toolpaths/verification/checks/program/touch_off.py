"""Does the program say what its bit touches and which Z is entered, and is that surface still there?

A bit that is set on a surface that was cut away, or with the Z of another, is wrong by that much everywhere.
So is one that a changer brings and whose length nobody looked at: a pause follows every M6.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.arrays import Mask
from toolpaths.common.units import show
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import BED, JIG_TOP, at_line, going_low, line_of, surfaces_of
from toolpaths.verification.wording.message import Message
from toolpaths.verification.wording.program import (
    CHANGE_UNSEEN,
    no_place_to_touch,
    no_surface_named,
    no_touch_z,
    on_bed_instead,
    other_touch_z,
    unknown_surface,
)

PATCH = 10.0
"""Side of the square of level wood that a bit needs to be set on, mm. Common practice, no source."""
_LEVEL = 0.02
_MESH = 0.5
_CODE = "no-touch-off"


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `no-touch-off`."""
    touch_off = line_of(inputs, "Touch off: ")
    found = [at_line(inputs, _CODE, message, touch_off) for message in _announced(inputs)]
    return [*found, *_changed(inputs)]


def _changed(inputs: CheckInput) -> Iterator[Finding]:
    """A change of bits by the machine without a pause before that bit goes down."""
    low = np.nonzero(going_low(inputs))[0]
    unseen = since = 0
    for event in inputs.trace.events:
        if unseen and np.any((low >= since) & (low < event.before)):
            break
        if event.word == "M6":
            unseen, since = event.line, event.before
        elif event.word in ("M0", "M1"):
            unseen = 0
    if unseen and np.any(low >= since):
        yield at_line(inputs, _CODE, CHANGE_UNSEEN, unseen)


def _announced(inputs: CheckInput) -> Iterator[Message]:
    """Faults in the header's sentences about setting the bit."""
    header, context = inputs.trace.header, inputs.context
    surfaces = surfaces_of(context)
    surface = header.touch_surface
    if surface is None or header.touch_z is None:
        rescue = _rescue(inputs)
        yield no_surface_named(rescue) if surface is None else no_touch_z(rescue)
        return
    if surface not in surfaces:
        yield unknown_surface(repr(surface), surfaces)
        return
    height, digits = surfaces[surface], inputs.machine.decimals
    # Where an axis is not true, its own measure is what is entered.
    wanted, units = (height - context.zero[2]) * inputs.machine.correction[2], inputs.machine.units
    if abs(header.touch_z - wanted) > inputs.machine.half_digit + 1e-6:
        said, right = (show(z, units, digits) for z in (header.touch_z, wanted))
        yield other_touch_z(surface, said, right, header.touch_z - wanted, inputs.job.units)
    # A board on edge is narrower than the square.
    patch = min(PATCH, 0.9 * context.stock.width) if context.apart else PATCH
    there = stands_measured(inputs) if surface == "stock top" and context.found.measured_top else None
    if surface not in (BED, JIG_TOP) and not (stands(inputs.before, height, patch) if there is None else there):
        yield no_place_to_touch(surface, context.above_bed(height), patch, _rescue(inputs), inputs.job.units)


def stands_measured(inputs: CheckInput) -> bool:
    """Whether a top that was measured at six places is uncut around the highest of them, where the bit is set."""
    top = inputs.context.found.measured_top
    if top is None:
        return False
    (x, y), wood, half = top.highest[0], inputs.before, PATCH / 2
    rows, cols = wood.window(x - half, y - half, x + half, y + half)
    uncut = top.at(wood.xs[None, cols], wood.ys[rows, None])
    return bool(np.all(np.abs(wood.heights[rows, cols] - uncut) <= _LEVEL))


def stands(wood: DepthMap, height: float, patch: float = PATCH) -> bool:
    """Whether a square of that side stands level at that height, mm. One of 1.1 times the side is never missed."""
    side = max(1, int(np.ceil(patch / wood.pitch)))
    level = wood.heights
    rows, cols = level.shape
    if rows < side or cols < side:
        return False
    # Most boards have one where one looks first.
    for r in range(0, rows - side + 1, side):
        for c in range(0, cols - side + 1, side):
            if np.all(np.abs(level[r : r + side, c : c + side] - height) <= _LEVEL):
                return True
    return _finer(np.abs(level - height) <= _LEVEL, wood.pitch, patch)


def _finer(mask: Mask, pitch: float, patch: float) -> bool:
    """The same on a mesh of half a millimetre, by sums over the mesh."""
    block = max(1, int(_MESH / pitch))
    rows, cols = (n // block * block for n in mask.shape)
    mesh = mask[:rows, :cols].reshape(rows // block, block, cols // block, block).all(axis=(1, 3))
    side = int(np.ceil(patch / (block * pitch) - 1e-9))
    if min(mesh.shape) < side:
        return False
    sums = np.pad(np.cumsum(np.cumsum(mesh, axis=0, dtype=np.int64), axis=1), ((1, 0), (1, 0)))
    windows = sums[side:, side:] - sums[:-side, side:] - sums[side:, :-side] + sums[:-side, :-side]
    return bool(np.any(windows == side * side))


def _rescue(inputs: CheckInput) -> str:
    """What else to do where no surface is left."""
    below = BED if inputs.context.jig is None else JIG_TOP
    return on_bed_instead(inputs.context.setup.zero.z == "stock top", below)
