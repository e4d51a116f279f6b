"""What of a long cut lies in one of the blank's places: its moves cut off at the seams, entered and left on slopes.

Where the bit comes in across a seam it comes down on a slope, there and back along its way, from the wood as the
passes before have left it. Where it goes out it lifts itself on its own way back, so that no mark is left on a wall.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import arc_chords
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Cutting, Operation
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Section, Step, ToolpathBuilder, bulge_of, extremes

Point = tuple[float, float, float]

_SAME = 1e-6
_CHORD = 0.002
"""How far a chord may stray from an arc that is cut off, mm."""
_LEAVE = 3.0, 0.6
"""How far back along its way the bit goes as it leaves, and how far it rises by then, mm."""
_NEAR = 0.5
"""How far above the wood a descent slows down, mm."""
_CLOSE = 0.5
"""Within this part of the bit's radius a pass before has cut what the bit comes to: a skim lies beside its roughing."""
_LANE = 0.02
"""Passes no further apart go along the same way, mm."""
_LEAST = 1.0
"""A shorter way leaves no room for a slope, mm."""


def cut_within(
    sections: Sequence[Section], operation: Operation, bit: Bit, start: Point, pen: ToolpathBuilder
) -> list[Section]:
    """The sections with what they cut from `within[0]` to `within[1]` along x; those that cut nothing there left out.

    `start`: where the bit was before them. The pen is left where the bit truly is after them.
    """
    if operation.within is None:
        return list(sections)
    cut = _Cut(operation, bit, operation.within, pen.safe, start, start)
    out: list[Section] = []
    for section in sections:
        steps = cut.section(section.steps)
        if steps:
            out.append(replace(section, steps=tuple(steps), rows=()))
    pen.x, pen.y, pen.z = cut.bit_at
    return out


@dataclass(slots=True)
class _Run:
    """Moves that follow each other within the place. `entered`, `left`: across one of its borders, in the wood."""

    begin: Point
    steps: list[Step] = field(default_factory=list)
    entered: bool = False
    left: bool = False

    def points(self) -> Array:
        """(K, 3) of its way, arcs as chords."""
        points = [self.begin]
        for step in self.steps:
            points += _chords(points[-1], step)
        return np.asarray(points)


@dataclass(slots=True)
class _Cut:
    """The moves so far. `at`: where the whole way is; `bit_at`: where the bit is; `passes`: what it has cut, (K, 3)."""

    operation: Operation
    bit: Bit
    within: tuple[float, float]
    safe: float
    at: Point
    bit_at: Point
    passes: list[Array] = field(default_factory=list)

    def section(self, steps: Sequence[Step]) -> list[Step]:
        """What is cut of one section."""
        out: list[Step] = []
        for run in self._runs(steps):
            out += self._to(run)
            out += run.steps
            self.passes.append(run.points())
            self.bit_at = _end(run.steps[-1])
            if run.left:
                out += self._leave(run)
        return out

    # Private

    def _runs(self, steps: Sequence[Step]) -> Iterator[_Run]:
        """The moves within the place, as far as they follow each other. Rapids are made anew."""
        run: _Run | None = None
        for step in steps:
            here, self.at = self.at, _end(step)
            if isinstance(step, Rapid):
                if run is not None:
                    yield run
                run = None
                continue
            for begin, piece, came_in, goes_out in self._pieces(here, step):
                if run is None:
                    run = _Run(begin, entered=came_in and begin[2] < self.safe - _SAME)
                run.steps.append(piece)
                if goes_out:
                    run.left = True
                    yield run
                    run = None
        if run is not None:
            yield run

    def _pieces(self, here: Point, step: Feed | Arc) -> Iterator[tuple[Point, Step, bool, bool]]:
        """(from, piece, whether it comes in there, whether it goes out at its end) of one move."""
        low, high = self.within
        reach = [here[0], step.x, *(p[0] for p in (extremes(here, step) if isinstance(step, Arc) else ()))]
        if low <= min(reach) and max(reach) <= high:
            yield here, step, False, False
            return
        if max(reach) < low or min(reach) > high:
            return
        for end in _chords(here, step):
            part = _inside(here[0], end[0], low, high)
            if part is not None:
                a, b = part
                begin, stop = _between(here, end, a), _between(here, end, b)
                if b > a or begin != stop:
                    yield begin, Feed(*stop, step.feed), a > 0, b < 1
            here = end

    def _to(self, run: _Run) -> list[Step]:
        """To where a run begins: nothing where the bit is there; on a slope where it begins in the wood."""
        if math.dist(self.bit_at, run.begin) <= _SAME:
            return []
        x, y, z = run.begin
        cutting = self.operation.cutting
        wood, beside = self._wood(x, y) if run.entered else (z, (x, y))
        steps: list[Step] = []
        if self.bit_at[2] < self.safe:
            steps.append(Rapid(self.bit_at[0], self.bit_at[1], self.safe))
        if wood - z <= _SAME:
            # A pass before has been as deep here: down in its cut, and then to the side.
            steps.append(Rapid(*beside, self.safe))
            if z < self.safe - _SAME:
                slow = min(self.safe, z + _NEAR)
                steps += [Feed(*beside, slow, cutting.descent), Feed(*beside, z, cutting.plunge)]
            return [*steps, Feed(x, y, z, cutting.feed)] if math.dist(beside, (x, y)) > _SAME else steps
        # Beside another pass the wood may stand as high as it did before all of them.
        high = wood if math.dist(beside, (x, y)) <= _LANE else self.operation.top
        steps += [Rapid(x, y, self.safe), Feed(x, y, min(self.safe, high + _NEAR), cutting.descent)]
        slope = list(_slope(run.points(), wood - z, cutting))
        if slope:
            return [*steps, Feed(x, y, wood, cutting.plunge), *slope]
        return [*steps, Feed(x, y, z, cutting.plunge)]

    def _wood(self, x: float, y: float) -> tuple[float, tuple[float, float]]:
        """(how high the wood stands at most at a place by this operation's own passes, the place of the lowest), mm."""
        near = max(_CLOSE * self.bit.radius, 0.05)
        found = (self.operation.top, (x, y))
        for way in self.passes:
            a, b = way[:-1, :2], way[1:, :2]
            along = b - a
            length = np.maximum((along**2).sum(axis=1), 1e-18)
            t = np.clip((((x, y) - a) * along).sum(axis=1) / length, 0.0, 1.0)
            foot = a + t[:, None] * along
            by = np.nonzero(np.hypot(*(foot - (x, y)).T) <= near)[0]
            if len(by):
                heights = way[by, 2] + t[by] * (way[by + 1, 2] - way[by, 2])
                k = int(np.argmin(heights))
                if heights[k] < found[0]:
                    px, py = foot[by[k]].tolist()
                    found = (float(heights[k]), (px, py))
        return found

    def _leave(self, run: _Run) -> list[Step]:
        """Back along the way a little, rising, as the bit goes out of the place."""
        far, rise = _LEAVE
        points = run.points()[::-1]
        out: list[Step] = []
        gone, z = 0.0, self.bit_at[2]
        for a, b in pairwise(points):
            length = math.dist(a[:2], b[:2])
            if length <= _SAME or abs(b[2] - a[2]) > _SAME:
                break
            part = min(1.0, (far - gone) / length)
            x, y = (float(a[i] + part * (b[i] - a[i])) for i in (0, 1))
            gone += part * length
            here = min(self.safe, z + rise * gone / far)
            out.append(Feed(x, y, here, self.operation.cutting.feed))
            self.bit_at = (x, y, here)
            if gone >= far - _SAME:
                break
        return out


def _slope(points: Array, drop: float, cutting: Cutting) -> Iterator[Step]:
    """There and back along the level beginning of a way, down by `drop` mm in all, to where it begins."""
    level = 1
    while level < len(points) and abs(points[level, 2] - points[0, 2]) <= _SAME:
        level += 1
    way = points[:level]
    ends = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way[:, :2], axis=0).T))])
    room, need = float(ends[-1]), drop / cutting.slope / 2
    if room < _LEAST:
        return
    times = math.ceil(need / room)
    reach = need / times
    z0 = float(points[0, 2])
    stops = [*(float(e) for e in ends[1:] if e < reach - _SAME), reach]
    for k in range(times):
        high = drop * (1 - k / times)
        half = drop / times / 2
        for s in stops:
            yield Feed(*_at(way, ends, s), z0 + high - half * s / reach, cutting.ramp)
        for s in [*reversed(stops[:-1]), 0.0]:
            yield Feed(*_at(way, ends, s), z0 + high - half - half * (reach - s) / reach, cutting.ramp)


def _at(way: Array, ends: Array, s: float) -> tuple[float, float]:
    return float(np.interp(s, ends, way[:, 0])), float(np.interp(s, ends, way[:, 1]))


def _chords(here: Point, step: Step) -> list[Point]:
    """Where the straight pieces of a move end."""
    if not isinstance(step, Arc):
        return [(step.x, step.y, step.z)]
    points = arc_chords(np.array(here[:2]), np.array([step.x, step.y]), bulge_of(here[:2], step), _CHORD)[1:]
    out = [(float(x), float(y)) for x, y in points]
    if not out or math.dist(out[-1], (step.x, step.y)) > _SAME:
        out.append((step.x, step.y))
    n = len(out)
    return [(x, y, here[2] + (step.z - here[2]) * i / n) for i, (x, y) in enumerate(out, 1)]


def _inside(a: float, b: float, low: float, high: float) -> tuple[float, float] | None:
    """From and to which part of the way from a to b lies between two borders; None where none does."""
    if a == b:
        return (0.0, 1.0) if low <= a <= high else None
    first, last = sorted(((low - a) / (b - a), (high - a) / (b - a)))
    begin, end = max(0.0, first), min(1.0, last)
    return (begin, end) if begin <= end else None


def _between(a: Point, b: Point, t: float) -> Point:
    if t <= 0.0:
        return a
    if t >= 1.0:
        return b
    x, y, z = (p + t * (q - p) for p, q in zip(a, b, strict=True))
    return x, y, z


def _end(step: Step) -> Point:
    return step.x, step.y, step.z
