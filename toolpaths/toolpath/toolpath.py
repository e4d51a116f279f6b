"""How a bit is moved, before it is text. Verification never sees this module.

Positions are tip positions in the setup's frame (nut line, centreline, bed), mm; feeds mm/min.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Units
from toolpaths.operations.operation import Cutting, Operation, ProgramPlan

MOST_STEPS = 100_000
"""Moves of one feature, all its passes and pieces; the largest of the demos come to a few thousand a program."""
_NO_WAY = 1e-6
"""An arc whose ends lie nearer to each other is no way at all, mm: no strategy asks for a whole turn in one arc."""


@dataclass(frozen=True, slots=True)
class Rapid:
    """A rapid to a full position."""

    x: float
    y: float
    z: float


@dataclass(frozen=True, slots=True)
class Feed:
    """A straight cut to a full position."""

    x: float
    y: float
    z: float
    feed: float


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc in the XY plane (a helix where z changes) to a full position, about (cx, cy)."""

    x: float
    y: float
    z: float
    cx: float
    cy: float
    ccw: bool
    feed: float


Step = Rapid | Feed | Arc


@dataclass(frozen=True, slots=True)
class Section:
    """One pass or piece of one feature, with the words that announce it.

    `piece`: the name by which a program may be begun with it (`fret 12`, `level 2`); empty where it has none.
    `rows`: where it is cut in rows, the index of each row's first step, the way from the row before included.
    """

    feature: str
    bit: str
    title: str
    steps: tuple[Step, ...]
    rpm: float
    piece: str = ""
    rows: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Toolpath:
    """All sections of one program, in order. `owners`: for each, the index of its operation in the batch."""

    program_plan: ProgramPlan
    sections: tuple[Section, ...]
    owners: tuple[int, ...] = ()


@dataclass(slots=True)
class ToolpathBuilder:
    """Collects the steps of a strategy, and keeps the bit's position. Heights mm above the bed.

    Raises FeatureError where there is no end of them.
    `safe` is the height of travel; `near` how far above the wood a descent slows down; `units` those of its words.
    """

    safe: float
    steps: list[Step] = field(default_factory=list)
    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    near: float = 0.5
    drawn: int = 0
    units: Units = "mm"
    row_starts: list[int] = field(default_factory=list)

    def travel(self, x: float, y: float) -> None:
        """Rapid up to the safe height and over to a place; the only rapid move."""
        if self.z < self.safe:
            self._to(Rapid(self.x, self.y, self.safe))
        self._to(Rapid(x, y, self.safe))

    def approach(self, wood: float, feed: float) -> None:
        """Down at a feed to just above the wood's height."""
        target = min(self.safe, wood + self.near)
        if target < self.z:
            self._to(Feed(self.x, self.y, target, feed))

    def cut(self, x: float, y: float, z: float, feed: float) -> None:
        """A straight cut; nothing where the bit already is."""
        if (x, y, z) != (self.x, self.y, self.z):
            self._to(Feed(x, y, z, feed))

    def arc(self, x: float, y: float, z: float, centre: tuple[float, float], ccw: bool, feed: float) -> None:
        """An arc about a centre, of less than a whole turn; no arc where the end is the start."""
        self._to(Arc(x, y, z, centre[0], centre[1], ccw, feed))

    def retract(self) -> None:
        """Straight up to the safe height."""
        if self.z < self.safe:
            self._to(Rapid(self.x, self.y, self.safe))

    def enter(self, x: float, y: float, z: float, wood: float, cutting: Cutting) -> None:
        """To a place at height z from above: slowed down over wood of a height, the last of it as a plunge."""
        self.travel(x, y)
        self.approach(wood, cutting.descent)
        self.cut(x, y, z, cutting.plunge)

    def rows(self, rows: Sequence[float], z: float, x0: float, x1: float, cutting: Cutting) -> None:
        """Level cuts along x from x0 to x1, one at each y of `rows`; every second one back where both ways may be."""
        for i, y in enumerate(rows):
            self.row()
            if i == 0 or not cutting.both_ways:
                self.travel(x0, y)
                self.cut(x0, y, z, cutting.descent)
            else:
                self.cut(self.x, y, z, cutting.feed)
            self.cut(x1 if self.x == x0 else x0, y, z, cutting.feed)

    def row(self) -> None:
        """A row begins: all that the rows before it are to cut in this pass is cut."""
        self.row_starts.append(len(self.steps))

    def section(self, operation: Operation, title: str, piece: str) -> Section:
        """The steps since the last section, as one of an operation; `piece` names what they cut."""
        steps, self.steps = tuple(self.steps), []
        rows, self.row_starts = tuple(self.row_starts), []
        return Section(operation.feature, operation.bit, title, steps, operation.cutting.rpm, piece, rows)

    def _to(self, step: Step) -> None:
        if self.drawn >= MOST_STEPS:
            raise FeatureError(
                f"it needs more than {MOST_STEPS} moves",
                "give a greater `pass_depth`, `step_over` or `scallop`, or take a wider bit or a simpler drawing",
            )
        self.drawn += 1
        self.steps.append(step)
        self.x, self.y, self.z = step.x, step.y, step.z


def bulge_of(start: tuple[float, float], step: Arc) -> float:
    """Bulge of an arc from a start (x, y) as it was meant, not rounded: the tangent of a quarter of its turn.

    Positive to the left; 0 where the end is the start, by the digits that a number has.
    """
    if math.hypot(step.x - start[0], step.y - start[1]) < _NO_WAY:
        return 0.0
    a0 = math.atan2(start[1] - step.cy, start[0] - step.cx)
    a1 = math.atan2(step.y - step.cy, step.x - step.cx)
    sweep = (a1 - a0) % (2 * math.pi) if step.ccw else -((a0 - a1) % (2 * math.pi))
    return math.tan(sweep / 4)


def halves(start: tuple[float, float, float], arc: Arc) -> tuple[Arc, Arc]:
    """The same arc as two of half its turn each."""
    half = math.atan(bulge_of(start[:2], arc)) * 2
    dx, dy = start[0] - arc.cx, start[1] - arc.cy
    x = arc.cx + dx * math.cos(half) - dy * math.sin(half)
    y = arc.cy + dx * math.sin(half) + dy * math.cos(half)
    return replace(arc, x=x, y=y, z=(start[2] + arc.z) / 2), arc


def extremes(start: tuple[float, float, float], arc: Arc) -> list[tuple[float, float, float]]:
    """The points of an arc farthest in x and y between its ends, mm."""
    first = math.atan2(start[1] - arc.cy, start[0] - arc.cx)
    radius, sweep = math.hypot(arc.x - arc.cx, arc.y - arc.cy), 4 * math.atan(bulge_of(start[:2], arc))
    low, high = sorted((first, first + sweep))
    quarters = range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1)
    return [
        (arc.cx + radius * math.cos(q * math.pi / 2), arc.cy + radius * math.sin(q * math.pi / 2), arc.z)
        for q in quarters
    ]
