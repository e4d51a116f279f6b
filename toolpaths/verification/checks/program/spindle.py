"""Does the spindle turn fast enough near wood, and does it stand still when a bit is changed?

Where the program sets the spindle: M3 with a speed, then a dwell of at least the machine's spin-up time,
before the tip first goes below the height of travel; M5 before a change of bits and before the end.
Where the operator switches it: a pause (M0) takes the place of M3 and M5, and the dwell follows it.
Where a relay switches it: M3 and M5 as above, and a pause before each M3, since a hand turns the dial.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Ints
from toolpaths.gcode.reader.trace import Event
from toolpaths.job.machine import Spindle
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.trace_queries import at_line, at_move, going_low, speeds_of
from toolpaths.verification.wording import controller as wording
from toolpaths.verification.wording.message import Message

_CODE = "spindle"
_PAUSE = ("M0", "M1", "M60")
_RELAYED = 1.0
"""Stands for the speed of a spindle whose dial nobody reads."""
_SLACK = 0.01
"""Seconds, and rpm: what rounding in the text may take."""
_BEFORE_MARKS = re.compile("dial (between |below |above )?")
LONGEST_DWELL = 60.0
"""Seconds: as long as the slowest spindle may take to get up to speed. A longer wait is a pause, M0."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `spindle`."""
    low = np.nonzero(going_low(inputs))[0]
    by_hand = inputs.machine.spindle.set_by == "hand"
    found = _by_hand(inputs, low) if by_hand else _by_program(inputs, low)
    found += [*_too_long(inputs), *_dial(inputs, low)]
    if not inputs.trace.ended:
        found.append(at_line(inputs, _CODE, wording.NOT_ENDED, inputs.trace.lines))
    return found


@dataclass(slots=True)
class _State:
    """The spindle as the words so far leave it. `waited` seconds since it was started or sped up."""

    on: bool = False
    rpm: float = 0.0
    settled: float = 0.0
    waited: float = 0.0
    paused: bool = False


def _by_program(inputs: CheckInput, low: Ints) -> list[Finding]:
    spindle, trace = inputs.machine.spindle, inputs.trace
    scale = 1.0 if inputs.machine.dwell == "seconds" else 0.001
    dwell = f"G4 P{spindle.spin_up / scale:g}"
    relay = spindle.set_by == "relay"
    state = _State()
    found: list[Finding] = []
    for event, first, last in _stretches(inputs):
        if event is not None:
            found.extend(_at_word(inputs, event, state))
            _take(state, event, scale, spindle)
        for i in _telling(inputs, low, first, last):
            rpm = float(trace.rpm[i])
            turning = (_RELAYED if state.on else 0.0) if relay else rpm
            if turning <= 0:
                found.append(at_move(inputs, _CODE, wording.spindle_off(dwell, relay), i))
            elif turning > state.settled + _SLACK:
                since = "M3" if relay else f"{rpm:.0f} rpm"
                message = wording.not_at_speed(state.waited, since, spindle.spin_up, dwell, "M3")
                found.append(at_move(inputs, _CODE, message, i))
            found.extend(at_move(inputs, _CODE, message, i) for message in _speed(inputs, i, rpm))
    if state.on:
        found.append(at_line(inputs, _CODE, wording.STILL_ON, trace.lines))
    # One finding for each message: the first line says enough.
    return list({f.message: f for f in reversed(found)}.values())[::-1]


def _at_word(inputs: CheckInput, event: Event, state: _State) -> Iterator[Finding]:
    """Words that are not allowed while the spindle is on, and an M3 to a relay before the dial could be set."""
    on, spindle = state.on, inputs.machine.spindle
    if event.word == "M3" and spindle.set_by == "relay" and spindle.dial and not (on or state.paused):
        yield at_line(inputs, _CODE, wording.NO_PAUSE_FOR_DIAL, event.line)
    if event.word in ("M2", "M30") and on:
        yield at_line(inputs, _CODE, wording.ends_while_on(event.word), event.line)
    bit, i = inputs.trace.bit, event.before
    changer = any(e.word == "M6" for e in inputs.trace.events)
    changes = event.word == ("M6" if changer else "T") and i > 0 and bit[i - 1] not in (0, int(event.value))
    if changes and on:
        yield at_line(inputs, _CODE, wording.CHANGED_WHILE_ON, event.line)


def _take(state: _State, event: Event, scale: float, spindle: Spindle) -> None:
    """The state after a word. A relay's spindle turns from M3 on, whatever S says: its speed counts as one."""
    if event.word in _PAUSE:
        state.paused = True
    elif event.word in ("M3", "M5", "M6"):
        state.paused = False
    if spindle.set_by == "relay" and event.word in ("M3", "S"):
        if event.word == "M3" and not state.on:
            state.on, state.rpm, state.settled, state.waited = True, _RELAYED, 0.0, 0.0
    elif event.word == "M3":
        if not state.on:
            state.settled = state.waited = 0.0
        elif event.value > state.rpm:
            state.waited = 0.0
        state.on, state.rpm = event.value > 0, event.value
    elif event.word == "S":
        if event.value > state.rpm:
            state.waited = 0.0
        state.rpm = event.value
    elif event.word in ("M5", "M6", "M2", "M30"):
        state.on, state.settled, state.waited = False, 0.0, 0.0
    elif event.word == "G4" and state.on:
        state.waited += event.value * scale
    if state.on and state.waited >= spindle.spin_up - _SLACK:
        state.settled = max(state.settled, state.rpm)


def _by_hand(inputs: CheckInput, low: Ints) -> list[Finding]:
    """A pause before the first low move, between the last of one bit and the first of the next, after the last."""
    if not len(low):
        return []
    trace = inputs.trace
    pauses = np.array([e.before for e in trace.events if e.word in _PAUSE], dtype=np.int64)
    found: list[Finding] = []
    if not np.any(pauses <= low[0]):
        found.append(at_move(inputs, _CODE, wording.NO_PAUSE_TO_START, int(low[0])))
    for k in np.nonzero(np.diff(trace.bit[low]))[0]:
        if not np.any((pauses > low[k]) & (pauses <= low[k + 1])):
            found.append(at_move(inputs, _CODE, wording.NO_PAUSE_TO_CHANGE, int(low[k + 1])))
    found += _not_up_to_speed(inputs, low)
    if not np.any(pauses > low[-1]):
        found.append(at_line(inputs, _CODE, wording.NO_PAUSE_AT_END, trace.lines))
    return found


def _not_up_to_speed(inputs: CheckInput, low: Ints) -> Iterator[Finding]:
    """A spindle that was switched on in a pause gets its time before a bit first goes down."""
    spindle, events = inputs.machine.spindle, inputs.trace.events
    scale = 1.0 if inputs.machine.dwell == "seconds" else 0.001
    changes = low[1:][np.diff(inputs.trace.bit[low]) != 0]
    for move in (int(low[0]), *changes.tolist()):
        before = [e for e in events if e.before <= move]
        last = max((k for k, e in enumerate(before) if e.word in _PAUSE), default=None)
        if last is None:
            continue
        waited = sum(e.value for e in before[last:] if e.word == "G4") * scale
        if waited < spindle.spin_up - _SLACK:
            dwell = f"G4 P{spindle.spin_up / scale:g}"
            message = wording.not_at_speed(waited, "the pause", spindle.spin_up, dwell, "M0")
            yield at_move(inputs, _CODE, message, move)


def _dial(inputs: CheckInput, low: Ints) -> Iterator[Finding]:
    """Words that have a hand set another speed than the job's for the cuts that follow, or another mark for it."""
    spindle, trace = inputs.machine.spindle, inputs.trace
    told = [t for t in trace.told if t.what == "dial"]
    for t, stop in zip(told, [*(t.before for t in told[1:]), len(trace)], strict=False):
        words, rpm = str(t.values[0]), float(t.values[1])
        here = low[(low >= t.before) & (low < stop)]
        for number, feed in sorted(set(zip(trace.bit[here].tolist(), trace.feed[here].tolist(), strict=True))):
            name = inputs.bits.get(number, ("",))[0]
            slow, fast = speeds_of(inputs, name, feed, rpm)
            if fast > 0 and not slow - 0.5 <= rpm <= fast + 0.5:
                meant = f"{slow:.0f}" if slow == fast else f"{slow:.0f} to {fast:.0f}"
                yield at_line(inputs, _CODE, wording.other_speed_in_words(rpm, meant, name), t.line)
                break
        at = sorted((r, mark) for mark, r in spindle.dial.items())
        marks = [*[m for r, m in at if r <= rpm + 0.5][-1:], *[m for r, m in at if r >= rpm - 0.5][:1]]
        right = " and ".join(dict.fromkeys(marks))
        if marks and right != _BEFORE_MARKS.sub("", words):
            yield at_line(inputs, _CODE, wording.other_mark_in_words(words, rpm, right), t.line)


def _too_long(inputs: CheckInput) -> Iterator[Finding]:
    """Dwells that are too long to be intended: seconds read as milliseconds, or a wait of hours."""
    scale = 1.0 if inputs.machine.dwell == "seconds" else 0.001
    for event in inputs.trace.events:
        if event.word == "G4" and event.value * scale > LONGEST_DWELL + _SLACK:
            longest = LONGEST_DWELL / scale
            message = wording.waits_too_long(event.value, event.value * scale, LONGEST_DWELL, longest)
            yield at_line(inputs, _CODE, message, event.line)


def _stretches(inputs: CheckInput) -> list[tuple[Event | None, int, int]]:
    """Each event with the range of moves between it and the next; the moves before any event first."""
    events, count = inputs.trace.events, len(inputs.trace)
    starts = [0, *(e.before for e in events), count]
    out: list[tuple[Event | None, int, int]] = [(None, 0, starts[1])]
    out += [(e, e.before, starts[k + 2]) for k, e in enumerate(events)]
    return out


def _telling(inputs: CheckInput, low: Ints, first: int, last: int) -> list[int]:
    """The first low move of a stretch at each speed: the others give no further finding."""
    inside = low[np.searchsorted(low, first) : np.searchsorted(low, last)]
    _, index = np.unique(inputs.trace.rpm[inside], return_index=True)
    return [int(i) for i in inside[np.sort(index)]]


def _speed(inputs: CheckInput, move: int, rpm: float) -> Iterator[Message]:
    """What is wrong with a speed, by the machine's range and the bit's own limit."""
    spindle = inputs.machine.spindle
    name, bit = inputs.bits.get(int(inputs.trace.bit[move]), ("", None))
    if rpm > 0 and not spindle.min_rpm - 0.5 <= rpm <= spindle.max_rpm + 0.5:
        yield wording.speed_out_of_range(rpm, spindle.min_rpm, spindle.max_rpm)
    if bit is not None and bit.max_rpm is not None and rpm > bit.max_rpm + 0.5:
        yield wording.too_fast_for_bit(rpm, name, bit.max_rpm)
