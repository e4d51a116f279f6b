"""Toolpath to text: one conservative, commented program. The same job gives the same bytes.

The header says what the maker must know before pressing start; a comment stands before every feature and pass.
`docs/programs.md` describes the text. The reader shares nothing with this module.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from toolpaths.core.bit import Bit
from toolpaths.core.form import Form
from toolpaths.core.geometry import arc_chords
from toolpaths.core.machine import Spindle
from toolpaths.core.program import Heading, Program, TouchOff
from toolpaths.core.scene import Scene
from toolpaths.core.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath
from toolpaths.trade.motion import travel_seconds

_SMALL_ARC = 0.05
"""Below this chord an arc is written as a straight cut, mm."""
_CAUTIONS = (
    "Caution: check units and zero, then run this program in the air first.",
    "Caution: clamps out of the path, extraction on, eyes, ears and lungs protected, no gloves.",
    "Caution: stay at the stop button. Mark the shank at the collet and look at it after the first pass.",
    "Caution: change bits only with the spindle isolated, and set Z again after each change.",
    "The machine's manual, the shop's rules and local law come before this program.",
)


def write(toolpath: Toolpath, scene: Scene, heading: Heading) -> Program:
    """The program of one toolpath, judged by nobody yet."""
    text = _Text(Form(scene.machine), scene, heading)
    minutes, by_feature = _minutes(toolpath, scene)
    text.header(toolpath, minutes)
    text.begin(toolpath)
    for section in toolpath.sections:
        text.section(section)
    text.end()
    return Program(
        name=heading.name,
        text="\n".join(text.lines) + "\n",
        setup=scene.setup.name,
        bits=toolpath.batch.bits,
        number=heading.number,
        count=heading.count,
        minutes=minutes,
        touch_off=heading.touch_off,
        feature_minutes=by_feature,
    )


def touch_off(scene: Scene, planed: bool) -> TouchOff | None:
    """What the bit of the next program touches, and the Z entered then: a surface that still stands.

    `planed`: whether an earlier program has taken this setup's top down to its finished face.
    """
    zero = scene.zero[2]
    if scene.setup.zero.z == "bed":
        return TouchOff("bed", 0.0)
    if planed and scene.face < scene.top:
        return TouchOff("planed face", scene.face - zero)
    return TouchOff("stock top", scene.top - zero)


@dataclass(slots=True)
class _Text:
    """Grows line by line; remembers what the controller already knows. Positions in output units."""

    form: Form
    scene: Scene
    heading: Heading
    lines: list[str] = field(default_factory=list)
    x: float | None = None
    y: float | None = None
    z: float | None = None
    feed: str = ""
    rpm: float = 0.0
    bit: str = ""

    def say(self, text: str) -> None:
        """A comment of one line, cut where it is too long, where the machine takes comments."""
        if self.scene.machine.comments:
            self.lines.append(self.form.comment(text))

    def tell(self, sentence: str) -> None:
        """A comment over as many lines as it takes."""
        if self.scene.machine.comments:
            self.lines += self.form.comments(sentence)

    def header(self, toolpath: Toolpath, minutes: float) -> None:
        """Everything to know before the start."""
        h, scene, job, form = self.heading, self.scene, self.scene.job, self.form
        self.say(f"Title: {job.title}")
        self.say(f"neckpath {h.version}, job {h.job_hash}")
        self.say(f"Program {h.number} of {h.count}, setup {scene.setup.name}")
        for change in h.altered:
            self.tell(f"Altered: {change}")
        for accepted in h.accepted:
            self.tell(f"Let pass by the maker: {accepted}")
        if h.lift:
            self.say(f"Lifted: {form.length(h.lift)}")
            self.tell("This program runs in the air: it touches nothing.")
        self.say(f"Machine: {scene.machine.name}")
        for name in toolpath.batch.bits:
            self.tell(_bit_words(h.bit_numbers[name], name, scene.bits[name], form))
        x0, y0, x1, y1 = scene.stock_box
        stock = job.stock.thickness
        thick = form.length(stock.max)
        if stock.min < stock.max:
            thick = f"{form.length(stock.min)} to {thick}"
        self.tell(f"Stock: {scene.wood.name}, {form.length(x1 - x0)} x {form.length(y1 - y0)} x {thick}")
        zero = scene.setup.zero
        self.tell(f"Zero: X at the {zero.x}, Y at the {zero.y}, Z at the {zero.z}, offset {scene.setup.offset}")
        self.tell(f"The nut line is {form.length(scene.setup.nut_at)} from the left end of the stock.")
        self.tell(f"The centreline is {form.length(scene.centre_at)} from the operator's edge.")
        if h.touch_off is not None:
            self.say(f"Touch off: {h.touch_off.surface}, Z {form.length(h.touch_off.z)}")
        for low, high, axis in zip(*self._box(toolpath), "XYZ", strict=True):
            self.say(f"Motion in {axis}: {form.length(low)} to {form.length(high)}")
        self.say(f"About {minutes:.1f} minutes, an estimate.")
        for keep in scene.setup.keep_out:
            self.tell(f"Keep clear: {keep.name}, up to {form.length(keep.height)} above the bed")
        for caution in _CAUTIONS:
            self.tell(caution)

    def begin(self, toolpath: Toolpath) -> None:
        """Units and modes, the bit, up to the safe height, the spindle on and up to speed."""
        machine = self.scene.machine
        self.lines += ["G21" if machine.units == "mm" else "G20", "G17 G90 G94", self.scene.setup.offset]
        first = toolpath.sections[0]
        self._change_bit(first.bit, first.rpm)

    def section(self, section: Section) -> None:
        """The words for one pass, then its moves."""
        if section.bit != self.bit or section.rpm != self.rpm:
            self._stop_spindle()
            self._change_bit(section.bit, section.rpm)
        self.say(f"Feature {section.feature}: {section.title}")
        for step in section.steps:
            self._step(step)

    def end(self) -> None:
        """Up, spindle off, aside, over."""
        park = self.scene.machine.park
        self.say("Done: up, spindle off, to the parking place.")
        self._up()
        self._stop_spindle()
        self._rapid(Rapid(park.x, park.y, self.scene.travel_height))
        self.lines.append("M30")

    # Moves

    def _step(self, step: Step) -> None:
        match step:
            case Rapid():
                self._rapid(step)
            case Feed():
                self._straight(step.x, step.y, step.z, step.feed)
            case Arc():
                self._arc(step)

    def _place(self, x: float, y: float, z: float) -> tuple[float, float, float]:
        """A place of the setup's frame in the program's coordinates, output units, rounded."""
        zx, zy, zz = self.scene.zero
        form = self.form
        return form.rounded(x - zx), form.rounded(y - zy), form.rounded(z - zz + self.heading.lift)

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
        px, py, pz = self._place(x, y, z)
        words = "".join(
            f" {letter}{self.form.number(new)}"
            for letter, new, old in (("X", px, self.x), ("Y", py, self.y), ("Z", pz, self.z))
            if new != old
        )
        if not words:
            return
        self.lines.append(f"G1{words}{self._feed_word(feed)}")
        self.x, self.y, self.z = px, py, pz

    def _arc(self, step: Arc) -> None:
        """An arc where the machine takes it, chords within its tolerance where not."""
        if self.x is None or self.y is None or self.z is None:
            raise AssertionError("an arc before any position")
        x, y, z = self._place(step.x, step.y, step.z)
        chord = math.hypot(x - self.x, y - self.y) / self.form.scale
        zx, zy, _ = self.scene.zero
        moved = Arc(step.x - zx, step.y - zy, step.z, step.cx - zx, step.cy - zy, step.ccw, step.feed)
        words = None
        if self.scene.machine.arcs != "none" and chord >= _SMALL_ARC:
            words = self.form.centre_words((self.x, self.y), (x, y), moved)
        if words is None:
            self._chords(step)
            return
        number = self.form.number
        height = f" Z{number(z)}" if z != self.z else ""
        self.lines.append(
            f"{'G3' if step.ccw else 'G2'} X{number(x)} Y{number(y)}{height} I{number(words[0])} J{number(words[1])}"
            f"{self._feed_word(step.feed)}"
        )
        self.x, self.y, self.z = x, y, z

    def _chords(self, step: Arc) -> None:
        """The arc as straight cuts; its ends are where they would have been."""
        if self.x is None or self.y is None or self.z is None:
            raise AssertionError("an arc before any position")
        zx, zy, zz = self.scene.zero
        scale = self.form.scale
        ax, ay = self.x / scale + zx, self.y / scale + zy
        az = self.z / scale + zz - self.heading.lift
        bulge = _bulge((ax, ay), step)
        a, b = np.array([ax, ay]), np.array([step.x, step.y])
        points = arc_chords(a, b, bulge, self.scene.machine.chord_tolerance) if bulge else a[None, :]
        count = len(points)
        for i in range(1, count):
            self._straight(float(points[i, 0]), float(points[i, 1]), az + (step.z - az) * i / count, step.feed)
        self._straight(step.x, step.y, step.z, step.feed)

    def _feed_word(self, feed: float) -> str:
        text = self.form.feed(feed)
        if text == self.feed:
            return ""
        self.feed = text
        return f" F{text}"

    # Bit and spindle

    def _up(self) -> None:
        z = self._place(0, 0, self.scene.travel_height)[2]
        if self.z is None or self.z < z:
            self.lines.append(f"G0 Z{self.form.number(z)}")
            self.z = z

    def _change_bit(self, name: str, rpm: float) -> None:
        machine, number = self.scene.machine, self.heading.bit_numbers[name]
        self._up()
        if name != self.bit:
            bit_words = _bit_words(number, name, self.scene.bits[name], self.form)
            if self.bit or not machine.t_word:
                self.tell(bit_words)
            if machine.t_word:
                self.lines.append(f"T{number}" + (" M6" if machine.tool_change == "automatic" else ""))
            if machine.tool_change == "automatic":
                # The change may have moved every axis.
                self.x = self.y = self.z = None
                self._up()
            self.bit = name
        self.rpm = rpm
        spindle = machine.spindle
        if spindle.set_by == "hand":
            self.tell(f"Switch the spindle on by hand: {_dial_words(rpm, spindle)}, {rpm:.0f} rpm. Then go on.")
            self.lines.append("M0")
        else:
            self.lines.append(f"S{rpm:.0f} M3")
        wait = spindle.spin_up * (1000 if machine.dwell == "milliseconds" else 1)
        self.lines.append(f"G4 P{self.form.number(round(wait, 3))}")

    def _stop_spindle(self) -> None:
        self._up()
        if self.scene.machine.spindle.set_by == "hand":
            self.say("Switch the spindle off by hand. Then go on.")
            self.lines.append("M0")
        else:
            self.lines.append("M5")

    def _box(self, toolpath: Toolpath) -> tuple[list[float], list[float]]:
        park, zero = self.scene.machine.park, self.scene.zero
        points = [(park.x, park.y, self.scene.travel_height)]
        for step in (s for section in toolpath.sections for s in section.steps):
            # Between its ends an arc reaches as far as the circle does; `points` ends where it begins.
            points += [*_extremes(points[-1], step), _point(step)] if isinstance(step, Arc) else [_point(step)]
        array = np.asarray(points) - np.asarray(zero) + np.array([0, 0, self.heading.lift])
        return array.min(axis=0).tolist(), array.max(axis=0).tolist()


def _bulge(start: tuple[float, float], step: Arc) -> float:
    a0 = math.atan2(start[1] - step.cy, start[0] - step.cx)
    a1 = math.atan2(step.y - step.cy, step.x - step.cx)
    sweep = (a1 - a0) % (2 * math.pi) if step.ccw else -((a0 - a1) % (2 * math.pi))
    return math.tan(sweep / 4)


def _extremes(start: tuple[float, float, float], arc: Arc) -> list[tuple[float, float, float]]:
    """The points of an arc farthest in x and y between its ends, mm."""
    first = math.atan2(start[1] - arc.cy, start[0] - arc.cx)
    radius, sweep = math.hypot(arc.x - arc.cx, arc.y - arc.cy), 4 * math.atan(_bulge(start[:2], arc))
    low, high = sorted((first, first + sweep))
    quarters = range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1)
    return [
        (arc.cx + radius * math.cos(q * math.pi / 2), arc.cy + radius * math.sin(q * math.pi / 2), arc.z)
        for q in quarters
    ]


def _dial_words(rpm: float, spindle: Spindle) -> str:
    """Where the dial stands for a speed."""
    speeds = sorted((r, mark) for mark, r in spindle.dial.items())
    below = [mark for r, mark in speeds if r <= rpm + 0.5]
    above = [mark for r, mark in speeds if r >= rpm - 0.5]
    if below and above:
        return f"dial {below[-1]}" if below[-1] == above[0] else f"dial between {below[-1]} and {above[0]}"
    return f"dial below {above[0]}" if above else f"dial above {below[-1]}"


def _bit_words(number: int, name: str, bit: Bit, form: Form) -> str:
    flutes = f"{bit.flutes} flute{'s' if bit.flutes > 1 else ''}"
    size = form.length(bit.cut_diameter)
    return f"Bit {number}: {name}, {bit.shape} {size}, {flutes}, {form.length(bit.stickout)} out of the collet"


def _point(step: Step) -> tuple[float, float, float]:
    return (step.x, step.y, step.z)


def _minutes(toolpath: Toolpath, scene: Scene) -> tuple[float, dict[str, float]]:
    """Minutes of the whole program and of each feature. Arcs count by chords of a tenth of a mm of error."""
    points: list[tuple[float, float, float]] = [(0.0, 0.0, scene.travel_height)]
    feeds: list[float] = []
    owner: list[int] = []
    names: list[str] = []
    for section in toolpath.sections:
        if section.feature not in names:
            names.append(section.feature)
        for x, y, z, feed in _timed(section, points[-1]):
            points.append((x, y, z))
            feeds.append(feed)
            owner.append(names.index(section.feature))
    seconds = travel_seconds(np.asarray(points), np.asarray(feeds), scene.machine)
    spent = np.bincount(np.asarray(owner), weights=seconds, minlength=len(names)) / 60
    return float(seconds.sum() + scene.machine.spindle.spin_up) / 60, dict(zip(names, spent.tolist(), strict=True))


def _timed(section: Section, start: tuple[float, float, float]) -> Iterator[tuple[float, float, float, float]]:
    at = start
    for step in section.steps:
        if isinstance(step, Arc):
            bulge = _bulge((at[0], at[1]), step)
            if bulge:
                inner = arc_chords(np.array(at[:2]), np.array([step.x, step.y]), bulge, 0.02)[1:]
                for i, (x, y) in enumerate(inner, 1):
                    yield float(x), float(y), at[2] + (step.z - at[2]) * i / (len(inner) + 1), step.feed
        yield step.x, step.y, step.z, math.inf if isinstance(step, Rapid) else step.feed
        at = _point(step)
