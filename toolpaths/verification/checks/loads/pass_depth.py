"""Does each pass take no more depth at once than the bit can bear in this wood?

Depth is measured against the wood that stands when the bit comes there, under the middle of its width:
a skim along a wall is as deep as the wall and is no pass.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.gcode.reader.trace import FEED, RAPID
from toolpaths.job.bit import Bit
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import ceiling, highest, on_blank
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened, worst_of_each
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording.loads import pass_deeper_than_the_job_s

_WARN, _STOP = 1.05, 2.0
"""Parts of the pass depth above which it is told, and stops."""
_MIDDLE = 0.7
"""Part of the bit's width that counts as its middle."""
_BACK = 0.8
"""How far back along the path, in parts of the radius, the bit has not yet touched what lies ahead."""
_NEVER_CLOSER, _NEVER_WIDER = 1.0, 6.0
"""Least and greatest distance between looks along the path, mm."""
_STEEP = 0.1
"""Slope of a straight line of text from which its end is always looked at."""
_POINT = 1e-3
"""Depth at which a point shows how wide it is, mm."""
_UPRIGHT = 1.7
"""Slope from which a move is a plunge and no pass: 60 degrees."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `pass-depth`: the worst line of each section of the program, worst first."""
    found: list[tuple[float, Finding]] = []
    for number, name, bit in inputs.bits_in(inputs.moves.bit):
        limits = [o.cutting.pass_depth for o in inputs.operations if o.bit == name]
        if limits:
            found += _of_bit(inputs, number, bit, max(limits))
    found.sort(key=lambda pair: -pair[0])
    return shortened([finding for _, finding in found])


def _of_bit(inputs: CheckInput, number: int, bit: Bit, limit: float) -> list[tuple[float, Finding]]:
    moves, trace = inputs.moves, inputs.trace
    # A pointed bit takes as much at once as stands over its point; beside it, its edges lie higher.
    width = bit.width_at(_POINT) if bit.is_pointed else bit.width_at(limit)
    looks = _looks(inputs, number, width / 2, highest(inputs) - limit * _WARN)
    keep = on_blank(inputs, looks.points)
    keep[keep] = ceiling(inputs, looks.points[keep], looks.move[keep]) > looks.z[keep] + limit * _WARN
    points, z, move, before = looks.points[keep], looks.z[keep], looks.move[keep], looks.before[keep]
    depth = inputs.standing.heights(points, before=inputs.first + before) - z
    over = np.nonzero(depth > limit * _WARN)[0]
    found: list[tuple[float, Finding]] = []
    for i in worst_of_each(trace.section[moves.parent[move[over]]], depth[over]):
        deep = float(depth[over[i]])
        said = pass_deeper_than_the_job_s(deep, limit, units=inputs.job.units)
        parent, severity = int(moves.parent[move[over[i]]]), Severity.stop if deep > limit * _STOP else None
        found.append((deep / limit, at_move(inputs, "pass-depth", said, parent, severity=severity)))
    return found


@dataclass(frozen=True, slots=True)
class _Looks:
    """Points (N, 2) just ahead of the bit and beside its axis, the tip's height above the bed there (N,), mm.

    `move` (N,): the move that the bit is on; `before` (N,): the move before which the wood is looked at.
    """

    points: Array
    z: Array
    move: Ints
    before: Ints


def _looks(inputs: CheckInput, number: int, radius: float, below: float) -> _Looks:
    """Points to examine along all cuts of a bit below a height, at most a radius apart.

    The wood is taken as it stood when the bit was a little further back, so that what it has just cut on its
    way, in short chords, does not count as cut already.
    """
    moves = inputs.moves
    way = moves.end - moves.start
    run = np.hypot(way[:, 0], way[:, 1])
    done = np.cumsum(run)
    cuts = (moves.bit == number) & (inputs.trace.kind[moves.parent] != RAPID) & (run > 1e-9)
    cuts &= (np.abs(way[:, 2]) <= _UPRIGHT * run) & (np.minimum(moves.start[:, 2], moves.end[:, 2]) < below)
    chosen = np.nonzero(cuts)[0]
    step = float(np.clip(radius, _NEVER_CLOSER, _NEVER_WIDER))
    first = np.floor((done - run)[chosen] / step).astype(np.int64)
    count = np.floor(done[chosen] / step).astype(np.int64) - first
    move = np.repeat(chosen, count)
    place = step * (np.arange(len(move)) - np.repeat(np.cumsum(count) - count, count) + np.repeat(first, count) + 1)
    ends = chosen[_ends(inputs, chosen, run, np.abs(way[:, 2]), step)]
    move, place = np.concatenate([move, ends]), np.concatenate([place, done[ends]])
    part = np.clip((place - done[move] + run[move]) / run[move], 0.0, 1.0)
    at = moves.start[move] + part[:, None] * way[move]
    along = way[move, :2] / run[move, None]
    aside = np.stack([-along[:, 1], along[:, 0]], axis=1)
    back = np.minimum(np.searchsorted(done, place - _BACK * radius), move)
    # A whole move further back counts as made, unless it is as short as a chord.
    back = np.where((back < move) & (run[back] > _BACK * radius), back + 1, back)
    reach = _MIDDLE * radius
    points = np.concatenate([at[:, :2] + reach * d for d in (along, aside, -aside)])
    z = np.maximum(at[:, 2], 0.0)  # what is cut of the bed is no wood
    return _Looks(points, np.tile(z, 3), np.tile(move, 3), np.tile(back, 3))


def _ends(inputs: CheckInput, chosen: Ints, run: Array, rise: Array, step: float) -> Mask:
    """Which of the chosen moves (K,) are looked at in their end too: long or steep straight lines of the text."""
    straight = inputs.trace.kind[inputs.moves.parent[chosen]] == FEED
    return np.asarray(straight & ((run[chosen] >= step / 2) | (rise[chosen] > _STEEP * run[chosen])))
