"""Find the thinnest wall that a program leaves in a neck: its moves and the map against the finished neck.

Every point of the underside of what the moves sweep (`swept_underside.py`), and the lowest cells of the map beside
them, are measured against the finished back and the trimmed sides (`instrument/finished_neck.py`). The job's
features only say which cuts are meant to go through.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.instrument.necks import half_width_at
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.swept_underside import ALONG, SweptUnderside, about, lowest_cells, underside
from toolpaths.verification.trace_queries import feature_of
from toolpaths.verification.wall_demands import WalledCut, Walls, holders, walled_cuts

BLOCK = 1.0
"""The map's lowest cell in every square of this size is measured too, mm."""
_TOUCH = 0.02
"""A cut counts once it is that far below the glue face, mm."""
_STRAY = 0.05
"""How far outside a demand's edge a cut may lie and still be its own, mm."""
_AGAIN = 0.02
"""Lowered again by so much: a later move took the same place deeper, mm."""
_MOST = 100
"""Points searched in space at a time."""
_NEARER = 0.003
"""The search ends when no other wall can be thinner by more, mm."""


@dataclass(frozen=True, slots=True)
class _Cut:
    """What one program cut: points (N, 3: x, y, depth), index (N,) into `swept` or -1 for a cell of the map."""

    points: Array
    index: Ints
    swept: SweptUnderside


@dataclass(frozen=True, slots=True)
class WallLeft:
    """The thinnest wall of something cut, the carver's tolerance taken off; below 0 it is open. mm.

    `point`: x, y (setup's frame) and depth below the glue face; `move`: index of the move that cut there, -1 unknown;
    `cut`: the demand, None where nobody asked for it.
    """

    wall: float
    point: Array
    move: int
    cut: WalledCut | None


def walls_left(inputs: CheckInput, neck: FinishedNeck) -> dict[str, WallLeft]:
    """The thinnest wall of every feature that this program cuts into, by feature; empty name: cuts that nobody asked
    for, before any comment. Only walls that must be there."""
    cuts = walled_cuts(inputs.context, inputs.demands, neck)
    worst: dict[str, WallLeft] = {}
    for feature, found in _by_demand(inputs, neck, cuts):
        kept = worst.get(feature, found)
        worst[feature] = found if found.wall < kept.wall else kept
    return worst


# Private


def _by_demand(inputs: CheckInput, neck: FinishedNeck, cuts: Sequence[WalledCut]) -> list[tuple[str, WallLeft]]:
    """(feature, thinnest wall) of every demand that this program cuts into, and of cuts that no demand holds."""
    boxes = _asked_about(inputs, cuts)
    if not len(boxes):
        return []
    cut = _cut(inputs, neck, boxes)
    if not len(cut.points):
        return []
    heights = _heights(inputs, cut.points[:, 2])
    held = holders(cut.points[:, :2], heights, inputs.demands, _STRAY)
    out: list[tuple[str, WallLeft]] = []
    for number in np.unique(held):
        own = np.nonzero(held == number)[0]
        walled = cuts[number] if number >= 0 else None
        if walled is None and inputs.context.flipped:
            continue
        part = _Cut(cut.points[own], cut.index[own], cut.swept)
        found = _thinnest(inputs, neck, part, walled)
        if found is not None:
            feature = walled.demand.feature if walled else feature_of(inputs, _parent(inputs, found.move))
            out.append((feature, found))
    return out


def _asked_about(inputs: CheckInput, cuts: Sequence[WalledCut]) -> Array:
    """Boxes (N, 4) in which cuts are asked about, mm: from the face all over, from the back those with walls alone."""
    if not inputs.context.flipped:
        return np.array([[-np.inf, -np.inf, np.inf, np.inf]])
    found = [w.demand.asked.buffer(_STRAY).bounds for w in cuts if w.walls is not Walls.none]
    return np.array(found).reshape(-1, 4)


def _cut(inputs: CheckInput, neck: FinishedNeck, boxes: Array) -> _Cut:
    """Every point of the underside of this program's moves below the glue face, over the neck or just beside it.

    Only of moves that come into one of some boxes (N, 4).
    """
    context, moves = inputs.context, inputs.moves
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    high = np.maximum(moves.start[:, :2], moves.end[:, :2])
    least = np.minimum(moves.start[:, :2], moves.end[:, :2])
    x0, y0, x1, y1 = neck.plan.bounds
    spare = max((bit.radius for _, bit in inputs.bits.values()), default=0.0)
    into = low < (context.top if context.flipped else context.glue) - _TOUCH
    near = (
        (high[:, 0] > x0 - spare) & (least[:, 0] < x1 + spare) & (high[:, 1] > y0 - spare) & (least[:, 1] < y1 + spare)
    )
    asked = np.zeros(len(low), dtype=bool)
    for x0, y0, x1, y1 in boxes:
        asked |= (
            (high[:, 0] > x0 - spare)
            & (least[:, 0] < x1 + spare)
            & (high[:, 1] > y0 - spare)
            & (least[:, 1] < y1 + spare)
        )
    shapes = {n: bit for n, (_, bit) in inputs.bits.items()}
    chosen = np.nonzero(into & near & asked)[0]
    swept = underside(moves, shapes, chosen[_still_shows(inputs, chosen)])
    swept = swept.where(_last_there(inputs, swept))
    cells = lowest_cells(inputs.before, inputs.after, neck.plan.bounds, BLOCK)
    points = np.concatenate([swept.points, cells])
    index = np.concatenate([np.arange(len(swept.points)), np.full(len(cells), -1)]).astype(np.int64)
    depth = points[:, 2] if context.flipped else context.glue - points[:, 2]
    points = np.column_stack([points[:, :2], depth])
    keep = (depth > _TOUCH) & (points[:, 0] > neck.low) & (points[:, 0] < neck.high)
    keep &= neck.over(points[:, 0], points[:, 1]) | (index >= 0)
    return _Cut(points[keep], index[keep], swept)


def _last_there(inputs: CheckInput, swept: SweptUnderside) -> Mask:
    """Which points no other move took deeper: by the map, a cell's width inside the rim."""
    inward = np.stack([np.cos(swept.angle), np.sin(swept.angle)], axis=1)
    inside = swept.points[:, :2] - inward * np.minimum(swept.ring, inputs.after.pitch)[:, None]
    return np.asarray(_stands(inputs, inside) > swept.points[:, 2] - _AGAIN)


def _still_shows(inputs: CheckInput, chosen: Ints) -> Mask:
    """Which moves left a mark that later ones did not take away; all but short ones are taken to have."""
    moves = inputs.moves
    start, end = moves.start[chosen], moves.end[chosen]
    out = np.linalg.norm(end - start, axis=1) > ALONG
    low = np.minimum(start[:, 2], end[:, 2]) - _AGAIN
    radius = np.array([inputs.bits[int(n)][1].radius for n in moves.bit[chosen]])
    for angle in np.arange(8) * math.pi / 4:
        rim = np.array([math.cos(angle), math.sin(angle)]) * np.maximum(radius - inputs.after.pitch, 0.0)[:, None]
        out |= _stands(inputs, start[:, :2] + rim) > low
    return np.asarray(out)


def _stands(inputs: CheckInput, points: Array) -> Array:
    """The map's height (N,) at the cells nearest to points (N, 2), mm; minus infinity off the map."""
    after = inputs.after
    rows = np.rint((points[:, 1] - after.y0) / after.pitch).astype(int)
    cols = np.rint((points[:, 0] - after.x0) / after.pitch).astype(int)
    h = after.heights
    on = (rows >= 0) & (rows < h.shape[0]) & (cols >= 0) & (cols < h.shape[1])
    out = np.full(len(points), -np.inf)
    out[on] = h[rows[on], cols[on]]
    return out


def _thinnest(inputs: CheckInput, neck: FinishedNeck, cut: _Cut, walled: WalledCut | None) -> WallLeft | None:
    """The thinnest wall of one demand's cuts, the carver's tolerance taken off; None where none is asked for."""
    walls = Walls.around if walled is None else walled.walls
    if walls is Walls.none:
        return None
    limits = neck.neck.wall
    over = neck.over(cut.points[:, 0], cut.points[:, 1])
    if walls is Walls.under:
        return _searched(inputs, neck, cut, walled, sides=False)
    beside = np.full(len(cut.points), np.inf)
    aside = np.nonzero(~over if walls is Walls.around else np.ones_like(over))[0]
    if walls is Walls.beside and inputs.context.flipped:
        aside = aside[neck.flat_at(cut.points[aside, 0])]
    if walled is None:
        aside = aside[:0]
    beside[aside] = neck.beside(cut.points[aside, :2])
    if walls is Walls.around and not np.any(beside < 0):
        return _searched(inputs, neck, cut, walled, sides=True)
    if not len(aside):
        return None
    i = int(np.argmin(beside))
    return WallLeft(float(beside[i]) - limits.carver, cut.points[i], _move(inputs, cut, i), walled)


def _searched(
    inputs: CheckInput, neck: FinishedNeck, cut: _Cut, walled: WalledCut | None, *, sides: bool
) -> WallLeft | None:
    """Searched in space, nearest first, until no other point can be nearer; then around the worst, denser."""
    own = np.nonzero(_judged(neck, cut.points, sides))[0]
    if not len(own):
        return None
    limits = neck.neck.wall
    ends = {"low": walled is None or walled.low, "high": walled is None or walled.high}
    own = own[_perhaps_thin(neck, cut.points[own], sides, limits.warn + limits.carver, **ends)]
    points = cut.points[own]
    across = neck.in_section(points, sides=sides)
    bound = _bound(neck, points, across, sides, **ends)
    best, place, wall = own[0], points[0], math.inf
    order = np.argsort(bound, kind="stable")
    for i in range(0, len(order), _MOST):
        some = order[i : i + _MOST]
        if bound[some[0]] > wall - _NEARER:
            break
        found, _ = neck.least(points[some], sides=sides, **ends)
        j = int(np.argmin(found))
        if found[j] < wall:
            best, place, wall = own[some[j]], points[some[j]], float(found[j])
    close = _close(inputs, neck, cut, int(best), sides)
    if len(close):
        close = close[np.argsort(neck.in_section(close, sides=sides, fine=True))[:20]]
        found, _ = neck.least(close, sides=sides, **ends)
        j = int(np.argmin(found))
        if found[j] < wall:
            place, wall = close[j], float(found[j])
    return WallLeft(wall - limits.carver, place, _move(inputs, cut, int(best)), walled)


def _judged(neck: FinishedNeck, points: Array, sides: bool) -> Mask:
    """Which points (N, 3) are measured: those over the neck.

    A cut that runs out at both sides must end in an edge there: it is judged about the middle, and on flat backs.
    """
    x, y = points[:, 0], points[:, 1]
    over = neck.over(x, y) & (points[:, 2] > _TOUCH) & (x > neck.low) & (x < neck.high)
    if sides:
        return over
    return np.asarray(over & (neck.flat_at(x) | (np.abs(y) <= half_width_at(neck.instrument, x) / 2)))


def _perhaps_thin(neck: FinishedNeck, points: Array, sides: bool, limit: float, *, low: bool, high: bool) -> Ints:
    """Which points (K,) could be the thinnest, or under a limit: one of every cube of BLOCK stands for its neighbours.

    From one point of a cube to another a wall changes by no more than they lie apart, sqrt(3) BLOCK.
    """
    cubes = np.floor(points / BLOCK).astype(np.int64) - np.floor(points.min(axis=0) / BLOCK).astype(np.int64)
    sizes = cubes.max(axis=0) + 1
    _, first, member = np.unique(
        np.ravel_multi_index(tuple(cubes.T), tuple(sizes)), return_index=True, return_inverse=True
    )
    across = neck.in_section(points[first], sides=sides)
    bound = _bound(neck, points[first], across, sides, low=low, high=high) - math.sqrt(3.0) * BLOCK
    return np.nonzero((bound <= max(float(across.min()), limit))[member])[0]


def _bound(neck: FinishedNeck, points: Array, across: Array, sides: bool, *, low: bool, high: bool) -> Array:
    """What the wall at each point (N,) is at least, mm, if it is the thinnest: from its own section (`across`), and
    how fast sections change about it."""
    # A wall thinner than the thinnest across can only end within that distance.
    reach = max(float(across.min()), 0.0)
    out = np.where(across > 0, across / np.sqrt(1 + neck.steepness(points[:, 0], reach) ** 2), across)
    if sides and low:
        out = np.minimum(out, points[:, 0] - neck.low)
    if sides and high:
        out = np.minimum(out, neck.high - points[:, 0])
    return np.asarray(out)


def _close(inputs: CheckInput, neck: FinishedNeck, cut: _Cut, i: int, sides: bool) -> Array:
    """Points (K, 3) of the same move close around the worst, of those that are judged; none for a cell of the map."""
    if cut.index[i] < 0:
        return np.empty((0, 3))
    near = about(inputs.moves, {n: b for n, (_, b) in inputs.bits.items()}, cut.swept, int(cut.index[i]))
    depth = near.points[:, 2] if inputs.context.flipped else inputs.context.glue - near.points[:, 2]
    points = np.column_stack([near.points[:, :2], depth])
    return np.asarray(points[_judged(neck, points, sides)])


def _heights(inputs: CheckInput, depth: Array) -> Array:
    return depth if inputs.context.flipped else inputs.context.glue - depth


def _move(inputs: CheckInput, cut: _Cut, i: int) -> int:
    """Index of the move that cut a point; -1 where none of this program is found."""
    if cut.index[i] >= 0:
        return int(cut.swept.move[cut.index[i]])
    point = cut.points[i : i + 1]
    height = _heights(inputs, point[:, 2])
    number = int(inputs.standing.first_below(point[:, :2], height + _AGAIN)[0]) - inputs.first
    return number if 0 <= number < len(inputs.moves) else -1


def _parent(inputs: CheckInput, move: int) -> int:
    return int(inputs.moves.parent[max(move, 0)])
