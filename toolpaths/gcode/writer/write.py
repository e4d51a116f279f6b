"""Toolpath to text: one conservative, commented program. The same job gives the same bytes.

The header says what the maker must know before pressing start; a comment stands before every feature and pass.
Where the machine takes no comments, the same words stand in a text of their own, each with the line it stands before.
`docs/programs.md` describes the text. The reader shares nothing with this module.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from toolpaths.common.units import in_units
from toolpaths.gcode.program import Heading, Program, TouchOff
from toolpaths.gcode.writer import comment_texts as texts
from toolpaths.gcode.writer.formatting import GcodeFormat
from toolpaths.gcode.writer.move_lines import MoveLines
from toolpaths.gcode.writer.operator_comments import (
    bit_words,
    blank_words,
    caution_words,
    changed_words,
    correction_words,
    holder_words,
    motion_words,
    pocket_words,
    program_words,
    reason_words,
    section_words,
    speed_words,
    touch_words,
)
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
        lie=toolpath.program_plan.lie,
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
            self.beside += [words.format(name=form.plain(h.name)) for words in texts.BESIDE]
        operations = toolpath.program_plan.operations
        self.tell(
            *program_words(h, job.title, context.setup.name, form),
            texts.MACHINE.format(name=context.machine.name),
            texts.TIME.format(minutes=minutes),
        )
        self.tell(*blank_words(context, self.on_bed, form))
        self.tell(*correction_words(context.machine, any(o.cutting.lines is not None for o in operations), form))
        self.tell(
            *dict.fromkeys(
                in_units(words, context.machine.units) for feature in context.setup.features for words in feature.says
            )
        )
        there = there_while(context.setup, {o.feature for o in operations}, self.on_bed)
        self.tell(*holder_words(context, there, form))
        bits = toolpath.program_plan.bits
        self.tell(*(bit_words(h.bit_numbers[name], name, context.bits[name], form) for name in bits))
        self.tell(*pocket_words(context.machine, bits))
        self.tell(*touch_words(context, h.touch_off, form))
        self.tell(motion_words(*self.moves.extent(toolpath), form))
        self.tell(*caution_words(context, len(bits)))

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
        cutting = self.cuttings.get((section.feature, section.bit))
        if (section.feature, section.bit) != self.feature:
            if cutting is not None:
                self.tell(*reason_words(section.feature, cutting, self.form))
            self.feature = (section.feature, section.bit)
        self.tell(section_words(section.feature, section.title))
        self.moves.steps(section.steps, () if cutting is None else cutting.feeds)

    def end(self) -> None:
        """Write the end: up, spindle off, to the parking place."""
        self.tell(texts.END)
        self.moves.up()
        self._stop_spindle()
        self.moves.park()
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
            self.tell(texts.SPINDLE_OFF)
            self.lines.append("M0")
        else:
            self.lines.append("M5")
