"""Around the outside: ramped entries, tabs left standing, the kerf opened as wide as asked, the wall skimmed last."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from toolpaths.common.units import show
from toolpaths.geometry.loop import Loop
from toolpaths.geometry.offset import grown
from toolpaths.job.bit import Bit
from toolpaths.operations.operation import Contour, Cutting, Tab
from toolpaths.toolpath.arc_length_path import ArcLengthPath
from toolpaths.toolpath.levels import levels
from toolpaths.toolpath.toolpath import Section, ToolpathBuilder

_LEAST_GAP = 0.05
"""A shorter way between two tabs is none, mm."""
_LEAD = 3.0
"""Length of the skim's lead-in and lead-out, mm."""


@dataclass(frozen=True, slots=True)
class _Span:
    """A stretch of a track, from s0 on to s1 (mm), on which a tab stands or none does."""

    s0: float
    s1: float


def passes(operation: Contour) -> list[float]:
    """Heights of the levels, mm; the tabs' top is one of them."""
    tops = [t.height for t in operation.tabs]
    return levels(operation.top, operation.floor, operation.cutting.pass_depth, also=tops)


def contour(operation: Contour, bit: Bit, pen: ToolpathBuilder) -> Iterator[Section]:
    """Sections, one a level and one for the skim."""
    cutting = operation.cutting
    tab_top = max((t.height for t in operation.tabs), default=-math.inf)
    heights = passes(operation)
    inner = bit.radius + cutting.finish_allowance
    outer = max(inner, operation.kerf - bit.radius)
    offsets = [outer, inner] if outer - inner > 1e-6 else [inner]
    tracks = [_track(operation.loop, o, cutting.rough == "conventional") for o in offsets]
    above = operation.top
    starts = [_start(t) for t in tracks]
    for k, z in enumerate(heights, 1):
        for j, track in enumerate(tracks):
            if z >= tab_top - 1e-9:
                starts[j] = _round(pen, track, starts[j], above, z, cutting)
            else:
                _between_tabs(pen, track, operation.tabs, bit, (above, z), tab_top, cutting)
        above = z
        title = f"{operation.title}, level {k} of {len(heights)}"
        if k == len(heights) and cutting.finish_allowance <= 0:
            pen.retract()
        yield pen.section(operation, title, f"level {k}")
    if cutting.finish_allowance > 0:
        _skim(pen, operation, bit, tracks[-1], tab_top)
        title = f"{operation.title}, last skim of {show(cutting.finish_allowance, pen.units)} along the wall"
        yield pen.section(operation, title, "last skim")


def _round(pen: ToolpathBuilder, track: ArcLengthPath, s: float, above: float, z: float, cutting: Cutting) -> float:
    """Ramp down from s, then once around level. Returns where the ramp ended, the next level's start."""
    _go(pen, track, s, above, cutting)
    return track.ramp_and_round(pen, s, above, z, cutting) % track.length


def _between_tabs(
    pen: ToolpathBuilder,
    track: ArcLengthPath,
    tabs: tuple[Tab, ...],
    bit: Bit,
    drop: tuple[float, float],
    tab_top: float,
    cutting: Cutting,
) -> None:
    """One level of every stretch between two tabs; the tabs are crossed at their top, which is already cut."""
    above, z = drop
    gaps = _gaps(track, tabs, bit.radius)
    for i, gap in enumerate(gaps):
        if i == 0:
            _go(pen, track, gap.s0, tab_top, cutting)
        else:
            track.run(pen, gaps[i - 1].s1, gap.s0, tab_top, tab_top, cutting.feed)
        pen.cut(*track.at(gap.s0), above, cutting.descent)
        _ramp_in(pen, track, gap, above, z, cutting)
        track.run(pen, gap.s0, gap.s1, z, z, cutting.feed)
        pen.cut(*track.at(gap.s1), tab_top, cutting.descent)


def _ramp_in(pen: ToolpathBuilder, track: ArcLengthPath, gap: _Span, above: float, z: float, cutting: Cutting) -> None:
    """Down to z on slopes along the gap and level back to its start, as often as the angle asks."""
    whole = (above - z) / cutting.slope
    count = max(1, math.ceil(whole / max(gap.s1 - gap.s0, 1e-6) - 1e-9))
    back = ArcLengthPath.along(track.loop, backwards=True)
    for i in range(count):
        za = above - (above - z) * i / count
        zb = z if i == count - 1 else above - (above - z) * (i + 1) / count
        run = whole / count
        track.run(pen, gap.s0, gap.s0 + run, za, zb, cutting.ramp)
        s = back.nearest(pen.x, pen.y)
        back.run(pen, s, s + run, zb, zb, cutting.feed)


def _skim(pen: ToolpathBuilder, operation: Contour, bit: Bit, rough: ArcLengthPath, tab_top: float) -> None:
    """Once around the finished wall at full depth, up and over the tabs, with a lead-in and lead-out along the wall."""
    cutting, z = operation.cutting, operation.floor
    wall = _track(operation.loop, bit.radius, cutting.finish == "conventional")
    gaps = _gaps(wall, operation.tabs, bit.radius) if z < tab_top else []
    straight = _longest_straight(wall, gaps)
    lead = min(_LEAD, (straight.s1 - straight.s0) / 3)
    start = (straight.s0 + straight.s1) / 2 - 1.5 * lead
    sx, sy = rough.at(rough.nearest(*wall.at(start)))
    pen.travel(sx, sy)
    pen.approach(operation.top, cutting.descent)
    pen.cut(sx, sy, z, cutting.descent)
    at = start + lead
    pen.cut(*wall.at(at), z, cutting.feed)
    # The stretches from the start on; the last leads to the first tab once more, and is left before that.
    for gap, after in pairwise(_from(gaps, start, wall.length)):
        wall.run(pen, at, gap.s1, z, z, cutting.feed)
        pen.cut(*wall.at(gap.s1), tab_top, cutting.descent)
        wall.run(pen, gap.s1, after.s0, tab_top, tab_top, cutting.feed)
        pen.cut(*wall.at(after.s0), z, cutting.plunge)
        at = after.s0
    end = start + wall.length + 2 * lead
    wall.run(pen, at, end, z, z, cutting.feed)
    pen.cut(*rough.at(rough.nearest(*wall.at(end + lead))), z, cutting.feed)
    pen.retract()


def _from(gaps: list[_Span], s: float, length: float) -> list[_Span]:
    """The stretches in the order in which they are met from s on, the first (which holds s) again at the end."""
    if not gaps:
        return []
    around = [_Span(g.s0 + k * length, g.s1 + k * length) for k in (-1, 0, 1, 2) for g in gaps]
    first = next(i for i, g in enumerate(around) if g.s0 <= s <= g.s1)
    return around[first : first + len(gaps) + 1]


def _longest_straight(track: ArcLengthPath, gaps: list[_Span]) -> _Span:
    """The longest straight stretch without a tab: the skim leads in and out there, away from corners."""
    straights = [
        _Span(float(track.ends[i]), float(track.ends[i + 1]))
        for i in range(len(track.loop.points))
        if track.loop.bulges[i] == 0.0
    ]
    if gaps:
        straights = [
            _Span(max(e.s0, g.s0 + k), min(e.s1, g.s1 + k))
            for e in straights
            for g in gaps
            for k in (-track.length, 0.0, track.length)
        ]
    return max(straights, key=lambda s: s.s1 - s.s0)


def _go(pen: ToolpathBuilder, track: ArcLengthPath, s: float, z: float, cutting: Cutting) -> None:
    """To the track's point s at height z: across the cut where the bit is in it, from above where it is not."""
    x, y = track.at(s)
    if pen.z >= pen.safe or math.hypot(x - pen.x, y - pen.y) > 1e-6:
        pen.enter(x, y, z, z, cutting)
    else:
        pen.cut(x, y, z, cutting.descent)


def _start(track: ArcLengthPath) -> float:
    """A third along the longest edge: the ramps lie on a long, straight side."""
    spans = np.diff(track.ends)
    i = int(np.argmax(spans))
    return float(track.ends[i] + spans[i] / 3)


def _gaps(track: ArcLengthPath, tabs: tuple[Tab, ...], radius: float) -> list[_Span]:
    """The stretches between tabs, in the track's order; the bit's edges stop at the tabs' ends.

    Between two tabs so near to each other that the bit has no room, none.
    """
    half = sorted((track.nearest(*t.at), t.length / 2 + radius) for t in tabs)
    if not half:
        return []
    follow = [*half[1:], (half[0][0] + track.length, half[0][1])]
    spans = [_Span(s + h, s_next - h_next) for (s, h), (s_next, h_next) in zip(half, follow, strict=True)]
    return [span for span in spans if span.s1 - span.s0 > _LEAST_GAP]


def _track(loop: Loop, offset: float, conventional: bool) -> ArcLengthPath:
    """The path of a bit's centre `offset` mm outside the outline.

    A counter-clockwise outline followed in its own direction has the part on the left: with a cutter turning
    clockwise that is conventional cutting; backwards it climbs.
    """
    return ArcLengthPath.along(grown(loop, offset), backwards=not conventional)
