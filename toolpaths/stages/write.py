"""Toolpath to text: one conservative, commented program. The same job gives the same bytes.

The header says what the maker must know before pressing start; a comment stands before every feature and pass.
Where the machine takes no comments, the same words stand in a text of their own, each with the line it stands before.
`docs/programs.md` describes the text. The reader shares nothing with this module.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from toolpaths.core.form import Form
from toolpaths.core.geometry import arc_chords
from toolpaths.core.operation import Cutting, Raster
from toolpaths.core.program import Heading, Program, TouchOff
from toolpaths.core.saying import (
    CAUTIONS,
    LENGTHS,
    SENSITISES,
    bit_words,
    changed_words,
    correction_words,
    lying_words,
    sitting_words,
    speed_words,
)
from toolpaths.core.scene import Scene
from toolpaths.core.toolarc import bulge_of, extremes
from toolpaths.core.toolpath import Arc, Feed, Rapid, Section, Step, Toolpath
from toolpaths.core.upright import UprightArc, with_uprights
from toolpaths.trade.minutes import minutes_of

_SMALL_ARC = 0.05
"""Below this chord an arc is written as a straight cut, mm."""


def write(toolpath: Toolpath, scene: Scene, heading: Heading) -> Program:
    """The program of one toolpath, judged by nobody yet."""
    cuttings = {(o.feature, o.bit): o.cutting for o in toolpath.batch.operations}
    text = _Text(Form(scene.machine), scene, heading, cuttings, on_bed=toolpath.batch.on_bed)
    text.planed = heading.touch_off is not None and heading.touch_off.surface == "planed face"
    planing = {o.feature for o in toolpath.batch.operations if isinstance(o, Raster) and o.floor <= scene.face}
    minutes, by_feature = minutes_of(toolpath, scene)
    text.header(toolpath, minutes)
    text.begin(toolpath)
    for section in toolpath.sections:
        text.section(section)
        text.planed |= section.feature in planing
    text.end()
    return Program(
        name=heading.name,
        text="\n".join(text.form.numbered(text.lines)) + "\n",
        setup=scene.setup.name,
        bits=toolpath.batch.bits,
        number=heading.number,
        count=heading.count,
        minutes=minutes,
        touch_off=heading.touch_off,
        feature_minutes=by_feature,
        on_bed=toolpath.batch.on_bed,
        session=0 if heading.sitting is None else heading.sitting.number,
        beside="".join(f"{line}\n" for line in text.beside),
    )


def touch_off(scene: Scene, planed: bool, on_bed: bool = False) -> TouchOff | None:
    """What the bit of the next program touches, and the Z entered then: a surface that still stands.

    `on_bed`: the work does not lie there yet.
    `planed`: whether an earlier program has taken this setup's top down to its finished face.
    """
    zero, by = scene.zero[2], scene.machine.correction[2]
    if scene.setup.zero.z == "bed" or on_bed:
        return TouchOff("bed", 0.0 if zero == 0 else -zero * by)
    if planed and scene.face < scene.top:
        return TouchOff("planed face", (scene.face - zero) * by)
    return TouchOff("stock top", (scene.top - zero) * by)


@dataclass(slots=True)
class _Text:
    """Grows line by line; remembers what the controller already knows. Positions in output units."""

    form: Form
    scene: Scene
    heading: Heading
    cuttings: Mapping[tuple[str, str], Cutting]
    lines: list[str] = field(default_factory=list)
    beside: list[str] = field(default_factory=list)
    plane: int = 17
    x: float | None = None
    y: float | None = None
    z: float | None = None
    feed: str = ""
    rpm: float = 0.0
    bit: str = ""
    feature: tuple[str, str] = ("", "")
    at: tuple[float, float, float] | None = None
    planed: bool = False
    on_bed: bool = False

    def say(self, text: str) -> None:
        """A comment of one line, cut where it is too long, where the machine takes comments."""
        if self.scene.machine.comments:
            self.lines.append(self.form.comment(text))
        else:
            self._note(text)

    def tell(self, sentence: str) -> None:
        """A comment over as many lines as it takes."""
        if self.scene.machine.comments:
            self.lines += self.form.comments(sentence)
        else:
            self._note(sentence)

    def _note(self, text: str) -> None:
        """Words for the file beside, with the line of the program that they stand before."""
        self.beside.append(f"{len(self.lines) + 1}: {self.form.plain(text)}")

    def header(self, toolpath: Toolpath, minutes: float) -> None:
        """Everything to know before the start."""
        h, scene, job, form = self.heading, self.scene, self.scene.job, self.form
        if scene.machine.percent_lines:
            self.lines.append("%")
        if not scene.machine.comments:
            self.beside += [
                f"# What {form.plain(h.name)} has to say. The controller takes no comments, so it stands here.",
                "# Keep this file beside the program. Each number is the line of it that the words stand before.",
            ]
        self.say(f"Title: {job.title}")
        self.say(f"neckpath {h.version}, job {h.job_hash}")
        self.say(f"Program {h.number} of {h.count}, setup {scene.setup.name}")
        for sentence in sitting_words(h.sitting):
            self.tell(sentence)
        for change in h.altered:
            self.tell(f"Altered: {change}")
        for accepted in h.accepted:
            self.tell(f"Let pass by the maker: {accepted}")
        if h.lift:
            self.say(f"Lifted: {form.length(h.lift)}")
            self.tell("This program runs in the air: it touches nothing.")
        self.say(f"Machine: {scene.machine.name}")
        for name in toolpath.batch.bits:
            self.tell(bit_words(h.bit_numbers[name], name, scene.bits[name], form))
        x0, y0, x1, y1 = scene.stock_box
        stock = scene.stock.thickness
        thick = form.length(stock.max)
        if stock.min < stock.max:
            thick = f"{form.length(stock.min)} to {thick}"
        self.tell(f"Stock: {scene.wood.name}, {form.length(x1 - x0)} x {form.length(y1 - y0)} x {thick}")
        zero = scene.setup.zero
        self.tell(f"Zero: X at the {zero.x}, Y at the {zero.y}, Z at the {zero.z}, offset {scene.setup.offset}")
        for sentence in lying_words(scene, form.length):
            self.tell(sentence)
        turn, shift = scene.skew
        if scene.setup.skew is not None:
            self.tell(f"The blank lies askew: turned {math.degrees(turn):.3f} degrees, {form.length(shift)} aside.")
        for sentence in correction_words(scene.machine, form):
            self.tell(sentence)
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
        wood = (SENSITISES.format(scene.wood.name),) if scene.wood.sensitises else ()
        for caution in (*CAUTIONS, *wood, *((LENGTHS,) if len(toolpath.batch.bits) > 1 else ())):
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
        if (section.feature, section.bit) != self.feature:
            self._reasons(section.feature, section.bit)
            self.feature = (section.feature, section.bit)
        self.say(f"Feature {section.feature}: {section.title}")
        for step in self._shaped(section.steps):
            self._step(step)
        self._in_plane(17)

    def _shaped(self, steps: tuple[Step, ...]) -> Iterable[Step | UprightArc]:
        """The steps, with upright arcs found again where this machine takes them in all planes."""
        machine = self.scene.machine
        # Turned about Z nothing runs along an axis any more, and an arc that is corrected unevenly is none.
        if machine.arcs != "all planes" or self.scene.skew[0] != 0.0:
            return steps
        axes = [axis for axis in (0, 1) if machine.correction[axis] == machine.correction[2]]
        return with_uprights(steps, self.at, axes)

    def _reasons(self, feature: str, bit: str) -> None:
        """How fast and how deep a feature is cut, and which limit decided.

        The sentences begin with the feature's name, in small letters: a reader that looks for words at a comment's
        beginning finds none of its own there.
        """
        cutting, form = self.cuttings.get((feature, bit)), self.form
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
        if self.scene.machine.percent_lines:
            self.lines.append("%")

    # Moves

    def _step(self, step: Step | UprightArc) -> None:
        self.at = (step.x, step.y, step.z)
        match step:
            case UprightArc():
                self._upright(step)
            case Rapid():
                self._rapid(step)
            case Feed():
                self._straight(step.x, step.y, step.z, step.feed)
            case Arc():
                self._arc(step)

    def _place(self, x: float, y: float, z: float) -> tuple[float, float, float]:
        """A place of the setup's frame in the program's coordinates, output units, rounded."""
        px, py = self._turned(x, y)
        return self._rounded(px, py, z - self.scene.zero[2] + self.heading.lift)

    def _rounded(self, x: float, y: float, z: float) -> tuple[float, float, float]:
        """True program coordinates (mm) as this machine must be told them, output units, rounded."""
        (fx, fy, fz), form = self.scene.machine.correction, self.form
        return form.rounded(x * fx), form.rounded(y * fy), form.rounded(z * fz)

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
        machine = self.scene.machine
        if machine.arcs != "none" and machine.keeps_circles and chord >= _SMALL_ARC:
            by = machine.correction[0]
            told = replace(moved, x=moved.x * by, y=moved.y * by, cx=moved.cx * by, cy=moved.cy * by)
            words = self.form.centre_words((self.x, self.y), (x, y), told)
        if words is None:
            self._chords(moved)
            return
        number = self.form.number
        height = f" Z{number(z)}" if z != self.z else ""
        arc = f"{'G3' if step.ccw else 'G2'} X{number(x)} Y{number(y)}{height} I{number(words[0])} J{number(words[1])}"
        if len(arc) > self.form.width:
            self._chords(moved)
            return
        self._in_plane(17)
        self._cut(arc, step.feed)
        self.x, self.y, self.z = x, y, z

    def _upright(self, arc: UprightArc) -> None:
        """An arc in the plane of Z and a level axis; the straight cuts where its radii would not agree in the text."""
        here = (self.x, self.y)[arc.axis]
        x, y, z = self._place(arc.x, arc.y, arc.z)
        end, by = (x, y)[arc.axis], self.scene.machine.correction[2]
        words = None
        if here is not None and self.z is not None and abs(end - here) >= _SMALL_ARC * self.form.scale:
            px, py = self._turned(*((arc.along, arc.y) if arc.axis == 0 else (arc.x, arc.along)))
            up = arc.up - self.scene.zero[2] + self.heading.lift
            centre = Arc(0.0, 0.0, 0.0, (px, py)[arc.axis] * by, up * by, arc.left, arc.feed)
            words = self.form.centre_words((here, self.z), (end, z), centre)
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
        self._cut(text, arc.feed)
        self.x, self.y, self.z = x, y, z

    def _in_plane(self, plane: int) -> None:
        """The plane of the arcs that come, where it is another than before."""
        if plane != self.plane:
            self.lines.append(f"G{plane}")
            self.plane = plane

    def _seen(self, step: Arc) -> Arc:
        """The arc in the program's true coordinates, mm."""
        x, y = self._turned(step.x, step.y)
        cx, cy = self._turned(step.cx, step.cy)
        z = step.z - self.scene.zero[2] + self.heading.lift
        return Arc(x, y, z, cx, cy, step.ccw, step.feed)

    def _chords(self, arc: Arc) -> None:
        """An arc in the program's true coordinates as straight cuts; its ends are where they would have been."""
        if self.x is None or self.y is None or self.z is None:
            raise AssertionError("an arc before any position")
        machine, scale = self.scene.machine, self.form.scale
        a = np.array([self.x, self.y]) / scale / np.array(machine.correction[:2])
        az = self.z / scale / machine.correction[2]
        bulge = bulge_of((a[0], a[1]), arc)
        end = np.array([arc.x, arc.y])
        inner = arc_chords(a, end, bulge, machine.chord_tolerance)[1:] if bulge else a[None, :][1:]
        for i, (x, y) in enumerate(inner, 1):
            z = az + (arc.z - az) * i / (len(inner) + 1)
            self._line(*self._rounded(float(x), float(y), z), arc.feed)
        self._line(*self._rounded(arc.x, arc.y, arc.z), arc.feed)

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

    # Bit and spindle

    def _up(self) -> None:
        z = self._place(0, 0, self.scene.travel_height)[2]
        if self.z is None or self.z < z:
            self.lines.append(f"G0 Z{self.form.number(z)}")
            self.z = z

    def _change_bit(self, name: str, rpm: float) -> None:
        machine, number = self.scene.machine, self.heading.bit_numbers[name]
        if self.bit or machine.tool_change == "by hand":
            # Before its first change a changer may hold any bit: no height is true with that.
            self._up()
        if name != self.bit:
            announced = bit_words(number, name, self.scene.bits[name], self.form)
            if self.bit or not machine.t_word:
                self.tell(announced)
            if machine.t_word:
                self.lines.append(f"T{number}" + (" M6" if machine.tool_change == "automatic" else ""))
            if machine.tool_change == "automatic":
                self.tell(changed_words(touch_off(self.scene, self.planed, self.on_bed), self.form))
                self.lines.append("M0")
                # The change may have moved every axis.
                self.x = self.y = self.z = None
                self._up()
            self.bit = name
        self.rpm = rpm
        spindle = machine.spindle
        if spindle.dial or spindle.set_by == "hand":
            self.tell(speed_words(rpm, spindle))
            self.lines.append("M0")
        if spindle.set_by != "hand":
            # With a relay the S sets nothing, but some controllers do not switch on without one.
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
        array = np.asarray([(*self._turned(x, y), z + lift) for x, y, z in points]) * self.scene.machine.correction
        return array.min(axis=0).tolist(), array.max(axis=0).tolist()


def _point(step: Step) -> tuple[float, float, float]:
    return (step.x, step.y, step.z)
