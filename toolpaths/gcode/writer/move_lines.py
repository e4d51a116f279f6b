"""Moves as lines of text: modal words that already hold are not repeated.

Only the writer uses it; the reader shares nothing with it. Positions are kept in output units, as they were rounded.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.gcode.writer.vertical_arcs import UprightArc, with_uprights
from toolpaths.geometry.loop import arc_chords
from toolpaths.job.setup_context import SetupContext, turned
from toolpaths.toolpath.toolpath import Arc, Feed, Rapid, Step, Toolpath, bulge_of, extremes, halves

_SMALL_ARC = 0.05
"""Below this chord an arc is written as straight cuts, mm."""
_EXACT = 1.0 + 1e-6
"""A feed that is more than an axis bears by less than this is rounding."""
_HALF_TURN = 1.000001
"""Bulge of the longest arc that is written as one: half a turn, and what is left of arithmetic."""


@dataclass(slots=True)
class MoveLines:
    """Appends the lines of moves to `lines`, which others may append to as well. `lift`: of the whole program, mm."""

    form: GcodeFormat
    context: SetupContext
    lift: float
    lines: list[str] = field(default_factory=list)
    plane: int = 17
    x: float | None = None
    y: float | None = None
    z: float | None = None
    feed: str = ""
    slower: tuple[float, ...] = ()
    at: tuple[float, float, float] | None = None
    zero: tuple[float, float, float] = field(init=False)
    skew: tuple[float, float] = field(init=False)

    def __post_init__(self) -> None:
        # Every line asks for them, and the context works them out each time.
        self.zero, self.skew = self.context.zero, self.context.skew

    def steps(self, steps: tuple[Step, ...], feeds: Iterable[float] = ()) -> None:
        """All moves of one section, then back in the level plane.

        `feeds`: those of its operation, mm/min; one of them is taken where a move's own asks too much of an axis.
        """
        self.slower = tuple(sorted(feeds, reverse=True))
        for step in self._shaped(steps):
            self._step(step)
        self._in_plane(17)

    def up(self) -> None:
        """Straight up to the height of travel, where the bit is below it or its height is not known."""
        z = self._place(0, 0, self.context.travel_height)[2]
        if self.z is None or self.z < z:
            self.lines.append(f"G0 Z{self.form.number(z)}")
            self.z = z

    def forget(self) -> None:
        """Forget the bit's position: a bit change may have moved every axis."""
        self.x = self.y = self.z = None

    def park(self) -> None:
        """At the height of travel to the machine's own parking place."""
        self._rapid(Rapid(*self._parked(), self.context.travel_height))

    def extent(self, toolpath: Toolpath) -> tuple[list[float], list[float]]:
        """Least and greatest coordinate of each axis in the text, parking included, true mm."""
        points = [(*self._parked(), self.context.travel_height)]
        for step in (s for section in toolpath.sections for s in section.steps):
            if isinstance(step, Arc):
                # Between its ends an arc reaches as far as the circle does; `points` ends where it begins.
                points += extremes(points[-1], step)
            points.append((step.x, step.y, step.z))
        lift = self.lift - self.zero[2]
        machine = self.context.machine
        up = machine.correction[2]
        array = np.asarray([(*machine.told(*self._turned(x, y)), (z + lift) * up) for x, y, z in points])
        return array.min(axis=0).tolist(), array.max(axis=0).tolist()

    # Private

    def _parked(self) -> tuple[float, float]:
        """The parking place in the setup's frame: it stays where it is when the blank is moved along."""
        park, lie = self.context.machine.park, self.context.lie
        return park.x + (0.0 if lie is None else lie.shift), park.y

    def _shaped(self, steps: tuple[Step, ...]) -> Iterable[Step | UprightArc]:
        """The steps, with upright arcs found again where this machine takes them in all planes."""
        machine = self.context.machine
        # Turned about Z nothing runs along an axis any more, and an arc that is corrected unevenly is none.
        if machine.arcs != "all planes" or self.skew[0] != 0.0 or machine.lean != 0.0:
            return steps
        axes = [axis for axis in (0, 1) if machine.correction[axis] == machine.correction[2]]
        return with_uprights(steps, self.at, axes)

    def _step(self, step: Step | UprightArc) -> None:
        start, self.at = self.at, (step.x, step.y, step.z)
        match step:
            case Rapid():
                self._rapid(step)
            case Feed():
                self._straight(step.x, step.y, step.z, step.feed)
            case _ if start is None:
                raise AssertionError("an arc before any position")
            case UprightArc():
                self._upright(step, start)
            case Arc():
                self._arc(step, start)

    def _place(self, x: float, y: float, z: float) -> tuple[float, float, float]:
        """A place of the setup's frame in the program's coordinates, output units, rounded."""
        px, py = self._turned(x, y)
        return self._rounded(px, py, z - self.zero[2] + self.lift)

    def _rounded(self, x: float, y: float, z: float) -> tuple[float, float, float]:
        """True program coordinates (mm) with this machine's correction, output units, rounded."""
        machine, form = self.context.machine, self.form
        (px, py), fz = machine.told(x, y), machine.correction[2]
        return form.rounded(px), form.rounded(py), form.rounded(z * fz)

    def _turned(self, x: float, y: float) -> tuple[float, float]:
        """A place of the setup's frame in the program's coordinates, mm, as the blank lies askew."""
        return turned((x, y), self.zero, self.skew)

    def _rapid(self, step: Rapid) -> None:
        """Up before sideways, sideways before down: never both in one line."""
        x, y, z = self._place(step.x, step.y, step.z)
        if self.z is None or z > self.z:
            self.lines.append(f"G0 Z{self.form.number(z)}")
            self.z = z
        if (x, y) != (self.x, self.y):
            self.lines.append(f"G0 X{self.form.number(x)} Y{self.form.number(y)}")
            self.x, self.y = x, y
        if z < self.z:
            self.lines.append(f"G0 Z{self.form.number(z)}")
            self.z = z

    def _straight(self, x: float, y: float, z: float, feed: float) -> None:
        self._line(*self._place(x, y, z), feed)

    def _line(self, px: float, py: float, pz: float, feed: float) -> None:
        """A straight cut to a place in output units; nothing where the bit already is."""
        words = "".join(
            f" {letter}{self.form.number(new)}"
            for letter, new, old in (("X", px, self.x), ("Y", py, self.y), ("Z", pz, self.z))
            if new != old
        )
        if not words:
            return
        way = (px - (self.x or 0.0), py - (self.y or 0.0), pz - (self.z or 0.0))
        length = math.sqrt(sum(d * d for d in way))
        self._cut(f"G1{words}", self._borne(feed, *(d / length for d in way)))
        self.x, self.y, self.z = px, py, pz

    def _arc(self, step: Arc, start: tuple[float, float, float]) -> None:
        """An arc where the machine takes it, chords within its tolerance where not.

        How far it turns is known from its true start: rounded, a short one may start past its own end.
        """
        if self.x is None or self.y is None or self.z is None:
            raise AssertionError("an arc before any position")
        bulge = bulge_of(start[:2], step)
        if abs(bulge) > _HALF_TURN:
            # The longer an arc turns, the further a last digit at its ends carries its middle.
            first, second = halves(start, step)
            self._arc(first, start)
            self._arc(second, (first.x, first.y, first.z))
            return
        x, y, z = self._place(step.x, step.y, step.z)
        chord = math.hypot(x - self.x, y - self.y) / self.form.scale
        words = None
        machine, moved = self.context.machine, self._seen(step)
        if machine.arcs != "none" and machine.keeps_circles and chord >= _SMALL_ARC:
            by = machine.correction[0]
            told = replace(moved, x=moved.x * by, y=moved.y * by, cx=moved.cx * by, cy=moved.cy * by)
            words = self.form.centre_words((self.x, self.y), (x, y), told, 4 * math.atan(bulge))
        if words is None:
            self._chords(moved, start, bulge, rounded=chord >= _SMALL_ARC)
            return
        number = self.form.number
        height = f" Z{number(z)}" if z != self.z else ""
        arc = f"{'G3' if step.ccw else 'G2'} X{number(x)} Y{number(y)}{height} I{number(words[0])} J{number(words[1])}"
        if len(arc) > self.form.width:
            self._chords(moved, start, bulge, rounded=True)
            return
        self._in_plane(17)
        run = abs(4 * math.atan(bulge)) * math.hypot(*words)
        whole = math.hypot(run, z - self.z)
        # On its way round it may point along either level axis.
        self._cut(arc, self._borne(step.feed, run / whole, run / whole, (z - self.z) / whole))
        self.x, self.y, self.z = x, y, z

    def _upright(self, arc: UprightArc, start: tuple[float, float, float]) -> None:
        """An arc in the plane of Z and a level axis; the straight cuts where its radii would not agree in the text."""
        here = (self.x, self.y)[arc.axis]
        x, y, z = self._place(arc.x, arc.y, arc.z)
        end, by = (x, y)[arc.axis], self.context.machine.correction[2]
        words = None
        if here is not None and self.z is not None and abs(end - here) >= _SMALL_ARC * self.form.scale:
            px, py = self._turned(*((arc.along, arc.y) if arc.axis == 0 else (arc.x, arc.along)))
            up = arc.up - self.zero[2] + self.lift
            centre = Arc(0.0, 0.0, 0.0, (px, py)[arc.axis] * by, up * by, arc.left, arc.feed)
            meant = Arc((arc.x, arc.y)[arc.axis], arc.z, 0.0, arc.along, arc.up, arc.left, arc.feed)
            turn = 4 * math.atan(bulge_of((start[arc.axis], start[2]), meant))
            words = self.form.centre_words((here, self.z), (end, z), centre, turn)
        number = self.form.number
        # Seen from the positive end of Y, X runs to the left of Z; seen from that of X, Y to the right of it.
        plane, along, off = (18, "X", "I") if arc.axis == 0 else (19, "Y", "J")
        code = "G3" if arc.left == (arc.axis == 1) else "G2"
        text = ""
        if words is not None:
            text = f"{code} {along}{number(end)} Z{number(z)} {off}{number(words[0])} K{number(words[1])}"
        if not text or len(text) > self.form.width:
            for cut in arc.instead:
                self._straight(cut.x, cut.y, cut.z, cut.feed)
            return
        self._in_plane(plane)
        # It is steepest at one of its ends.
        radius = math.hypot(arc.x - arc.along if arc.axis == 0 else arc.y - arc.along, arc.z - arc.up)
        steepest = max(abs(v[arc.axis] - arc.along) for v in (start, (arc.x, arc.y))) / radius
        self._cut(text, self._borne(arc.feed, float(arc.axis == 0), float(arc.axis == 1), steepest))
        self.x, self.y, self.z = x, y, z

    def _in_plane(self, plane: int) -> None:
        """Select the plane of the next arcs where it differs from the current one."""
        if plane != self.plane:
            self.lines.append(f"G{plane}")
            self.plane = plane

    def _seen(self, step: Arc) -> Arc:
        """The arc in the program's true coordinates, mm."""
        x, y = self._turned(step.x, step.y)
        cx, cy = self._turned(step.cx, step.cy)
        z = step.z - self.zero[2] + self.lift
        return Arc(x, y, z, cx, cy, step.ccw, step.feed)

    def _chords(self, arc: Arc, start: tuple[float, float, float], bulge: float, rounded: bool) -> None:
        """An arc in the program's true coordinates as straight cuts; its ends are where they would have been.

        `start`: its true one in the setup's frame. `rounded`: it is long enough to begin where the text left the bit.
        """
        machine, scale = self.context.machine, self.form.scale
        ax, ay = self._turned(start[0], start[1])
        az = start[2] - self.zero[2] + self.lift
        if rounded and self.x is not None and self.y is not None and self.z is not None:
            ax, ay = machine.truly(self.x / scale, self.y / scale)
            az = self.z / scale / machine.correction[2]
            bulge = bulge_of((ax, ay), arc)
        inner = arc_chords(np.array([ax, ay]), np.array([arc.x, arc.y]), bulge, machine.chord_tolerance)[1:]
        for i, (x, y) in enumerate(inner, 1):
            z = az + (arc.z - az) * i / (len(inner) + 1)
            self._line(*self._rounded(float(x), float(y), z), arc.feed)
        self._line(*self._rounded(arc.x, arc.y, arc.z), arc.feed)

    def _borne(self, feed: float, *parts: float) -> float:
        """The feed, or a slower one within every axis's limit. `parts`: each axis's share of the feed."""
        limits = self.context.machine.feed_limit.as_tuple()
        most = min(limit / abs(part) if part else math.inf for limit, part in zip(limits, parts, strict=True))
        if feed <= most * _EXACT:
            return feed
        return next((f for f in self.slower if f <= most * _EXACT), most)

    def _cut(self, line: str, feed: float) -> None:
        """A line that cuts, with its feed where that is new; on a line before it where both are too long for one."""
        text = self.form.feed(feed)
        if text == self.feed:
            self.lines.append(line)
        elif len(line) + len(text) + 2 <= self.form.width:
            self.lines.append(f"{line} F{text}")
        else:
            self.lines += [f"F{text}", line]
        self.feed = text
