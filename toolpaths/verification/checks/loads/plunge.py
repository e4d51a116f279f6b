"""Does the bit go down into wood slowly enough, and straight down only where its end cuts?

Where only the side of a bit meets wood, its end need not cut at the centre.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array, Ints
from toolpaths.gcode.reader.trace import RAPID
from toolpaths.job.bit import Bit
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import ceiling, highest_at, on_blank
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.loads import end_does_not_cut, plunge_too_fast

_STEEP = np.tan(np.radians(30.0))
"""A ramp steeper than this is a plunge. Common practice, no source."""
_SPARE, _STOP = 1.01, 2.0
"""Parts of the plunge feed above which it is told, and stops."""
_TOUCH = 0.02
"""Less wood than this under the bit is touching, mm."""
_END = (0.0, 0.25, 0.5, 0.7)
"""Rings of a bit's end, in parts of its radius, that only a bit which cuts at its centre may set on wood.

Beyond them its side meets the wood, as on a last skim: 0.28 of the radius at most. Common practice, no source.
"""
_WHOLE = (0.0, 0.5, 0.95)


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `plunge`, in the order of the program."""
    moves, trace = inputs.moves, inputs.trace
    way = moves.end - moves.start
    steep = (way[:, 2] < 0) & (-way[:, 2] > _STEEP * np.hypot(way[:, 0], way[:, 1]))
    steep &= (trace.kind[moves.parent] != RAPID) & (moves.end[:, 2] < highest_at(inputs) - _TOUCH)
    found: list[Finding] = []
    for number, name, bit in inputs.bits_in(moves.bit[steep]):
        chosen = np.nonzero(steep & (moves.bit == number))[0]
        deep = _wood_under(inputs, chosen, bit, _WHOLE)
        end = deep if bit.centre_cutting else _wood_under(inputs, chosen, bit, _END)
        limits = [o.cutting.plunge for o in inputs.operations if o.bit == name]
        for parent in np.unique(moves.parent[chosen[deep > _TOUCH]]):
            own = moves.parent[chosen] == parent
            blunt = not bit.centre_cutting and float(end[own].max()) > _TOUCH
            finding = _finding(inputs, int(parent), float(deep[own].max()), blunt, max(limits, default=np.inf))
            if finding is not None:
                found.append(finding)
    return shortened(sorted(found, key=lambda f: (f.severity is not Severity.stop, f.program_line)))


def _wood_under(inputs: CheckInput, chosen: Ints, bit: Bit, rings: tuple[float, ...]) -> Array:
    """How much wood (K,) stands under those rings of the bit where each chosen move ends, above its tip there, mm."""
    angle = np.arange(12) * (2 * np.pi / 12)
    disc = np.concatenate([r * np.stack([np.cos(angle), np.sin(angle)], axis=1) for r in rings])
    end = inputs.moves.end[chosen]
    points = (end[:, None, :2] + bit.radius * disc[None, :, :]).reshape(-1, 2)
    under = np.tile(bit.height_at(bit.radius * np.hypot(disc[:, 0], disc[:, 1])), len(chosen))
    owner = np.repeat(np.arange(len(chosen)), len(disc))
    floor = np.maximum(end[owner, 2] + under, 0.0)
    keep = on_blank(inputs, points)
    keep[keep] = ceiling(inputs, points[keep], chosen[owner[keep]]) > floor[keep] + _TOUCH
    points, owner, floor = points[keep], owner[keep], floor[keep]
    deep = np.zeros(len(chosen))
    np.maximum.at(deep, owner, inputs.standing.heights(points, before=inputs.first + chosen[owner]) - floor)
    return deep


def _finding(inputs: CheckInput, move: int, deep: float, blunt: bool, limit: float) -> Finding | None:
    units, feed = inputs.job.units, float(inputs.trace.feed[move])
    if not blunt and feed <= limit * _SPARE:
        return None
    said = end_does_not_cut(deep, units=units) if blunt else plunge_too_fast(feed, limit, units=units)
    stop = blunt or feed > limit * _STOP
    return at_move(inputs, "plunge", said, move, severity=Severity.stop if stop else None)
