"""Toolpath to text: one conservative, commented program. The same job gives the same bytes.

The header says what the maker must know before pressing start; a comment stands before every feature and pass.
`docs/programs.md` describes the text. The reader shares nothing with this module.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from toolpaths.core.bit import Bit
from toolpaths.core.form import Form
from toolpaths.core.geometry import arc_chords
from toolpaths.core.machine import Spindle
from toolpaths.core.operation import Cutting
from toolpaths.core.program import Heading, Program, TouchOff
from toolpaths.core.scene import Scene
from toolpaths.core.toolarc import bulge_of, extremes
from toolpaths.core.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath
from toolpaths.trade.minutes import minutes_of

_SMALL_ARC = 0.05
"""Below this chord an arc is written as a straight cut, mm."""
_CAUTIONS = (
    "Caution: check units and zero, then run this program in the air first.",
    "Caution: clamps out of the path, extraction on, eyes, ears and lungs protected, no gloves.",
    "Caution: stay at the stop button. Mark the shank at the collet and look at it after the first pass.",
    "Caution: change bits only with the spindle isolated, and set Z again after each change.",
    "The machine's manual, the shop's rules and local law come before this program.",
)

_SENSITISES = "Caution: the dust of {} can sensitise skin and airways."
_LENGTHS = (
    "Caution: this program changes bits by itself. The controller must know the length of each and take it into "
    "account; Z is set for the first."
)


def write(toolpath: Toolpath, scene: Scene, heading: Heading) -> Program:
    """The program of one toolpath, judged by nobody yet."""
    cuttings = {o.feature: o.cutting for o in toolpath.batch.operations}
    text = _Text(Form(scene.machine), scene, heading, cuttings)
    minutes, by_feature = minutes_of(toolpath, scene)
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
        on_bed=toolpath.batch.on_bed,
    )


def touch_off(scene: Scene, planed: bool, on_bed: bool = False) -> TouchOff | None:
    """What the bit of the next program touches, and the Z entered then: a surface that still stands.

    `on_bed`: the work does not lie there yet.
    `planed`: whether an earlier program has taken this setup's top down to its finished face.
    """
    zero = scene.zero[2]
    if scene.setup.zero.z == "bed" or on_bed:
        return TouchOff("bed", 0.0 if zero == 0 else -zero)
    if planed and scene.face < scene.top:
        return TouchOff("planed face", scene.face - zero)
    return TouchOff("stock top", scene.top - zero)


@dataclass(slots=True)
class _Text:
    """Grows line by line; remembers what the controller already knows. Positions in output units."""

    form: Form
    scene: Scene
    heading: Heading
    cuttings: Mapping[str, Cutting]
    lines: list[str] = field(default_factory=list)
    x: float | None = None
    y: float | None = None
    z: float | None = None
    feed: str = ""
    rpm: float = 0.0
    bit: str = ""
    feature: str = ""

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
        turn, shift = scene.skew
        if scene.setup.skew is not None:
            self.tell(f"The blank lies askew: turned {math.degrees(turn):.3f} degrees, {form.length(shift)} aside.")
        if scene.flipped:
            self.tell("The work lies on its face, turned over about the centreline: the left end stays left.")
        if toolpath.batch.on_bed:
            self.tell("This program cuts the bare bed. Take the work off first.")
        if h.touch_off is not None:
            self.say(f"Touch off: {h.touch_off.surface}, Z {form.length(h.touch_off.z)}")
        for low, high, axis in zip(*self._box(toolpath), "XYZ", strict=True):
            self.say(f"Motion in {axis}: {form.length(low)} to {form.length(high)}")
        self.say(f"About {minutes:.1f} minutes, an estimate.")
        for keep in scene.setup.keep_out:
            self.tell(f"Keep clear: {keep.name}, up to {form.length(keep.height)} above the bed")
        wood = (_SENSITISES.format(scene.wood.name),) if scene.wood.sensitises else ()
        for caution in (*_CAUTIONS, *wood, *((_LENGTHS,) if len(toolpath.batch.bits) > 1 else ())):
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
        if section.feature != self.feature:
            self._reasons(section.feature)
            self.feature = section.feature
        self.say(f"Feature {section.feature}: {section.title}")
        for step in section.steps:
            self._step(step)

    def _reasons(self, feature: str) -> None:
        """How fast and how deep a feature is cut, and which limit decided.

        The sentences begin with the feature's name, in small letters: a reader that looks for words at a comment's
        beginning finds none of its own there.
        """
        cutting, form = self.cuttings.get(feature), self.form
        if cutting is None:
            return
        for key, value in (
            ("feed", f"feed {form.feed(cutting.feed)} {self.scene.machine.units}/min"),
            ("pass_depth", f"pass depth {form.length(cutting.pass_depth)}"),
        ):
            if key in cutting.reasons:
                self.tell(f"{feature}: {value}, limit: {cutting.reasons[key]}")

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
        form = self.form
        px, py = self._turned(x, y)
        return form.rounded(px), form.rounded(py), form.rounded(z - self.scene.zero[2] + self.heading.lift)

    def _turned(self, x: float, y: float) -> tuple[float, float]:
        """A place of the setup's frame in the program's coordinates, mm, as the blank lies askew."""
        zx, zy, _ = self.scene.zero
        turn, shift = self.scene.skew
        if turn == 0.0 and shift == 0.0:
            return x - zx, y - zy
        across = y - zy + shift
        return (
            (x - zx) * math.cos(turn) - across * math.sin(turn),
            (x - zx) * math.sin(turn) + across * math.cos(turn),
        )

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
        self._cut(f"G1{words}", feed)
        self.x, self.y, self.z = px, py, pz

    def _arc(self, step: Arc) -> None:
        """An arc where the machine takes it, chords within its tolerance where not."""
        if self.x is None or self.y is None or self.z is None:
            raise AssertionError("an arc before any position")
        x, y, z = self._place(step.x, step.y, step.z)
        chord = math.hypot(x - self.x, y - self.y) / self.form.scale
        moved = self._seen(step)
        words = None
        if self.scene.machine.arcs != "none" and chord >= _SMALL_ARC:
            words = self.form.centre_words((self.x, self.y), (x, y), moved)
        if words is None:
            self._chords(moved)
            return
        number = self.form.number
        height = f" Z{number(z)}" if z != self.z else ""
        arc = f"{'G3' if step.ccw else 'G2'} X{number(x)} Y{number(y)}{height} I{number(words[0])} J{number(words[1])}"
        if len(arc) > self.scene.machine.line_length:
            self._chords(moved)
            return
        self._cut(arc, step.feed)
        self.x, self.y, self.z = x, y, z

    def _seen(self, step: Arc) -> Arc:
        """The arc in the program's coordinates, mm."""
        x, y = self._turned(step.x, step.y)
        cx, cy = self._turned(step.cx, step.cy)
        z = step.z - self.scene.zero[2] + self.heading.lift
        return Arc(x, y, z, cx, cy, step.ccw, step.feed)

    def _chords(self, arc: Arc) -> None:
        """An arc in the program's coordinates as straight cuts; its ends are where they would have been."""
        if self.x is None or self.y is None or self.z is None:
            raise AssertionError("an arc before any position")
        form = self.form
        a = np.array([self.x, self.y]) / form.scale
        az = self.z / form.scale
        bulge = bulge_of((a[0], a[1]), arc)
        end = np.array([arc.x, arc.y])
        inner = arc_chords(a, end, bulge, self.scene.machine.chord_tolerance)[1:] if bulge else a[None, :][1:]
        for i, (x, y) in enumerate(inner, 1):
            z = az + (arc.z - az) * i / (len(inner) + 1)
            self._line(form.rounded(float(x)), form.rounded(float(y)), form.rounded(z), arc.feed)
        self._line(form.rounded(arc.x), form.rounded(arc.y), form.rounded(arc.z), arc.feed)

    def _cut(self, line: str, feed: float) -> None:
        """A line that cuts, with its feed where that is new; on a line before it where both are too long for one."""
        text = self.form.feed(feed)
        if text == self.feed:
            self.lines.append(line)
        elif len(line) + len(text) + 2 <= self.scene.machine.line_length:
            self.lines.append(f"{line} F{text}")
        else:
            self.lines += [f"F{text}", line]
        self.feed = text

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
        park = self.scene.machine.park
        points = [(park.x, park.y, self.scene.travel_height)]
        for step in (s for section in toolpath.sections for s in section.steps):
            # Between its ends an arc reaches as far as the circle does; `points` ends where it begins.
            points += [*extremes(points[-1], step), _point(step)] if isinstance(step, Arc) else [_point(step)]
        lift = self.heading.lift - self.scene.zero[2]
        array = np.asarray([(*self._turned(x, y), z + lift) for x, y, z in points])
        return array.min(axis=0).tolist(), array.max(axis=0).tolist()


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
