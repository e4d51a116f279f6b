"""Is the bit that the text names the bit that the job gives to this program?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.gcode.reader.trace import Event
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import at_line, at_move, going_low, line_of, same_name
from toolpaths.verification.wording import program as wording

_CODE = "wrong-bit"


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `wrong-bit`."""
    return [*_unnamed(inputs), *_unknown(inputs), *_announced(inputs), *_order(inputs)]


def _unnamed(inputs: CheckInput) -> Iterator[Finding]:
    nameless = np.nonzero(going_low(inputs) & (inputs.trace.bit <= 0))[0]
    if len(nameless):
        message = wording.bit_unnamed(_expected(inputs))
        yield at_move(inputs, _CODE, message, int(nameless[0]))


def _unknown(inputs: CheckInput) -> Iterator[Finding]:
    """Numbers in the text that the job has no bit for."""
    first: dict[int, Event] = {}
    for event in inputs.trace.events:
        if event.word == "T":
            first.setdefault(int(event.value), event)
    for number, event in first.items():
        if number not in inputs.bits and number > 0:
            message = wording.bit_not_in_job(number, _expected(inputs))
            yield at_line(inputs, _CODE, message, event.line)


def _announced(inputs: CheckInput) -> Iterator[Finding]:
    """Names in the header against the job's."""
    said = dict(inputs.trace.header.bits)
    for number, name in said.items():
        if number not in inputs.bits:
            message = wording.header_bit_not_in_job(number, name)
        elif not same_name(name, inputs.bits[number][0]):
            message = wording.other_bit_in_header(number, name, inputs.bits[number][0])
        else:
            continue
        yield at_line(inputs, _CODE, message, line_of(inputs, f"Bit {number}: "))
    for number in _used(inputs):
        if number in inputs.bits and number not in said:
            message = wording.bit_not_in_header(number, inputs.bits[number][0])
            yield at_line(inputs, _CODE, message, 1)


def _order(inputs: CheckInput) -> Iterator[Finding]:
    """The bits that cut, against those that the job gives this program."""
    used = _used(inputs)
    names = tuple(inputs.bits[n][0] for n in used if n in inputs.bits)
    if len(names) < len(used) or names == inputs.expected:
        return
    message = wording.other_bits(names, inputs.expected)
    wrong = next((i for i, name in enumerate(names) if inputs.expected[i : i + 1] != (name,)), None)
    if wrong is None:
        yield at_line(inputs, _CODE, message)
    else:
        first = int(np.nonzero(going_low(inputs) & (inputs.trace.bit == used[wrong]))[0][0])
        yield at_move(inputs, _CODE, message, first)


def _used(inputs: CheckInput) -> list[int]:
    """Numbers of the bits that go down to the work, in order of first use."""
    bits = inputs.trace.bit[going_low(inputs)]
    numbers, first = np.unique(bits[bits > 0], return_index=True)
    return [int(n) for n in numbers[np.argsort(first)]]


def _expected(inputs: CheckInput) -> str:
    numbers = {name: number for number, (name, _) in inputs.bits.items()}
    return ", then ".join(f"{name} (bit {numbers[name]})" if name in numbers else name for name in inputs.expected)
