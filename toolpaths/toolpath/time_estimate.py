"""How long a toolpath takes before it is text: for the header, and to divide work. Reports time the text itself."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import arc_chords
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.machine_motion import bend_feed, driven
from toolpaths.toolpath.toolpath import Arc, Rapid, Section, Toolpath, bulge_of

_CHORD = 0.002
"""How far the chords by which an arc counts may stray, mm."""


def minutes_of(toolpath: Toolpath, context: SetupContext) -> tuple[float, dict[str, float]]:
    """Minutes of a whole program, its dwells and the way to the parking place in it; and of each feature's moves."""
    *sections, parking = section_minutes(toolpath, context).tolist()
    by_feature: dict[str, float] = {}
    for section, spent in zip(toolpath.sections, sections, strict=True):
        by_feature[section.feature] = by_feature.get(section.feature, 0.0) + spent
    starts = 1 + sum(_stops(a, b) for a, b in pairwise(toolpath.sections))
    return sum(sections) + parking + starts * context.machine.spindle.spin_up / 60, by_feature


def section_minutes(toolpath: Toolpath, context: SetupContext) -> Array:
    """Minutes of each section as part of the whole, and of the way to the parking place: (K + 1,). No dwells.

    The way to the first place is not counted: the position of the bit before it is unknown.
    """
    path = _Path(context)
    for k, section in enumerate(toolpath.sections):
        if k and _stops(toolpath.sections[k - 1], section):
            path.rest()
        path.follow(section, k)
    path.park(len(toolpath.sections))
    return path.seconds(len(toolpath.sections) + 1) / 60


def _stops(before: Section, after: Section) -> bool:
    """Whether the spindle is stopped between two sections, for another bit or another speed."""
    return (before.bit, before.rpm) != (after.bit, after.rpm)


class _Path:
    """A program's straight moves, arcs as chords, with the points at which the machine stops."""

    def __init__(self, context: SetupContext) -> None:
        self._machine, self._safe = context.machine, context.travel_height
        self._points: list[tuple[float, float, float]] = []
        self._feeds: list[float] = []
        self._smooth: list[bool] = []
        self._owner: list[int] = []
        self._rests: list[int] = [0]

    def follow(self, section: Section, owner: int) -> None:
        """The steps of a section."""
        for step in section.steps:
            if isinstance(step, Arc):
                self._arc(step, owner)
            elif isinstance(step, Rapid):
                self._rapid(step.x, step.y, step.z, owner)
            else:
                self._to((step.x, step.y, step.z), step.feed, owner)

    def rest(self) -> None:
        """Move up to the travel height and stop."""
        if self._points and self._points[-1][2] < self._safe:
            self._to((*self._points[-1][:2], self._safe), math.inf, self._owner[-1])
        self._rests.append(len(self._feeds))

    def park(self, owner: int) -> None:
        """Move up, stop, and move to the parking place, as every program ends."""
        self.rest()
        self._to((self._machine.park.x, self._machine.park.y, self._safe), math.inf, owner)

    def seconds(self, count: int) -> Array:
        """Seconds of each of `count` owners."""
        points, feeds, smooth = np.asarray(self._points), np.asarray(self._feeds), np.asarray(self._smooth)
        spent = np.zeros(len(feeds))
        for lo, hi in pairwise([*self._rests, len(feeds)]):
            if hi > lo:
                spent[lo:hi] = driven(points[lo : hi + 1], feeds[lo:hi], self._machine, smooth[lo : hi + 1]).seconds
        found = np.bincount(np.asarray(self._owner, dtype=np.int64), weights=spent, minlength=count)
        return found.astype(np.float64)

    def _to(self, point: tuple[float, float, float], feed: float, owner: int) -> None:
        if self._points:
            self._feeds.append(feed)
            self._owner.append(owner)
        self._points.append(point)
        self._smooth.append(False)

    def _rapid(self, x: float, y: float, z: float, owner: int) -> None:
        """Up before sideways, sideways before down, as it is written."""
        if self._points:
            ax, ay, az = self._points[-1]
            if z > az:
                self._to((ax, ay, z), math.inf, owner)
            if (x, y) != (ax, ay):
                self._to((x, y, max(z, az)), math.inf, owner)
            if z >= az:
                return
        self._to((x, y, z), math.inf, owner)

    def _arc(self, step: Arc, owner: int) -> None:
        ax, ay, az = self._points[-1]
        bulge = bulge_of((ax, ay), step)
        feed = step.feed
        if bulge:
            machine = self._machine
            # Where the text has chords, the controller sees corners; where it has arcs, a curve.
            chords = machine.chord_error
            if not chords:
                radius = math.hypot(ax - step.cx, ay - step.cy)
                feed = min(feed, bend_feed(radius, min(machine.acceleration.x, machine.acceleration.y)))
            inner = arc_chords(np.array([ax, ay]), np.array([step.x, step.y]), bulge, chords or _CHORD)[1:]
            count = len(inner)
            z = az + (step.z - az) * np.arange(1, count + 1) / (count + 1)
            self._points.extend(zip(*inner.T.tolist(), z.tolist(), strict=True))
            self._feeds.extend([feed] * count)
            self._owner.extend([owner] * count)
            self._smooth.extend([not chords] * count)
        self._to((step.x, step.y, step.z), feed, owner)
