"""Toolpath to text: one conservative, commented program. The same job gives the same bytes.

The header says what the maker must know before pressing start; a comment stands before every feature and pass.
Where the machine takes no comments, the same words stand in a text of their own, each with the line it stands before.
`docs/programs.md` describes the text. The reader shares nothing with this module.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from toolpaths.gcode.program import Heading, Program, TouchOff
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.gcode.writer.move_lines import MoveLines
from toolpaths.gcode.writer.operator_comments import (
    CAUTIONS,
    LENGTHS,
    SENSITISES,
    bit_words,
    changed_words,
    correction_words,
    holder_words,
    jig_words,
    lying_words,
    pocket_words,
    session_words,
    speed_words,
    top_words,
)
from toolpaths.instrument.fans import nut_front
from toolpaths.job.obstacles import there_while
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Cutting, Raster
from toolpaths.toolpath.time_estimate import minutes_of
from toolpaths.toolpath.toolpath import Section, Toolpath


def write(toolpath: Toolpath, context: SetupContext, heading: Heading) -> Program:
    """The program of one toolpath, not yet verified."""
    cuttings = {(o.feature, o.bit): o.cutting for o in toolpath.program_plan.operations}
    form = GcodeFormat(context.machine)
    moves = MoveLines(form, context, heading.lift)
    text = _Text(form, context, heading, cuttings, moves, moves.lines, on_bed=toolpath.program_plan.on_bed)
    text.planed = heading.touch_off is not None and heading.touch_off.surface == "planed face"
    planing = {o.feature for o in toolpath.program_plan.operations if isinstance(o, Raster) and o.floor <= context.face}
    minutes, by_feature = minutes_of(toolpath, context)
    text.header(toolpath, minutes)
    text.begin(toolpath)
    for section in toolpath.sections:
        text.section(section)
        text.planed |= section.feature in planing
    text.end()
    return Program(
        name=heading.name,
        text="\n".join(text.form.numbered(text.lines)) + "\n",
        setup=context.setup.name,
        bits=toolpath.program_plan.bits,
        number=heading.number,
        count=heading.count,
        minutes=minutes,
        touch_off=heading.touch_off,
        feature_minutes=by_feature,
        on_bed=toolpath.program_plan.on_bed,
        session=0 if heading.booked is None else heading.booked.number,
        beside="".join(f"{line}\n" for line in text.beside),
    )


def touch_off(context: SetupContext, planed: bool, on_bed: bool = False) -> TouchOff | None:
    """What the bit of the next program touches, and the Z entered then: a surface that still stands.

    `on_bed`: the work does not lie there yet.
    `planed`: whether an earlier program has taken this setup's top down to its finished face.
    """
    zero, by = context.zero[2], context.machine.correction[2]
    if context.jig is not None:
        return TouchOff("top of the jig", (context.jig_top - zero) * by + 0.0)
    if context.setup.zero.z == "bed" or on_bed:
        return TouchOff("bed", (context.bed - zero) * by + 0.0)
    if planed and context.face < context.top:
        return TouchOff("planed face", (context.face - zero) * by)
    return TouchOff("stock top", (context.touch_top - zero) * by)


@dataclass(slots=True)
class _Text:
    """The program's text, built line by line. `lines` are those that `moves` appends to."""

    form: GcodeFormat
    context: SetupContext
    heading: Heading
    cuttings: Mapping[tuple[str, str], Cutting]
    moves: MoveLines
    lines: list[str]
    beside: list[str] = field(default_factory=list)
    rpm: float = 0.0
    bit: str = ""
    feature: tuple[str, str] = ("", "")
    planed: bool = False
    on_bed: bool = False

    def say(self, text: str) -> None:
        """A comment of one line, cut where it is too long, where the machine takes comments."""
        if self.context.machine.comments:
            self.lines.append(self.form.comment(text))
        else:
            self._note(text)

    def tell(self, *sentences: str) -> None:
        """A comment for each sentence, over as many lines as it takes."""
        for sentence in sentences:
            if self.context.machine.comments:
                self.lines += self.form.comments(sentence)
            else:
                self._note(sentence)

    def _note(self, text: str) -> None:
        """Add words to the file beside the program, with the number of the line that they belong before."""
        self.beside.append(f"{len(self.lines) + 1}: {self.form.plain(text)}")

    def header(self, toolpath: Toolpath, minutes: float) -> None:
        """Write the header: all that the operator must know before the start."""
        h, context, job, form = self.heading, self.context, self.context.job, self.form
        if context.machine.percent_lines:
            self.lines.append("%")
        if not context.machine.comments:
            self.beside += [
                f"# What {form.plain(h.name)} has to say. The controller takes no comments, so it stands here.",
                "# Keep this file beside the program. Each number is the line of it that the words stand before.",
            ]
        self.say(f"Title: {job.title}")
        self.say(f"neckpath {h.version}, job {h.job_hash}")
        self.tell(f"Program {h.number} of {h.count}, setup {context.setup.name}")
        self.tell(*session_words(h.booked))
        self.tell(*(f"Altered: {change}" for change in h.altered))
        self.tell(*(f"Found: {words}." for words in h.found))
        for code, _, feature in (accepted.partition("@") for accepted in h.accepted):
            self.tell(f"Accepted despite a stop: {code} of {feature}")
        if h.lift:
            self.say(f"Lifted: {form.entered(h.lift)}")
            self.tell("This program runs in the air: it touches nothing.")
        self.say(f"Machine: {context.machine.name}")
        for name in toolpath.program_plan.bits:
            self.tell(bit_words(h.bit_numbers[name], name, context.bits[name], form))
        self.tell(*pocket_words(context.machine, toolpath.program_plan.bits))
        x0, y0, x1, y1 = context.stock_box
        stock = context.stock.thickness
        thick = form.length(stock.max)
        if stock.min < stock.max:
            thick = f"{form.length(stock.min)} to {thick}"
        self.tell(f"Stock: {context.wood.name}, {form.length(x1 - x0)} x {form.length(y1 - y0)} x {thick}")
        zero = context.setup.zero
        self.tell(f"Zero: X at the {zero.x}, Y at the {zero.y}, Z at the {zero.z}, offset {context.setup.offset}")
        self.tell(*jig_words(context))
        self.tell(*lying_words(context, form.length))
        self.tell(*dict.fromkeys(words for feature in context.setup.features for words in feature.says))
        front = nut_front(job.instrument)
        if (front.x or front.lean) and not context.apart:
            self.tell("X is counted from where the nut line crosses the centreline.")
            self.tell(f"The front of the nut is at X {form.length(front.x)} there.")
        turn, shift = context.skew
        if context.setup.skew is not None:
            self.tell(f"The blank lies askew: turned {math.degrees(turn):.3f} degrees, {form.length(shift)} aside.")
        self.tell(*correction_words(context.machine, form))
        if context.flipped:
            self.tell("The blank lies face down, turned over about the centreline: the left end stays left.")
        if toolpath.program_plan.on_bed:
            self.tell("This program cuts the bare bed. Take the blank off first.")
        if h.touch_off is not None:
            self.tell(*top_words(context, form))
            self.say(f"Touch off: {h.touch_off.surface}, Z {form.entered(h.touch_off.z)}")
        for low, high, axis in zip(*self.moves.extent(toolpath), "XYZ", strict=True):
            self.say(f"Motion in {axis}: {form.length(low)} to {form.length(high)}")
        self.say(f"About {minutes:.1f} minutes, an estimate.")
        if context.setup.under_thickness:
            self.tell(f"Between bed and blank: {form.length(context.setup.under_thickness)}, and Z counts with it.")
        cut = {o.feature for o in toolpath.program_plan.operations}
        self.tell(*holder_words(context, there_while(context.setup, cut, self.on_bed), form.length))
        wood = (SENSITISES.format(context.wood.name),) if context.wood.sensitises else ()
        self.tell(*CAUTIONS, *wood, *((LENGTHS,) if len(toolpath.program_plan.bits) > 1 else ()))

    def begin(self, toolpath: Toolpath) -> None:
        """Units and modes, the bit, up to the safe height, the spindle on and up to speed."""
        machine = self.context.machine
        self.lines += ["G21" if machine.units == "mm" else "G20", "G17 G90 G94", self.context.setup.offset]
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
        cutting = self.cuttings.get((section.feature, section.bit))
        self.moves.steps(section.steps, () if cutting is None else cutting.feeds)

    def _reasons(self, feature: str, bit: str) -> None:
        """How fast and how deep a feature is cut, and which limit decided.

        The sentences begin with the feature's name, in small letters: a reader that looks for words at a comment's
        beginning finds none of its own there.
        """
        cutting, form = self.cuttings.get((feature, bit)), self.form
        if cutting is None:
            return
        for key, value in (
            ("feed", f"feed {form.feed(cutting.feed)} {self.context.machine.units}/min"),
            ("pass_depth", f"pass depth {form.length(cutting.pass_depth)}"),
        ):
            if key in cutting.reasons:
                self.tell(f"{feature}: {value}, limit: {cutting.reasons[key]}")
        if cutting.lines is not None and "direction" in cutting.reasons:
            self.tell(f"{feature}: levels {cutting.lines}: {cutting.reasons['direction']}")
        if cutting.safety is not None:
            self.tell(
                f"{feature}: the bit would break at about {cutting.safety:.0f} times the load expected, an estimate"
            )

    def end(self) -> None:
        """Write the end: up, spindle off, to the parking place."""
        park = self.context.machine.park
        self.say("Done: up, spindle off, to the parking place.")
        self.moves.up()
        self._stop_spindle()
        self.moves.to(park.x, park.y)
        self.lines.append("M30")
        if self.context.machine.percent_lines:
            self.lines.append("%")

    # Bit and spindle

    def _change_bit(self, name: str, rpm: float) -> None:
        machine, number = self.context.machine, self.heading.bit_numbers[name]
        if self.bit or machine.tool_change == "by hand":
            # Before its first change a changer may hold any bit: no height is true with that.
            self.moves.up()
        if name != self.bit:
            announced = bit_words(number, name, self.context.bits[name], self.form)
            if self.bit or not machine.t_word:
                self.tell(announced)
            if machine.t_word:
                self.lines.append(f"T{number}" + (" M6" if machine.tool_change == "automatic" else ""))
            if machine.tool_change == "automatic":
                self.tell(changed_words(touch_off(self.context, self.planed, self.on_bed), self.form))
                self.lines.append("M0")
                self.moves.forget()
                self.moves.up()
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
        self.moves.up()
        if self.context.machine.spindle.set_by == "hand":
            self.say("Switch the spindle off by hand. Then go on.")
            self.lines.append("M0")
        else:
            self.lines.append("M5")
