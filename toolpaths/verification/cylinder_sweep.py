"""Where a moving cylinder meets wood or a box: shared by the checks of rapids, shanks and clamps.

All lengths mm, in the setup's frame. Moves are straight; a cylinder stands upright with its axis at the tip.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.geometry.contact_interval import stretch
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.check_input import CheckInput

Low = Callable[[Array, Array, Array], Array]
"""Height (N,) that something leaves free at points (N, 2) on moves (N, 3) to (N, 3); infinite where it is not."""

TOUCH = 1e-6
"""What is nothing but rounding, mm."""
FINE = 0.25
"""Distance between the points at which a swept area is looked at, mm, rim included."""
_COARSE = 1.5
_GRAZE = 0.005
"""A body is looked at this much inside its rim, mm: what touches does not cut."""
_BATCH = 300_000
_ENOUGH = 40
"""So many moves found at fault, and the search ends."""


@dataclass(frozen=True, slots=True)
class Overlap:
    """For each of K moves how deep it is in wood at worst (mm, 0 where not) and where (K, 2)."""

    depth: Array
    place: Array


def highest(inputs: CheckInput) -> float:
    """A height that no wood passes when the program begins, mm.

    The map before the program says it, where its cells are as close as the points looked at; else the blank's top.
    """
    before = inputs.before
    return float(before.heights.max()) if before.pitch <= FINE else inputs.standing.top


def highest_at(inputs: CheckInput) -> Array:
    """Heights (M,) that no wood passes when each move begins, mm: planing takes it down in the midst of a program."""
    out = np.full(len(inputs.moves), highest(inputs))
    if inputs.before.pitch <= FINE:
        for first, height in inputs.lowered:
            out[first:] = np.minimum(out[first:], height)
    return out


def ceiling(inputs: CheckInput, points: Array, move: Ints) -> Array:
    """Heights (N,) that the wood at points (N, 2) does not pass when a move (N,) of the program begins, mm.

    The greatest of the four cells around each before the program, and of the whole map where it has been lowered by
    then; the blank's top where the map is coarse.
    """
    before = inputs.before
    if before.pitch > FINE:
        return np.full(len(points), inputs.standing.top)
    rows, cols = _cell(before, points)
    h = before.heights
    r1, c1 = np.minimum(rows + 1, h.shape[0] - 1), np.minimum(cols + 1, h.shape[1] - 1)
    around = np.maximum(np.maximum(h[rows, cols], h[rows, c1]), np.maximum(h[r1, cols], h[r1, c1]))
    return np.asarray(np.minimum(around.astype(np.float64), highest_at(inputs)[move]))


def on_blank(inputs: CheckInput, points: Array) -> Mask:
    """Which points (N, 2) lie on the blank."""
    x0, y0, x1, y1 = inputs.standing.box
    x, y = points[:, 0], points[:, 1]
    return (x >= x0) & (x <= x1) & (y >= y0) & (y <= y1)


def backing_out(inputs: CheckInput) -> Mask:
    """Moves (M,) straight up from where the same bit has just been: they meet no wood that it has not cut."""
    moves = inputs.moves
    straight_up = np.all(moves.start[:, :2] == moves.end[:, :2], axis=1) & (moves.end[:, 2] >= moves.start[:, 2])
    follows = np.zeros(len(moves), dtype=bool)
    if len(moves) > 1:
        follows[1:] = np.all(moves.end[:-1] == moves.start[1:], axis=1) & (moves.bit[:-1] == moves.bit[1:])
    return np.asarray(straight_up & follows)


def overlap(inputs: CheckInput, chosen: Ints, radius: float, low: Low, tolerance: float) -> Overlap:
    """How deep a body of that radius is in the wood that stands before each of the chosen moves (K,), all of one bit.

    Looks at points of the whole swept area, coarsely first, then FINE where nothing was found. Points that the chosen
    move before has passed no higher are left out, as the wood there was as high then; only where that finds something
    are all points of all moves looked at, so that each move at fault is named.
    """
    found = _overlap(inputs, chosen, radius, low, tolerance, again=False)
    return _overlap(inputs, chosen, radius, low, tolerance, again=True) if np.any(found.depth > tolerance) else found


def _overlap(inputs: CheckInput, chosen: Ints, radius: float, low: Low, tolerance: float, *, again: bool) -> Overlap:
    """`again`: look at points too that the chosen move before has passed."""
    depth, place = np.zeros(len(chosen)), np.full((len(chosen), 2), np.nan)
    moves = inputs.moves
    is_chosen = np.zeros(len(moves), dtype=bool)
    is_chosen[chosen] = True
    start, end, near = _over_blank(inputs, chosen, radius)
    for step in (_COARSE, FINE):
        for part in _batches(start, end, np.nonzero(near & (depth <= tolerance))[0], radius, step):
            points, owner = _swept_points(start[part], end[part], radius, step)
            owner = part[owner]
            keep = on_blank(inputs, points)
            points, owner = points[keep], owner[keep]
            floor = low(moves.start[chosen[owner]], moves.end[chosen[owner]], points)
            keep = floor < ceiling(inputs, points, chosen[owner]) - tolerance
            if not again:
                before = chosen[owner] - 1
                asked = np.nonzero(keep & (before >= 0) & is_chosen[before])[0]
                passed = low(moves.start[before[asked]], moves.end[before[asked]], points[asked])
                keep[asked] = passed > floor[asked]
            points, owner, floor = points[keep], owner[keep], floor[keep]
            keep = ~_just_cut(inputs, chosen[owner], points, floor + tolerance)
            points, owner, floor = points[keep], owner[keep], floor[keep]
            found = inputs.standing.heights(points, before=inputs.first + chosen[owner]) - floor
            order = np.argsort(found)
            order = order[found[order] > np.maximum(depth[owner[order]], tolerance)]
            depth[owner[order]], place[owner[order]] = found[order], points[order]
            if np.count_nonzero(depth > tolerance) >= (_ENOUGH if again else 1):
                return Overlap(depth, place)
    return Overlap(depth, place)


def lowest_of_cylinder(start: Array, end: Array, points: Array, radius: float) -> Array:
    """Lowest height (N,) of a cylinder's end over points (N, 2); infinite where a move does not bring it there."""
    s = stretch(start, end, points, radius)
    return np.where(s.covers, np.minimum(s.z(s.first), s.z(s.last)), np.inf)


def first_of_cylinder(start: Array, end: Array, points: Array, radius: float) -> Array:
    """Height (N,) of a cylinder's end when it first reaches points (N, 2); infinite where it does not."""
    s = stretch(start, end, points, radius)
    return np.where(s.covers, s.z(s.first), np.inf)


def lowest_over_box(start: Array, end: Array, radius: float, box: tuple[float, float, float, float]) -> Array:
    """Lowest height (N,) of a cylinder's end while in plan it overlaps a box x0, y0, x1, y1; infinite if never.

    A box grown by a radius is two boxes and four discs. It is convex, so a straight move is inside it for one
    stretch of time, which the six together bound exactly. Touching is no overlap.
    """
    x0, y0, x1, y1 = box
    r = max(radius - TOUCH, 0.0)
    begin, cease = np.full(len(start), np.inf), np.full(len(start), -np.inf)
    for a0, b0, a1, b1 in ((x0 - r, y0, x1 + r, y1), (x0, y0 - r, x1, y1 + r)):
        first, last = np.zeros(len(start)), np.ones(len(start))
        for axis, lo, hi in ((0, a0, a1), (1, b0, b1)):
            t0, t1 = _between(start[:, axis], end[:, axis], lo, hi)
            first, last = np.maximum(first, t0), np.minimum(last, t1)
        inside = first <= last
        begin = np.where(inside, np.minimum(begin, first), begin)
        cease = np.where(inside, np.maximum(cease, last), cease)
    for corner in ((x0, y0), (x0, y1), (x1, y0), (x1, y1)):
        s = stretch(start, end, np.broadcast_to(np.array(corner), (len(start), 2)), r)
        upright = s.run == 0
        begin = np.where(s.covers, np.minimum(begin, np.where(upright, 0.0, s.first)), begin)
        cease = np.where(s.covers, np.maximum(cease, np.where(upright, 1.0, s.last)), cease)
    inside = begin <= cease
    begin, cease = np.where(inside, begin, 0.0), np.where(inside, cease, 0.0)
    z, rise = start[:, 2], end[:, 2] - start[:, 2]
    return np.where(inside, np.minimum(z + rise * begin, z + rise * cease), np.inf)


def _between(start: Array, end: Array, lo: float, hi: float) -> tuple[Array, Array]:
    """Times (N,), (N,) between which a coordinate lies between two values."""
    way = end - start
    still = np.abs(way) < 1e-12
    safe = np.where(still, 1.0, way)
    a, b = (lo - start) / safe, (hi - start) / safe
    inside = (start >= lo) & (start <= hi)
    return (
        np.where(still, np.where(inside, -np.inf, np.inf), np.minimum(a, b)),
        np.where(still, np.where(inside, np.inf, -np.inf), np.maximum(a, b)),
    )


def _cell(depth_map: DepthMap, points: Array) -> tuple[Ints, Ints]:
    rows = np.floor((points[:, 1] - depth_map.y0) / depth_map.pitch).astype(np.int64)
    cols = np.floor((points[:, 0] - depth_map.x0) / depth_map.pitch).astype(np.int64)
    shape = depth_map.heights.shape
    return np.clip(rows, 0, shape[0] - 1), np.clip(cols, 0, shape[1] - 1)


def _over_blank(inputs: CheckInput, chosen: Ints, radius: float) -> tuple[Array, Array, Mask]:
    """Starts and ends (K, 2) of the chosen moves in plan, and which (K,) come near the blank at all.

    Of a move longer than the blank only the piece about the blank: a text in the wrong units has moves of many metres.
    """
    start, end = inputs.moves.start[chosen, :2], inputs.moves.end[chosen, :2]
    x0, y0, x1, y1 = inputs.standing.box
    first, last = np.zeros(len(chosen)), np.ones(len(chosen))
    for axis, low, high in ((0, x0, x1), (1, y0, y1)):
        t0, t1 = _between(start[:, axis], end[:, axis], low - 2 * radius, high + 2 * radius)
        first, last = np.maximum(first, t0), np.minimum(last, t1)
    way, near = end - start, first <= last
    short = np.hypot(way[:, 0], way[:, 1]) <= np.hypot(x1 - x0, y1 - y0) + 4 * radius
    first, last = np.where(short | ~near, 0.0, first), np.where(short | ~near, 1.0, last)
    return start + first[:, None] * way, start + last[:, None] * way, near


def _batches(start: Array, end: Array, todo: Ints, radius: float, step: float) -> Iterator[Ints]:
    """The moves still to do, in parts of about _BATCH points."""
    way = end[todo] - start[todo]
    count = ((np.hypot(way[:, 0], way[:, 1]) + 2 * radius) / step + 1) * (2 * radius / step + 1)
    number = (np.cumsum(count) / _BATCH).astype(np.int64)
    cuts = np.nonzero(np.diff(number))[0] + 1
    yield from (part for part in np.split(todo, cuts) if len(part))


def _just_cut(inputs: CheckInput, move: Ints, points: Array, limit: Array) -> Mask:
    """Which points (P, 2) the move before each one's own (P,) has cut down to a limit (P,): no wood stands there then.

    Along a curve of short moves that is nearly all of what each of them sweeps, and is found without a search.
    """
    moves, out = inputs.moves, np.zeros(len(points), dtype=bool)
    before = move - 1
    follows = (before >= 0) & (moves.bit[np.maximum(before, 0)] == moves.bit[move])
    for number in np.unique(moves.bit[move[follows]]):
        own = np.nonzero(follows & (moves.bit[move] == number))[0]
        height = inputs.bits[int(number)][1].swept_height(moves.start[before[own]], moves.end[before[own]], points[own])
        out[own] = height <= limit[own]
    return out


def _swept_points(start: Array, end: Array, radius: float, step: float) -> tuple[Array, Ints]:
    """Points (P, 2) of the areas that a disc sweeps on moves (K, 2) to (K, 2), rims included, and whose they are."""
    r = max(radius - _GRAZE, 0.1 * radius)
    way = end - start
    length = np.hypot(way[:, 0], way[:, 1])
    count = np.ceil((length + 2 * r) / step).astype(np.int64) + 1
    points: list[Array] = []
    owners: list[Ints] = []
    for n in np.unique(count):
        own = np.nonzero(count == n)[0]
        found, owner = _capsules(start[own], way[own], length[own], r, step, int(n))
        points.append(found)
        owners.append(own[owner])
    if not points:
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    return np.concatenate(points), np.concatenate(owners)


def _capsules(start: Array, way: Array, length: Array, r: float, step: float, count: int) -> tuple[Array, Ints]:
    """The same for moves whose areas are equally many points long."""
    straight = length > 1e-9
    e = np.where(straight[:, None], way / np.maximum(length, 1e-9)[:, None], [1.0, 0.0])
    u = np.linspace(-r, length + r, count, axis=1)
    v = np.linspace(-r, r, math.ceil(2 * r / step / 2) * 2 + 1)
    aside = np.maximum(np.maximum(-u, u - length[:, None]), 0.0)
    inside = aside[:, :, None] ** 2 + v**2 <= r * r * (1 + 1e-12)
    owner, i, j = np.nonzero(inside)
    angle = np.linspace(0.0, 2 * np.pi, max(8, math.ceil(2 * np.pi * r / step)), endpoint=False)
    rim = np.arange(len(start)).repeat(2 * len(angle))
    ends = np.stack([np.zeros(len(start)), length], axis=1)[:, :, None]
    along = np.concatenate([u[owner, i], (ends + r * np.cos(angle)).ravel()])
    across = np.concatenate([v[j], np.tile(r * np.sin(angle), 2 * len(start))])
    owner = np.concatenate([owner, rim])
    x = start[owner, 0] + e[owner, 0] * along - e[owner, 1] * across
    y = start[owner, 1] + e[owner, 1] * along + e[owner, 0] * across
    return np.stack([x, y], axis=1), owner
