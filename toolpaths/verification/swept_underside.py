"""Sample the lowest surface that moves of a bit sweep, as points.

A level move's underside ends in two straight edges, one on each side, and half a rim where it begins and ends;
on ramps and plunges the whole rim counts. Flat bits have one rim, others are looked at in rings from tip to rim.
The lowest cells of a map say the same again without any move.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.gcode.reader.trace import Moves
from toolpaths.job.bit import Bit
from toolpaths.simulation.depth_map import DepthMap

ALONG = 0.5
"""Between points along a move at most so far, mm."""
AROUND = 24
"""Points around a whole rim: every 15 degrees."""
_SAME_WAY = math.cos(math.radians(20))
_LEVEL = 1e-6


@dataclass(frozen=True, slots=True)
class SweptUnderside:
    """N points (N, 3) mm in the setup's frame; `move` (N,) that swept each; where on it: `part` (N,) of its length,
    `angle` (N,) about the bit's axis, radians, `ring` (N,) radius, mm."""

    points: Array
    move: Ints
    part: Array
    angle: Array
    ring: Array

    def where(self, keep: Mask | Ints) -> SweptUnderside:
        """Some of them."""
        return SweptUnderside(self.points[keep], self.move[keep], self.part[keep], self.angle[keep], self.ring[keep])


def underside(moves: Moves, bits: Mapping[int, Bit], chosen: Ints) -> SweptUnderside:
    """Points of the underside of the chosen moves (K,), at most ALONG apart along them and 15 degrees around."""
    out: list[SweptUnderside] = []
    for number in np.unique(moves.bit[chosen]):
        own = chosen[moves.bit[chosen] == number]
        move, part, angle = _places(moves, own)
        for ring, height in _rings(bits[int(number)]):
            out.append(_at(moves, move, part, angle, ring, height))
    if not out:
        return SweptUnderside(np.empty((0, 3)), np.empty(0, dtype=np.int64), np.empty(0), np.empty(0), np.empty(0))
    return SweptUnderside(
        np.concatenate([u.points for u in out]),
        np.concatenate([u.move for u in out]),
        np.concatenate([u.part for u in out]),
        np.concatenate([u.angle for u in out]),
        np.concatenate([u.ring for u in out]),
    )


def about(moves: Moves, bits: Mapping[int, Bit], found: SweptUnderside, i: int) -> SweptUnderside:
    """Points close around the i-th: along its move within ALONG, around the bit within 15 degrees, much denser."""
    move, bit = int(found.move[i]), bits[int(moves.bit[found.move[i]])]
    length = float(np.linalg.norm(moves.end[move] - moves.start[move]))
    reach = 1.0 if length <= ALONG else ALONG / length
    parts = np.clip(found.part[i] + np.linspace(-reach, reach, 33), 0.0, 1.0)
    turns = found.angle[i] + np.linspace(-1, 1, 65) * (2 * math.pi / AROUND)
    part, angle = (a.ravel() for a in np.meshgrid(parts, turns))
    ring = float(found.ring[i])
    height = float(bit.height_at(np.array([ring]))[0])
    return _at(moves, np.full(len(part), move), part, angle, ring, height)


def lowest_cells(before: DepthMap, after: DepthMap, box: tuple[float, float, float, float], square: float) -> Array:
    """(K, 3) points of a map: in every square of that size (mm) within the box, the lowest cell of those lowered
    between the two maps, at its exact height."""
    pitch = after.pitch
    size = max(1, round(square / pitch))
    x0, y0, x1, y1 = box
    shape = after.heights.shape
    first = [max(0, int((v - at) / pitch)) for v, at in ((y0, after.y0), (x0, after.x0))]
    last = [min(n, int((v - at) / pitch) + 2) for v, at, n in ((y1, after.y0, shape[0]), (x1, after.x0, shape[1]))]
    rows, cols = ((b - a) // size for a, b in zip(first, last, strict=True))
    if rows < 1 or cols < 1:
        return np.empty((0, 3))
    part = (slice(first[0], first[0] + rows * size), slice(first[1], first[1] + cols * size))
    lowered = np.where(after.heights[part] < before.heights[part], after.heights[part], np.inf)
    least = lowered.reshape(rows, size, cols * size).min(axis=1).reshape(rows, cols, size).min(axis=2)
    r, c = np.nonzero(np.isfinite(least))
    steps = np.arange(size)
    squares = lowered[(r * size)[:, None, None] + steps[:, None], (c * size)[:, None, None] + steps].reshape(
        -1, size**2
    )
    inner = squares.argmin(axis=1)
    row, col = r * size + inner // size, c * size + inner % size
    return np.stack([after.xs[first[1] + col], after.ys[first[0] + row], lowered[row, col].astype(np.float64)], axis=1)


# Private


def _places(moves: Moves, own: Ints) -> tuple[Ints, Array, Array]:
    """(move, part of it, angle) of every point of one rim, before its radius."""
    start, end = moves.start[own], moves.end[own]
    run = end[:, :2] - start[:, :2]
    far = np.hypot(run[:, 0], run[:, 1])
    level = (np.abs(end[:, 2] - start[:, 2]) < _LEVEL) & (far > _LEVEL)
    heading = np.arctan2(run[:, 1], run[:, 0])
    opens, closes = _ends(moves, own, level, heading)
    around = 2 * math.pi * np.arange(AROUND) / AROUND
    # Both sides of level moves.
    edge, at = _along(np.nonzero(level)[0], far)
    pieces = [(edge, at, heading[edge] + side) for side in (math.pi / 2, -math.pi / 2)]
    # Whole rims: at the ends of level moves, all along the others.
    slope, on = _along(np.nonzero(~level)[0], np.linalg.norm(end - start, axis=1))
    first, last = np.nonzero(opens)[0], np.nonzero(closes)[0]
    rim = np.concatenate([slope, first, last])
    part = np.concatenate([on, np.zeros(len(first)), np.ones(len(last))])
    pieces.append((np.repeat(rim, AROUND), np.repeat(part, AROUND), np.tile(around, len(rim))))
    index = np.concatenate([p[0] for p in pieces])
    return own[index], np.concatenate([p[1] for p in pieces]), np.concatenate([p[2] for p in pieces])


def _ends(moves: Moves, own: Ints, level: Mask, heading: Array) -> tuple[Mask, Mask]:
    """Which level moves begin, and which end, a stretch: where the next does not go on in the same way."""
    count = len(own)
    on = np.zeros(count, dtype=bool)
    joined = np.zeros(count, dtype=bool)
    if count > 1:
        next_one = (own[1:] == own[:-1] + 1) & np.all(moves.end[own[:-1]] == moves.start[own[1:]], axis=1)
        straight = np.cos(heading[1:] - heading[:-1]) > _SAME_WAY
        on[:-1] = next_one & level[1:] & straight
        joined[1:] = next_one
    return level & ~joined, level & ~on


def _along(which: Ints, length: Array) -> tuple[Ints, Array]:
    """(index, part) of points along the moves at most ALONG apart, both ends among them."""
    count = np.maximum(np.ceil(length[which] / ALONG).astype(np.int64), 1) + 1
    index = np.repeat(which, count)
    within = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    return index, within / np.maximum(np.repeat(count, count) - 1, 1)


def _rings(bit: Bit) -> list[tuple[float, float]]:
    """(radius, height above the tip) of the rings at which a bit is looked at, mm."""
    radii = bit.radius * np.linspace(0.0, 1.0, 9)
    heights = bit.height_at(radii)
    if heights[0] == heights[-1]:
        return [(float(radii[-1]), float(heights[-1]))]
    return [(float(r), float(h)) for r, h in zip(radii, heights, strict=True) if np.isfinite(h)]


def _at(moves: Moves, move: Ints, part: Array, angle: Array, ring: float, height: float) -> SweptUnderside:
    tip = moves.start[move] + part[:, None] * (moves.end[move] - moves.start[move])
    points = tip + np.stack([ring * np.cos(angle), ring * np.sin(angle), np.full(len(part), height)], axis=1)
    return SweptUnderside(points, move, part, angle, np.full(len(part), ring))
