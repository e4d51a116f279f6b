"""The workloads of the depth map's bench, and the plain way to do them that it is measured against.

A board of 520 x 75 mm at cells of 0.1 mm; arcs flattened within 0.002 mm.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolpaths.gcode.reader.trace import Moves
from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.flat import Flat
from toolpaths.simulation.depth_map import DepthMap

Array = NDArray[np.float64]
Heights = NDArray[np.float32]

BOX = (0.0, 0.0, 520.0, 75.0)
TOP = 7.0
PITCH = 0.1
_CHORD = 0.002


@dataclass(frozen=True, slots=True)
class Workload:
    """Moves of several bits over a blank."""

    name: str
    moves: Moves
    bits: Mapping[int, Bit]

    @property
    def blank(self) -> DepthMap:
        """The board before."""
        return DepthMap.over(BOX, TOP, PITCH)


def planing() -> Workload:
    """W1: a 25 mm flat bit in two layers of nine passes along the board, running off at both ends. 18 moves."""
    runs = []
    for z in (6.5, 6.0):
        for i in range(9):
            y = 75.0 * i / 8
            runs.append([(-15.0, y, z), (535.0, y, z)][:: 1 if i % 2 == 0 else -1])
    starts, ends = np.array([r[0] for r in runs]), np.array([r[1] for r in runs])
    return Workload("W1", _moves([(1, starts, ends)]), {1: _flat(25.0)})


def board() -> Workload:
    """W2: 22 scored lines at three depths, twelve spiralled pockets, a tapered outline in six passes. ~11,000 moves."""
    scale = 650.0
    lines = []
    for n in range(1, 23):
        x = 10 + scale * (1 - 2 ** (-n / 12))
        for z in (6.8, 6.6, 6.4):
            lines.append(np.array([(x, 2.0, z), (x, 73.0, z)]))
    pockets = [_pocket(10 + 42.0 * i, 37.5) for i in range(12)]
    taper = np.array([(4.0, 12.0), (516.0, 5.0), (516.0, 70.0), (4.0, 63.0), (4.0, 12.0)])
    outline = []
    for z in (5.0, 4.0, 3.0, 2.0, 1.0, -0.2):
        outline.append(np.column_stack([taper, np.full(len(taper), z)]))
    moves = _moves([(1, *_ends(lines)), (2, *_ends(pockets)), (3, *_ends(outline))])
    return Workload("W2", moves, {1: _flat(0.6), 2: _flat(3.0), 3: _flat(6.0)})


def radiused(along: bool) -> Workload:
    """W3: a top of 241.3 mm radius by a 6 mm ball, passes 0.3 mm apart: 251 lengthwise, one move each, or 1,761
    crosswise in chords within 0.002 mm of the ball centre's circle, 42 of them a pass.
    """
    top, ball, middle = 241.3, 3.0, 37.5
    # The ball's centre runs on a circle of both radii; its crown is just below the blank's top.
    big, crown = top + ball, TOP - 0.05
    half = math.asin(41.0 / big)
    if along:
        y = np.arange(0, 75.01, 0.3)
        z = crown - top + np.sqrt(big**2 - (y - middle) ** 2) - ball
        runs = [[(-15.0, b, c), (535.0, b, c)] for b, c in zip(y, z, strict=True)]
        passes = [np.array(run[:: 1 if i % 2 == 0 else -1]) for i, run in enumerate(runs)]
        return Workload("W3 long", _moves([(1, *_ends(passes))]), {1: _ball(6.0)})
    angle = np.linspace(-half, half, 43)
    # At most so far from the circle: each of the 42 chords.
    assert big * (1 - math.cos(half / 42)) <= _CHORD
    y, z = middle + big * np.sin(angle), crown - top + big * np.cos(angle) - ball
    lines = []
    for i, x in enumerate(np.arange(-4.0, 524.01, 0.3)):
        line = np.column_stack([np.full(len(y), x), y, z])
        lines.append(line[:: 1 if i % 2 == 0 else -1])
    return Workload("W3 cross", _moves([(1, *_ends(lines))]), {1: _ball(6.0)})


def chords(count: int = 300_000) -> Workload:
    """W4: 300,000 chords of 0.2 mm in waves along the board, a 3 mm flat bit; each wave at its own depth."""
    each = 2_400
    waves = count // each
    s = 0.2 * np.arange(each + 1)
    lines = []
    for i in range(waves):
        x = 15.0 + s
        y = 3.0 + 69.0 * i / max(1, waves - 1) + 2.0 * np.sin(s / 9.0 + i)
        step = np.hypot(np.diff(x), np.diff(y))
        # Chords of one length: walk the curve by arc length.
        arc = np.concatenate([[0.0], np.cumsum(step)])
        even = 0.2 * np.arange(each + 1)
        xs, ys = np.interp(even, arc, x), np.interp(even, arc, y)
        z = 6.5 - 3.0 * ((i * 37) % waves) / waves
        lines.append(np.column_stack([xs, ys, np.full(each + 1, z)]))
    return Workload("W4", _moves([(1, *_ends(lines))]), {1: _flat(3.0)})


def patch_a_move(work: Workload) -> tuple[Heights, int]:
    """The plain way: for each move the bounding box's cells and their distance from the move's line.

    Level moves of flat bits, and any of a ball. Returns the heights and the number of (cell, move) coverings.
    """
    blank = work.blank
    heights = blank.heights.copy()
    xs, ys = blank.xs, blank.ys
    rows, columns = heights.shape
    covered = 0
    for k in range(len(work.moves)):
        a, b = work.moves.start[k], work.moves.end[k]
        bit = work.bits[int(work.moves.bit[k])]
        assert a[2] == b[2] or isinstance(bit, Ball)
        r = bit.radius
        c0 = max(0, int(np.ceil((min(a[0], b[0]) - r - blank.x0) / PITCH)))
        c1 = min(columns, int(np.floor((max(a[0], b[0]) + r - blank.x0) / PITCH)) + 1)
        r0 = max(0, int(np.ceil((min(a[1], b[1]) - r - blank.y0) / PITCH)))
        r1 = min(rows, int(np.floor((max(a[1], b[1]) + r - blank.y0) / PITCH)) + 1)
        if c0 >= c1 or r0 >= r1:
            continue
        px, py = xs[None, c0:c1] - a[0], ys[r0:r1, None] - a[1]
        dx, dy, dz = b - a
        square = dx * dx + dy * dy
        t = (px * dx + py * dy) / square if square > 0 else 0.0
        near = np.clip(t, 0.0, 1.0)
        inside = (px - near * dx) ** 2 + (py - near * dy) ** 2 <= r * r
        level: Array | float = a[2]
        if isinstance(bit, Ball):
            # Lowest where a sphere's side is as steep as the move; the sphere's centre held to the move.
            across = np.maximum(r * r - (px - t * dx) ** 2 - (py - t * dy) ** 2, 0.0)
            t = np.clip(t - dz * np.sqrt(across / (square + dz * dz) / square), 0.0, 1.0)
            left = np.maximum(r * r - (px - t * dx) ** 2 - (py - t * dy) ** 2, 0.0)
            level = a[2] + t * dz + r - np.sqrt(left)
        patch = heights[r0:r1, c0:c1]
        np.minimum(patch, np.where(inside, level, np.inf).astype(np.float32), out=patch)
        covered += int(np.count_nonzero(inside))
    return heights, covered


def seconds_a_cell(rounds: int = 20) -> float:
    """tau: the least time of several rounds that one cell of `np.minimum(a, b, out=a)` takes over the grid, s."""
    shape = DepthMap.over(BOX, TOP, PITCH).heights.shape
    a, b = np.full(shape, 2.0, dtype=np.float32), np.full(shape, 1.0, dtype=np.float32)
    best = np.inf
    for _ in range(rounds):
        began = time.process_time()
        np.minimum(a, b, out=a)
        best = min(best, time.process_time() - began)
    return best / a.size


def _pocket(x: float, y: float) -> Array:
    """A 6 mm pocket for a 3 mm bit: three layers, each spiralled out and closed by full turns."""
    points = []
    reach = 1.5
    step = 2 * np.arccos(1 - _CHORD / reach)
    for z in (6.4, 5.8, 5.2):
        out = np.arange(0, 3 * 2 * np.pi, step)
        turn = np.arange(0, 2 * 2 * np.pi + step, step)
        radius = np.concatenate([reach * out / (3 * 2 * np.pi), np.full(len(turn), reach)])
        angle = np.concatenate([out, turn])
        points.append(np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle), np.full(len(angle), z)]))
    return np.stack(points)


def _ends(lines: list[Array]) -> tuple[Array, Array]:
    """Starts and ends (N, 3) of the moves along several lines (or stacks of lines) of points."""
    flat = [line for part in lines for line in (part if part.ndim == 3 else [part])]
    return np.concatenate([line[:-1] for line in flat]), np.concatenate([line[1:] for line in flat])


def _moves(runs: list[tuple[int, Array, Array]]) -> Moves:
    start = np.concatenate([s for _, s, _ in runs])
    end = np.concatenate([e for _, _, e in runs])
    bit = np.concatenate([np.full(len(s), n, dtype=np.int64) for n, s, _ in runs])
    return Moves(start, end, np.arange(len(start)), bit)


def _flat(diameter: float) -> Flat:
    return Flat(shape="flat", diameter=diameter, cutting_length=20, shank=6, stickout=30)


def _ball(diameter: float) -> Ball:
    return Ball(shape="ball", diameter=diameter, cutting_length=20, shank=6, stickout=30)
