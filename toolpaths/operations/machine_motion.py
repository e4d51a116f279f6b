"""Motion of the machine: acceleration by axis, slowing at corners, and look-ahead over short moves.

Times are estimates: a controller's own planner differs in detail, and its pauses are not in here.
Speeds are in mm/s, feeds in mm/min, accelerations in mm/s2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Mask
from toolpaths.job.machine import Axes, Machine


def bend_feed(radius: float, acceleration: float) -> float:
    """The feed, mm/min, at which a curve of that radius (mm) takes all of an acceleration (mm/s2): 60 sqrt(a r).

    Source: uniform motion on a circle, a = v^2 / r.
    """
    return 60.0 * math.sqrt(acceleration * radius)


@dataclass(frozen=True, slots=True)
class Drive:
    """Timing of a path, move by move. seconds (N,); peak and mean (N,): feeds reached, mm/min.

    A move of no length has 0 in all three.
    """

    seconds: Array
    peak: Array
    mean: Array


def driven(points: Array, feeds: Array, machine: Machine, smooth: Mask | None = None) -> Drive:
    """Timing of a path that starts and ends at rest.

    `points` (N, 3) mm; `feeds` (N - 1,) mm/min, infinite for a rapid, which each axis limits. `smooth` (N,): points
    inside a curve, which are no corners: the caller has limited the feed there by `bend_feed`.
    A move's acceleration and speed are what the slowest axis allows in its direction.
    Raises ValueError where the counts do not fit or a feed is not above 0.
    """
    points = np.asarray(points, dtype=np.float64).reshape(-1, 3)
    feeds = np.asarray(feeds, dtype=np.float64).reshape(-1)
    if len(feeds) != max(0, len(points) - 1):
        raise ValueError("one feed for each move: one less than there are points")
    if not np.all(feeds > 0):
        raise ValueError("a feed is more than 0")
    seconds, peak, mean = (np.zeros(len(feeds)) for _ in range(3))
    steps = np.diff(points, axis=0)
    lengths = np.sqrt(np.einsum("ij,ij->i", steps, steps))
    # Moves of no length take no time, and the corner is then between the two around them.
    real = lengths > 1e-9
    if not real.any():
        return Drive(seconds, peak, mean)
    length = lengths[real]
    direction = steps[real] / length[:, None]
    acceleration = _along(machine.acceleration, direction)
    speed = _speeds(feeds[real], direction, machine)
    corner = _corners(direction, acceleration, machine.corner_deviation)
    if smooth is not None:
        corner[smooth[:-1][real][1:]] = np.inf
    entry, leave = _look_ahead(length, acceleration, speed, corner)
    top = np.minimum(np.sqrt(acceleration * length + (entry**2 + leave**2) / 2), speed)
    seconds[real] = _seconds(length, acceleration, top, entry, leave)
    peak[real] = top * 60.0
    mean[real] = length / seconds[real] * 60.0
    return Drive(seconds, peak, mean)


def _along(axes: Axes, direction: Array) -> Array:
    """Greatest speed or acceleration (N,) that the axes allow along directions (N, 3)."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.min(np.asarray(axes.as_tuple()) / np.abs(direction), axis=1))


def _speeds(feeds: Array, direction: Array, machine: Machine) -> Array:
    """Target speed (N,) of each move, mm/s."""
    rapid = np.isinf(feeds)
    limit = np.where(rapid, _along(machine.rapid, direction), _along(machine.feed_limit, direction))
    return np.asarray(np.minimum(feeds, limit) / 60.0)


def _corners(direction: Array, acceleration: Array, deviation: float) -> Array:
    """Squared speed (N - 1,) at which each corner between two moves can be passed, (mm/s)2."""
    s = np.sqrt(np.clip((1.0 + np.einsum("ij,ij->i", direction[:-1], direction[1:])) / 2, 0.0, 1.0))
    with np.errstate(divide="ignore"):
        return np.asarray(np.minimum(acceleration[:-1], acceleration[1:]) * deviation * s / (1.0 - s))


def _look_ahead(length: Array, acceleration: Array, speed: Array, corner: Array) -> tuple[Array, Array]:
    """Speeds (N,) at the start and the end of each move, mm/s, within the acceleration of all moves around it."""
    squared = np.zeros(len(length) + 1)
    squared[1:-1] = np.minimum(corner, np.minimum(speed[:-1], speed[1:]) ** 2)
    # v^2 may grow by 2 a d over a move, either way. With S the sum of 2 a d up to a corner, the pass backward is
    # v_i^2 = min over j >= i of (v_j^2 + S_j) - S_i: a running minimum. The pass forward is its mirror.
    total = np.concatenate([[0.0], np.cumsum(2.0 * acceleration * length)])
    squared = np.minimum.accumulate((squared + total)[::-1])[::-1] - total
    squared = np.minimum.accumulate(squared - total) + total
    corner_speeds = np.sqrt(np.maximum(squared, 0.0))
    return corner_speeds[:-1], corner_speeds[1:]


def _seconds(length: Array, acceleration: Array, peak: Array, entry: Array, leave: Array) -> Array:
    """Seconds (N,) of moves that start and end at given speeds and reach a peak between."""
    ramps = (2 * peak**2 - entry**2 - leave**2) / (2 * acceleration)
    cruise = np.maximum(length - ramps, 0.0)
    return np.asarray(np.maximum(2 * peak - entry - leave, 0.0) / acceleration + cruise / peak)
