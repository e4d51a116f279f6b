"""Are units, plane, distance mode and offset set before the first move, and kept?

Before the first move: units, plane G17, absolute distances, the setup's offset. None of them is changed
afterwards, but for the plane where the machine takes arcs in all of them. Arcs, T words, M6, comments and long
lines only where the machine file says that its controller takes them; line numbers and % where it wants them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from toolpaths.common.units import show
from toolpaths.gcode.reader.trace import ARC_CW, PLANE_AXES, Event
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Cause, Finding
from toolpaths.verification.trace_queries import at_line, at_move

_CODE = "setup-words"
_WORDS = {"G20": "inches", "G21": "millimetres"}
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
    why = f"{inputs.machine.name} is told in {_WORDS[wanted]}"
    missing = f"no units are set before the first move; {why}: begin with {wanted}"
    yield from _missing(inputs, _UNITS, Cause.units, missing)
    for event in _words(inputs, _UNITS):
        if event.word != wanted:
            wrong = f"{event.word} sets {_WORDS[event.word]}, but {why}; every length would be 25.4 times wrong"
            yield at_line(inputs, _CODE, f"{wrong}: use {wanted}", event.line, Cause.units)


def _offset(inputs: CheckInput) -> Iterator[Finding]:
    wanted, trace = inputs.context.setup.offset, inputs.trace
    given = [e for e in trace.events if e.word.startswith(("G54", "G55", "G56", "G57", "G58", "G59"))]
    if not any(e.before == 0 for e in given):
        missing = f"no offset is commanded before the first move, so an earlier one may still hold; put {wanted} there"
        yield at_line(inputs, _CODE, missing, _first_move(inputs), Cause.offset)
    for event in given:
        if event.word != wanted:
            wrong = f"offset {event.word} is commanded, but setup {inputs.context.setup.name} was zeroed in {wanted}"
            yield at_line(inputs, _CODE, f"{wrong}; use {wanted}", event.line, Cause.offset)


def _modes(inputs: CheckInput) -> Iterator[Finding]:
    missing = "no plane is set before the first move, so an earlier one may still hold; put G17 there"
    yield from _missing(inputs, _PLANES, Cause.plane, missing)
    missing = "absolute distances are not set before the first move, so every coordinate may be taken as a step"
    yield from _missing(inputs, _DISTANCE, Cause.distance, f"{missing}; put G90 there")
    anywhere = inputs.machine.arcs == "all planes"
    for event in _words(inputs, _PLANES):
        if event.word != "G17" and (event.before == 0 or not anywhere):
            allowed = "begin in G17" if anywhere else f"arcs on {inputs.machine.name} lie level: keep to G17"
            message = f"{event.word} turns to an upright plane; {allowed}"
            yield at_line(inputs, _CODE, message, event.line, Cause.plane)
    for event in _words(inputs, ("G91",)):
        message = "G91 makes every coordinate after it a step from the last; keep to G90"
        yield at_line(inputs, _CODE, message, event.line, Cause.distance)


def _arcs(inputs: CheckInput) -> Iterator[Finding]:
    trace, takes = inputs.trace, inputs.machine.arcs
    arcs = trace.kind >= ARC_CW
    if takes == "xy":
        arcs &= trace.plane != 17
    wrong = np.nonzero(arcs)[0] if takes != "all planes" else np.empty(0, dtype=np.int64)
    if len(wrong):
        what = "takes no arcs" if takes == "none" else "takes arcs in the level plane G17 only"
        has = f"{inputs.machine.name} {what}, and the program has {_times(len(wrong))}"
        yield at_move(inputs, _CODE, f"{has}; write short straight moves instead", int(wrong[0]))


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
        wrong = np.nonzero(apart > (0.0002 * 25.4 if inputs.machine.units == "in" else 0.002))[0]
        if len(wrong):
            radius, off = float(first[wrong[0]]), float(apart[wrong[0]])
            message = (
                f"{inputs.machine.name} computes in single precision, where this arc's radius of "
                f"{show(radius, units, 0)} differs by {show(off, units, 4)} between its start and its end, so it "
                f"would be refused ({_times(len(wrong))}); write short straight moves instead"
            )
            yield at_move(inputs, _CODE, message, int(arcs[wrong[0]]))


def _changes(inputs: CheckInput) -> Iterator[Finding]:
    machine = inputs.machine
    for event in _words(inputs, () if machine.t_word else ("T",)):
        message = f"T{event.value:g}: the controller of {machine.name} takes no T word; name the bit in a comment"
        yield at_line(inputs, _CODE, message, event.line)
    for event in _words(inputs, () if machine.tool_change == "automatic" else ("M6",)):
        message = f"M6 asks {machine.name} to change the bit, but there it is changed by hand"
        yield at_line(inputs, _CODE, f"{message}; give each bit its own program", event.line)


def _lines(inputs: CheckInput) -> Iterator[Finding]:
    """The first line that is too long, holds a comment where none is taken, or lacks a number where one is wanted."""
    machine = inputs.machine
    lines = list(enumerate(inputs.program.text.splitlines(), 1))
    long = [i for i, line in lines if len(line) > machine.line_length]
    if long:
        count, has = _times(len(long), "line"), f"the line has {len(lines[long[0] - 1][1])} characters"
        message = f"{has} and {machine.name} reads {machine.line_length}: the rest would be lost ({count}); shorten it"
        yield at_line(inputs, _CODE, message, long[0])
    comments = [i for i, line in lines if "(" in line]
    if comments and not machine.comments:
        message = f"a comment, and the controller of {machine.name} takes none ({_times(len(comments), 'line')})"
        yield at_line(inputs, _CODE, f"{message}; its words belong into the file beside the program", comments[0])
    commands = [(i, _COMMENT.sub("", line).strip()) for i, line in lines]
    bare = [i for i, line in commands if line and line != "%" and line[0] not in "Nn"]
    if bare and machine.line_numbers:
        message = f"{machine.name} wants a number before every line, and this one has none"
        count = _times(len(bare), "line")
        yield at_line(inputs, _CODE, f"{message} ({count}); begin it with N and a number", bare[0])


def _percent(inputs: CheckInput) -> Iterator[Finding]:
    if not inputs.machine.percent_lines:
        return
    lines = [line.strip() for line in inputs.program.text.splitlines()]
    if "%" not in lines:
        yield at_line(inputs, _CODE, f"{inputs.machine.name} reads what stands between two lines of %; put them")
    elif lines[0] != "%":
        yield at_line(inputs, _CODE, "something stands before the opening %, and would not be read; move it", 1)


def _words(inputs: CheckInput, words: tuple[str, ...]) -> list[Event]:
    return [e for e in inputs.trace.events if e.word in words]


def _missing(inputs: CheckInput, words: tuple[str, ...], cause: Cause, message: str) -> Iterator[Finding]:
    """A finding unless one of the words stands before the first move."""
    if not any(e.before == 0 for e in _words(inputs, words)):
        yield at_line(inputs, _CODE, message, _first_move(inputs), cause)


def _first_move(inputs: CheckInput) -> int:
    """Line of the first move; 0 where there is none."""
    return int(inputs.trace.line[0]) if len(inputs.trace) else 0


def _times(count: int, what: str = "arc") -> str:
    return f"1 {what}" if count == 1 else f"{count} {what}s"
