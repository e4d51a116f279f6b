"""Is the bit that the text names the bit that the job gives to this program?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.gcode.reader.trace import Event
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import at_line, at_move, going_low, line_of, same_name

_CODE = "wrong-bit"


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `wrong-bit`."""
    return [*_unnamed(inputs), *_unknown(inputs), *_announced(inputs), *_order(inputs), *_pockets(inputs)]


def _unnamed(inputs: CheckInput) -> Iterator[Finding]:
    nameless = np.nonzero(going_low(inputs) & (inputs.trace.bit <= 0))[0]
    if len(nameless):
        message = f"no bit is named before this move; {_expected(inputs)} was expected: name it before the first cut"
        yield at_move(inputs, _CODE, message, int(nameless[0]))


def _unknown(inputs: CheckInput) -> Iterator[Finding]:
    """Numbers in the text that the job has no bit for."""
    first: dict[int, Event] = {}
    for event in inputs.trace.events:
        if event.word == "T":
            first.setdefault(int(event.value), event)
    for number, event in first.items():
        if number not in inputs.bits and number > 0:
            message = f"bit {number} is called for, and the job has no such bit; {_expected(inputs)} was expected"
            yield at_line(inputs, _CODE, message, event.line)


def _announced(inputs: CheckInput) -> Iterator[Finding]:
    """Names in the header against the job's."""
    said = dict(inputs.trace.header.bits)
    for number, name in said.items():
        message = ""
        if number not in inputs.bits:
            message = f"the header announces bit {number}, {name}, which the job does not have"
        elif not same_name(name, inputs.bits[number][0]):
            message = (
                f"the header announces bit {number} as {name}, and in the job it is {inputs.bits[number][0]}; "
                "whoever follows the header would clamp another bit"
            )
        if message:
            yield at_line(inputs, _CODE, message, line_of(inputs, f"Bit {number}: "))
    for number in _used(inputs):
        if number in inputs.bits and number not in said:
            message = (
                f"the program cuts with bit {number}, {inputs.bits[number][0]}, which its header does not announce; "
                "whoever clamps it has only the header to go by"
            )
            yield at_line(inputs, _CODE, message, 1)


def _order(inputs: CheckInput) -> Iterator[Finding]:
    """The bits that cut, against those that the job gives this program."""
    used = _used(inputs)
    names = tuple(inputs.bits[n][0] for n in used if n in inputs.bits)
    if len(names) < len(used) or names == inputs.expected:
        return
    cuts = f"cuts with {', then '.join(names)}" if names else "cuts with no bit at all"
    message = f"the program {cuts}, and {_expected(inputs)} was expected; the widths and feeds are for that"
    wrong = next((i for i, name in enumerate(names) if inputs.expected[i : i + 1] != (name,)), None)
    if wrong is None:
        yield at_line(inputs, _CODE, message)
    else:
        first = int(np.nonzero(going_low(inputs) & (inputs.trace.bit == used[wrong]))[0][0])
        yield at_move(inputs, _CODE, message, first)


def _pockets(inputs: CheckInput) -> Iterator[Finding]:
    """T words against the machine file, where that says which pocket of the changer holds which bit."""
    pockets = inputs.machine.pockets
    holds = {pocket: bit for bit, pocket in pockets.items()}
    told: set[int] = set()
    for event in inputs.trace.events:
        number = int(event.value)
        if not pockets or event.word != "T" or number in told or number not in inputs.bits:
            continue
        told.add(number)
        name, held = inputs.bits[number][0], holds.get(number)
        if held != name:
            is_there = f"no bit is in pocket {number}" if held is None else f"pocket {number} holds {held}"
            wanted = f"{name} is in pocket {pockets[name]}" if name in pockets else f"no pocket holds {name}"
            message = f"T{number} is for {name}, and in the machine file {is_there}, and {wanted}; write the set again"
            yield at_line(inputs, _CODE, message, event.line)


def _used(inputs: CheckInput) -> list[int]:
    """Numbers of the bits that go down to the work, in order of first use."""
    bits = inputs.trace.bit[going_low(inputs)]
    numbers, first = np.unique(bits[bits > 0], return_index=True)
    return [int(n) for n in numbers[np.argsort(first)]]


def _expected(inputs: CheckInput) -> str:
    numbers = {name: number for number, (name, _) in inputs.bits.items()}
    return ", then ".join(f"{name} (bit {numbers[name]})" if name in numbers else name for name in inputs.expected)
