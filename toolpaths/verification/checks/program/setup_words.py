"""Are units, plane, distance mode and offset set before the first move, and kept?

Before the first move: units, plane G17, absolute distances, the setup's offset. None of them is changed
afterwards, but for the plane where the machine takes arcs in all of them. Arcs, T words, M6, comments and long
lines only where the machine file says that its controller takes them; line numbers and % where it wants them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from toolpaths.gcode.reader.trace import ARC_CW, PLANE_AXES, Event
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Cause, Finding
from toolpaths.verification.trace_queries import at_line, at_move
from toolpaths.verification.wording import controller as wording
from toolpaths.verification.wording.message import Message

_CODE = "setup-words"
_PLANES = ("G17", "G18", "G19")
_UNITS = ("G20", "G21")
_DISTANCE = ("G90", "G91")
_COMMENT = re.compile(r"\([^()]*\)")


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `setup-words`."""
    return [
        *_units(inputs),
        *_offset(inputs),
        *_modes(inputs),
        *_arcs(inputs),
        *_radii(inputs),
        *_changes(inputs),
        *_lines(inputs),
        *_percent(inputs),
    ]


def _units(inputs: CheckInput) -> Iterator[Finding]:
    wanted = "G20" if inputs.machine.units == "in" else "G21"
    yield from _missing(inputs, _UNITS, Cause.units, wording.no_units(wanted))
    for event in _words(inputs, _UNITS):
        if event.word != wanted:
            yield at_line(inputs, _CODE, wording.other_units(event.word, wanted), event.line, Cause.units)


def _offset(inputs: CheckInput) -> Iterator[Finding]:
    wanted, trace = inputs.context.setup.offset, inputs.trace
    given = [e for e in trace.events if e.word.startswith(("G54", "G55", "G56", "G57", "G58", "G59"))]
    if not any(e.before == 0 for e in given):
        yield at_line(inputs, _CODE, wording.no_offset(wanted), _first_move(inputs), Cause.offset)
    for event in given:
        if event.word != wanted:
            message = wording.other_offset(event.word, wanted, inputs.context.setup.name)
            yield at_line(inputs, _CODE, message, event.line, Cause.offset)


def _modes(inputs: CheckInput) -> Iterator[Finding]:
    yield from _missing(inputs, _PLANES, Cause.plane, wording.NO_PLANE)
    yield from _missing(inputs, _DISTANCE, Cause.distance, wording.NO_DISTANCE)
    anywhere = inputs.machine.arcs == "all planes"
    for event in _words(inputs, _PLANES):
        if event.word != "G17" and (event.before == 0 or not anywhere):
            message = wording.upright_plane(event.word, anywhere)
            yield at_line(inputs, _CODE, message, event.line, Cause.plane)
    for event in _words(inputs, ("G91",)):
        yield at_line(inputs, _CODE, wording.STEPS, event.line, Cause.distance)


def _arcs(inputs: CheckInput) -> Iterator[Finding]:
    trace, takes = inputs.trace, inputs.machine.arcs
    arcs = trace.kind >= ARC_CW
    if takes == "xy":
        arcs &= trace.plane != 17
    wrong = np.nonzero(arcs)[0] if takes != "all planes" else np.empty(0, dtype=np.int64)
    if len(wrong):
        yield at_move(inputs, _CODE, wording.arcs_refused(len(wrong), takes != "none"), int(wrong[0]))


def _radii(inputs: CheckInput) -> Iterator[Finding]:
    """Arcs again as a controller sees them that keeps each number, in mm, in 32 bits (IEEE 754 binary32)."""
    if inputs.machine.precision == "double":
        return
    trace, units = inputs.as_written, inputs.job.units
    for plane, (a, b, _) in PLANE_AXES.items():
        arcs = np.nonzero((trace.kind >= ARC_CW) & (trace.plane == plane))[0]
        start, end, centre = (array[arcs][:, [a, b]] for array in (trace.start, trace.end, trace.centre))
        offset = (centre - start).astype(np.float32)
        seen = start.astype(np.float32) + offset
        first, last = np.hypot(*offset.T), np.hypot(*(end.astype(np.float32) - seen).T)
        apart = np.abs(first.astype(np.float64) - last)
        # In a program in inches the standard allows 0.0002 in: NISTIR 6556, 3.5.3.2.
        most = 0.0002 * 25.4 if inputs.machine.units == "in" else 0.002
        wrong = np.nonzero(apart > most)[0]
        if len(wrong):
            message = wording.arc_too_coarse(float(apart[wrong[0]]), most, len(wrong), units)
            yield at_move(inputs, _CODE, message, int(arcs[wrong[0]]))


def _changes(inputs: CheckInput) -> Iterator[Finding]:
    machine = inputs.machine
    for event in _words(inputs, () if machine.t_word else ("T",)):
        yield at_line(inputs, _CODE, wording.t_refused(event.value), event.line)
    for event in _words(inputs, () if machine.tool_change == "automatic" else ("M6",)):
        yield at_line(inputs, _CODE, wording.BIT_CHANGE_REFUSED, event.line)


def _lines(inputs: CheckInput) -> Iterator[Finding]:
    """The first line that is too long, holds a comment where none is taken, or lacks a number where one is wanted."""
    machine = inputs.machine
    lines = list(enumerate(inputs.program.text.splitlines(), 1))
    long = [i for i, line in lines if len(line) > machine.line_length]
    if long:
        message = wording.line_too_long(len(lines[long[0] - 1][1]), machine.line_length, len(long))
        yield at_line(inputs, _CODE, message, long[0])
    comments = [i for i, line in lines if "(" in line]
    if comments and not machine.comments:
        yield at_line(inputs, _CODE, wording.comments_refused(len(comments)), comments[0])
    commands = [(i, _COMMENT.sub("", line).strip()) for i, line in lines]
    bare = [i for i, line in commands if line and line != "%" and line[0] not in "Nn"]
    if bare and machine.line_numbers:
        yield at_line(inputs, _CODE, wording.no_line_number(len(bare)), bare[0])


def _percent(inputs: CheckInput) -> Iterator[Finding]:
    if not inputs.machine.percent_lines:
        return
    lines = [line.strip() for line in inputs.program.text.splitlines()]
    if "%" not in lines:
        yield at_line(inputs, _CODE, wording.NO_PERCENT)
    elif lines[0] != "%":
        yield at_line(inputs, _CODE, wording.BEFORE_PERCENT, 1)


def _words(inputs: CheckInput, words: tuple[str, ...]) -> list[Event]:
    return [e for e in inputs.trace.events if e.word in words]


def _missing(inputs: CheckInput, words: tuple[str, ...], cause: Cause, message: Message) -> Iterator[Finding]:
    """A finding unless one of the words stands before the first move."""
    if not any(e.before == 0 for e in _words(inputs, words)):
        yield at_line(inputs, _CODE, message, _first_move(inputs), cause)


def _first_move(inputs: CheckInput) -> int:
    """Line of the first move; 0 where there is none."""
    return int(inputs.trace.line[0]) if len(inputs.trace) else 0
