"""Slots of constant width: entered on a slope along the slot, cut level by level, exact to the walls.

The bit's middle follows the centre line first, then rings around it, each nearer to the walls: half circles at
rounded ends, corners at squared ones, straight out at open ones. A last skim follows the walls at full depth.
Nothing is plunged.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Channel, Cutting
from toolpaths.operations.slots import RUN_ON
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_LEAST_ASIDE = 0.0101
"""A slot wider than the bit by less than twice this is cut in one pass, mm."""
_LEAST_RING = 0.1
"""A rough ring nearer to the centre line than this is left to the skim, mm."""
_WIDEST_STEP = 0.8
"""Part of the bit's diameter between rings above which wood could stand in squared corners."""
_WIDEST_STEP_SLOPING = 0.5
"""The same over a floor that is not level: a flat end leaves no more between rings than beside the walls."""
_NO_POST = 0.9
"""Where the centre line is too short to enter on, the first ring's offset stays below this part of the radius."""
_CORE = 0.125
"""A ring so many diameters from the centre line carries a bit without centre-cutting edges clear of its middle."""
_HEAVY = 0.25
"""Part of the bit's radius above which a skim is too much for the full depth at once, and goes down in levels."""
_LEAD = 3.0
"""Length of the skim's lead-in and lead-out, mm."""
_OVERLAP = 1.0
"""How far the skim runs on past its start, mm."""
_FINE = 4
"""Arcs that a quarter of a turn becomes over a floor that is not level."""


def channel(operation: Channel, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a slot. Raises FeatureError where the bit cannot be led into it on a slope."""
    cutting = operation.cutting
    heights = levels(operation.top, operation.floor, cutting.pass_depth)
    offsets, wall = _offsets(operation, bit)
    words = f"{len(heights)} level{'s' if len(heights) > 1 else ''}"
    if wall is not None:
        words += ", then a skim of the walls"
    elif len(offsets) == 1:
        words += ", as wide as the bit and its runout"
    for ends, name in zip(operation.ends, operation.names, strict=True):
        slot = _Slot.of(operation, ends, bit)
        on_line, rings = _entry(slot, offsets, bit, name)
        _rough(pen, slot, on_line, rings, heights, operation)
        if wall is not None:
            heavy = wall - offsets[-1] > _HEAVY * bit.radius
            for z in heights if heavy else heights[-1:]:
                _skim(pen, slot, (offsets[-1], wall), z, cutting)
        pen.retract()
        yield pen.section(operation, f"{name}, {words}", name)


@dataclass(frozen=True, slots=True)
class _Node:
    """A place on a slot: s along its centre line, t aside; reached straight, or by an arc about (`about`, 0)."""

    s: float
    t: float
    about: float | None = None


@dataclass(frozen=True, slots=True)
class _Slot:
    """One slot with an end to begin at: the open one where only one is. Lengths mm, s from there along (ux, uy).

    `tip_s`, `tip_z` (K,): the lowest that the tip may go along the centre line, straight between.
    """

    x: float
    y: float
    ux: float
    uy: float
    length: float
    width: float
    radius: float
    open_ends: tuple[bool, bool]
    squared: bool
    tip_s: Array
    tip_z: Array

    @staticmethod
    def of(operation: Channel, ends: Array, bit: Bit) -> _Slot:
        """The slot between two ends (2, 2)."""
        (ax, ay), (bx, by) = ends.tolist()
        length = math.hypot(bx - ax, by - ay)
        line, opened = operation.floor_line, operation.open_ends
        if opened[1] and not opened[0]:
            (ax, ay), (bx, by) = (bx, by), (ax, ay)
            line, opened = np.stack([length - line[::-1, 0], line[::-1, 1]], axis=1), (True, False)
        return _Slot(
            x=ax,
            y=ay,
            ux=(bx - ax) / length,
            uy=(by - ay) / length,
            length=length,
            width=operation.width,
            radius=bit.radius,
            open_ends=opened,
            squared=operation.squared,
            tip_s=(tip := _tip(line, bit.radius))[0],
            tip_z=tip[1],
        )

    @property
    def aside(self) -> float:
        """From the centre line to the bit's middle where it follows the wall, mm; 0 where one pass cuts the slot."""
        aside = self.width / 2 - self.radius
        return aside if aside >= _LEAST_ASIDE else 0.0

    def span(self, offset: float) -> tuple[float, float]:
        """From and to: where the straight sides of the ring at an offset begin and end, mm along."""
        ends = []
        for opened in self.open_ends:
            closed = self.radius + self.aside - (offset if self.squared else 0.0)
            ends.append(-self.radius - RUN_ON if opened else closed)
        return ends[0], self.length - ends[1]

    def tip(self, s: float) -> float:
        """The lowest that the tip may go at s, mm above the bed."""
        return float(np.interp(s, self.tip_s, self.tip_z))

    def place(self, s: float, t: float) -> tuple[float, float]:
        """x, y of a place, mm."""
        return self.x + s * self.ux - t * self.uy, self.y + s * self.uy + t * self.ux

    def straight(self, s0: float, s1: float, t: float, also: tuple[float, ...] = ()) -> list[_Node]:
        """Nodes from s0 to s1, with one at each bend of the floor between."""
        low, high = min(s0, s1), max(s0, s1)
        bends = self.tip_s.tolist() if len(self.tip_s) > 1 else []
        bends = [s for s in (*bends, *also) if low < s < high]
        return [_Node(s, t) for s in sorted({s0, s1, *bends}, reverse=s1 < s0)]

    def ring(self, offset: float) -> list[_Node]:
        """Once around at an offset, from the middle of the first end to the same, the near side first."""
        s0, s1 = self.span(offset)
        round0, round1 = (not self.squared and not opened for opened in self.open_ends)
        first = [_Node(s0 - offset, 0.0), *self._turn(s0, offset, 2)] if round0 else [_Node(s0, 0.0)]
        near = self.straight(s0, s1, -offset, also=() if self.open_ends[0] else ((s0 + s1) / 2,))
        end = [*self._turn(s1, offset, 3), *self._turn(s1, offset, 0)] if round1 else []
        far = self.straight(s1, s0, offset)
        last = self._turn(s0, offset, 1) if round0 else [_Node(s0, 0.0)]
        # Where a half circle leads to a side's first place, it is reached by the arc, not twice.
        return [*first, *(near[1:] if round0 else near), *end, *(far[1:] if round1 else far), *last]

    def _turn(self, about: float, offset: float, quarter: int) -> list[_Node]:
        count = 1 if len(self.tip_s) == 1 else _FINE
        angles = [(quarter + (i + 1) / count) * math.pi / 2 for i in range(count)]
        return [_Node(about + offset * math.cos(a), offset * math.sin(a), about) for a in angles]


def _tip(line: Array, radius: float) -> tuple[Array, Array]:
    """Where the tip may go (K,), (K,) so that no part of a flat end comes below the floor line (N, 2).

    That is the highest of the floor under the bit. Between its bends the highest of straight lines curves upwards,
    so straight moves between them stay above it.
    """
    if np.ptp(line[:, 1]) == 0.0:
        return np.zeros(1), line[:1, 1]
    s = np.unique(np.concatenate([line[:, 0] - radius, line[:, 0], line[:, 0] + radius]))
    z = np.maximum(np.interp(s - radius, line[:, 0], line[:, 1]), np.interp(s + radius, line[:, 0], line[:, 1]))
    under = np.abs(line[None, :, 0] - s[:, None]) <= radius
    return s, np.maximum(z, np.where(under, line[None, :, 1], -np.inf).max(axis=1))


def _offsets(operation: Channel, bit: Bit) -> tuple[list[float], float | None]:
    """Offsets of the rough rings, from the centre line (0) outwards, and of the last skim where there is one."""
    aside = operation.width / 2 - bit.radius
    if aside < _LEAST_ASIDE:
        return [0.0], None
    allowance = operation.cutting.finish_allowance
    outer = max(0.0, aside - allowance)
    if allowance > 0 and outer < _LEAST_RING:
        outer = 0.0
    widest = _WIDEST_STEP if len(operation.floor_line) == 1 else _WIDEST_STEP_SLOPING
    step = min(operation.cutting.step_over, widest) * bit.cut_diameter
    count = math.ceil(outer / step - 1e-9)
    return [0.0, *(outer * (i + 1) / count for i in range(count))], (aside if allowance > 0 else None)


def _entry(slot: _Slot, offsets: list[float], bit: Bit, name: str) -> tuple[bool, list[float]]:
    """Whether the slope lies on the centre line, and the offsets of the rings; else it lies on the first of them."""
    s0, s1 = slot.span(0.0)
    if s1 - s0 >= (bit.radius if bit.centre_cutting else bit.cut_diameter):
        return True, offsets[1:]
    rings = offsets[1:]
    while rings and rings[0] > _NO_POST * bit.radius:
        rings = [rings[0] / 2, *rings]
    if not rings or (not bit.centre_cutting and rings[0] < _CORE * bit.cut_diameter):
        raise FeatureError(f"{name}: the bit has no room to enter on a slope", "take a smaller bit", "bit")
    return False, rings


def _rough(
    pen: ToolpathBuilder, slot: _Slot, on_line: bool, rings: list[float], heights: list[float], operation: Channel
) -> None:
    """Every level: down a slope, once over it again, then the rings outwards."""
    cutting = operation.cutting
    side = 1 if cutting.rough == "climb" else -1
    s0, s1 = slot.span(0.0)
    entry = slot.straight(s0, s1, 0.0) if on_line else slot.ring(rings[0])
    way = _length(entry)
    above = operation.top
    for z in heights:
        x, y = slot.place(entry[0].s, entry[0].t)
        if above == operation.top:
            pen.enter(x, y, above, above, cutting)
        else:
            # Back over the floor already cut.
            pen.cut(x, y, max(above, slot.tip(entry[0].s)), cutting.feed)
        legs = max(1, math.ceil((above - z) / cutting.slope / way - 1e-9))
        legs += 1 - legs % 2 if on_line else 0
        marks = [above + (z - above) * i / legs for i in range(legs + 1)]
        for i in range(legs):
            nodes = entry[::-1] if on_line and i % 2 else entry
            _follow(pen, slot, nodes, side, (marks[i], marks[i + 1]), cutting.ramp)
        _follow(pen, slot, entry[::-1] if on_line else entry, side, (z, z), cutting.feed)
        for offset in rings if on_line else rings[1:]:
            ring = slot.ring(offset)
            x, y = slot.place(ring[0].s, ring[0].t)
            pen.cut(x, y, max(z, slot.tip(ring[0].s)), cutting.feed)
            _follow(pen, slot, ring, side, (z, z), cutting.feed)
        above = z


def _skim(pen: ToolpathBuilder, slot: _Slot, offsets: tuple[float, float], z: float, cutting: Cutting) -> None:
    """Once around the walls at height z: from the open end, or with a lead-in and lead-out in the middle of a side.

    `offsets`: of the last rough ring, where it begins and ends, and of the walls.
    """
    side = 1 if cutting.finish == "climb" else -1
    inner, wall = offsets
    ring = slot.ring(wall)
    s0, s1 = slot.span(wall)
    if slot.open_ends[0] or s1 - s0 < 2 * _LEAD + _OVERLAP + 1.0:
        home = slot.ring(inner)[0]
        pen.cut(*slot.place(home.s, home.t), max(z, slot.tip(home.s)), cutting.feed)
        _follow(pen, slot, [home, *ring, home], side, (z, z), cutting.feed)
        return
    middle = (s0 + s1) / 2
    k = next(i for i, n in enumerate(ring) if n.s == middle and n.t == -wall)
    lead = _Node(middle - _LEAD, -inner)
    pen.cut(*slot.place(lead.s, side * lead.t), max(z, slot.tip(lead.s)), cutting.feed)
    on = slot.straight(middle, middle + _OVERLAP, -wall)[1:]
    off = _Node(middle + _OVERLAP + _LEAD, -inner)
    _follow(pen, slot, [lead, *ring[k:], *ring[1 : k + 1], *on, off], side, (z, z), cutting.feed)


def _follow(
    pen: ToolpathBuilder, slot: _Slot, nodes: list[_Node], side: int, heights: tuple[float, float], feed: float
) -> None:
    """Cut from the first node, where the bit is, to the last; the height changes evenly, and never below the floor.

    `side` -1 runs around the other way: t changes sign, and arcs turn clockwise.
    """
    total, done = _length(nodes), 0.0
    z0, z1 = heights
    for here, node in pairwise(nodes):
        done += _step(here, node)
        z = max(z1 if z0 == z1 else z0 + (z1 - z0) * done / total, slot.tip(node.s))
        x, y = slot.place(node.s, side * node.t)
        if node.about is None:
            pen.cut(x, y, z, feed)
        else:
            pen.arc(x, y, z, slot.place(node.about, 0.0), side > 0, feed)


def _length(nodes: list[_Node]) -> float:
    return sum(_step(a, b) for a, b in pairwise(nodes))


def _step(a: _Node, b: _Node) -> float:
    """Length of the way from one node to the next, mm."""
    chord = math.hypot(b.s - a.s, b.t - a.t)
    if b.about is None:
        return chord
    radius = math.hypot(b.s - b.about, b.t)
    return 2 * radius * math.asin(min(1.0, chord / (2 * radius)))
