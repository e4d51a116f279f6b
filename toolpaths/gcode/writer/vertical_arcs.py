"""Find arcs in vertical planes among straight cuts along one axis, for machines that take arcs in all planes.

A channel's floor that curves is cut in short straight pieces; where the controller draws upright arcs, one line says
as much as dozens. Only the writer uses this.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.toolpath.toolpath import Feed, Step

TOLERANCE = 0.004
"""How far such an arc may stray from the straight cuts that it stands for, mm: less than half of what is a gouge."""
_LARGEST = 20_000.0
"""Largest radius, mm: a rod channel's is about 10 m."""
_FEWEST = 4
_SAME = 1e-9
_LEVEL = 1e-6
"""Cuts that stray less from one straight line are one, mm."""
_SHORTER = 0.9
"""Part of the cuts tried next where an arc does not follow all of them."""


@dataclass(frozen=True, slots=True)
class UprightArc:
    """An arc to a full position along `axis` (0: x, 1: y), about a centre at `along` on that axis and height `up`, mm.

    `left`: it turns to the left, seen with that axis to the right and z up. `instead`: the straight cuts.
    """

    x: float
    y: float
    z: float
    axis: int
    along: float
    up: float
    left: bool
    feed: float
    instead: tuple[Feed, ...]


def with_uprights(
    steps: Sequence[Step], start: tuple[float, float, float] | None, axes: Sequence[int]
) -> Iterator[Step | UprightArc]:
    """The steps, with upright arcs in place of straight cuts that follow one. `start`: where the bit is, if known.

    `axes`: those along which the machine may be told one.
    """
    at, k = start, 0
    while k < len(steps):
        run = _run(steps, k, at, axes) if at is not None else None
        if run is None or at is None:
            yield steps[k]
            k += 1
        else:
            axis, stop = run
            yield from _fitted(at, [s for s in steps[k:stop] if isinstance(s, Feed)], axis)
            k = stop
        last = steps[k - 1]
        at = (last.x, last.y, last.z)


def _run(
    steps: Sequence[Step], first: int, at: tuple[float, float, float], axes: Sequence[int]
) -> tuple[int, int] | None:
    """(axis, end) of the cuts from `first` on that go one way along one axis at one feed; None where few or level."""
    lead = steps[first]
    if not isinstance(lead, Feed):
        return None
    for axis in axes:
        aside, sign = at[1 - axis], np.sign(_xy(lead)[axis] - at[axis])
        here, stop, level = at[axis], first, True
        while stop < len(steps):
            step = steps[stop]
            if not isinstance(step, Feed) or step.feed != lead.feed or abs(_xy(step)[1 - axis] - aside) > _SAME:
                break
            if (_xy(step)[axis] - here) * sign <= _SAME:
                break
            here, level, stop = _xy(step)[axis], level and abs(step.z - at[2]) <= _SAME, stop + 1
        if stop - first >= _FEWEST and not level:
            return axis, stop
    return None


def _fitted(at: tuple[float, float, float], cuts: list[Feed], axis: int) -> Iterator[Step | UprightArc]:
    """The cuts of a run, with arcs where they follow one."""
    points = np.array([(at[axis], at[2]), *((_xy(c)[axis], c.z) for c in cuts)])
    place = 0
    while place < len(cuts):
        stop, circle = _longest(points, place)
        if circle is None:
            yield from cuts[place:stop]
        else:
            along, up, left = circle
            last = cuts[stop - 1]
            yield UprightArc(last.x, last.y, last.z, axis, along, up, left, last.feed, tuple(cuts[place:stop]))
        place = stop


def _longest(points: Array, first: int) -> tuple[int, tuple[float, float, bool] | None]:
    """(last point, circle) of the longest arc found from a point; one straight cut where there is none.

    The longest are tried first: over a few cuts alone the corners between them hide the arc that they follow.
    """
    count = len(points) - 1 - first
    if count < _FEWEST or _straight(points[first:]):
        return len(points) - 1, None
    while count >= _FEWEST:
        circle = _circle(points[first : first + count + 1])
        if circle is not None:
            while first + count + 1 < len(points) and (more := _circle(points[first : first + count + 2])) is not None:
                circle, count = more, count + 1
            return first + count, circle
        count = int(count * _SHORTER)
    return first + 1, None


def _straight(part: Array) -> bool:
    (ax, az), (bx, bz) = part[0], part[-1]
    return bool(np.abs(az + (bz - az) * (part[:, 0] - ax) / (bx - ax) - part[:, 1]).max() < _LEVEL)


def _circle(part: Array) -> tuple[float, float, bool] | None:
    """(along, up, left) of the arc through first, middle and last point; None where the rest strays from it."""
    (ax, az), (mx, mz), (bx, bz) = part[0], part[len(part) // 2], part[-1]
    ux, uz, vx, vz = mx - ax, mz - az, bx - ax, bz - az
    cross = ux * vz - uz * vx
    if abs(cross) < 1e-9:
        return None
    uu, vv = ux * ux + uz * uz, vx * vx + vz * vz
    along, up = ax + (vz * uu - uz * vv) / (2 * cross), az + (ux * vv - vx * uu) / (2 * cross)
    radius = float(np.hypot(ax - along, az - up))
    every = np.concatenate([part, (part[1:] + part[:-1]) / 2])
    off = np.abs(np.hypot(every[:, 0] - along, every[:, 1] - up) - radius).max()
    # Less than a quarter of a turn, and all on one side of the centre: a height for every place.
    flat = bool(np.all((every[:, 1] - up) * np.sign(az - up) > radius / 2))
    return (float(along), float(up), bool(cross > 0)) if off <= TOLERANCE and radius <= _LARGEST and flat else None


def _xy(step: Feed) -> tuple[float, float]:
    return (step.x, step.y)
