"""Reading a program back: an interpreter of the documented subset of RS-274/NGC (docs/programs.md).

It knows nothing of how the text was made, and shares no table with what made it.
Source: Kramer, Proctor, Messina, The NIST RS274/NGC Interpreter, Version 3, NISTIR 6556 (2000).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.errors import ReadError
from toolpaths.gcode.reader import refusals
from toolpaths.gcode.reader.arc_words import LARGEST, Place, arc_of
from toolpaths.gcode.reader.lexer import ProgramLine, blocks
from toolpaths.gcode.reader.structured_comments import BitNamed, HeaderSoFar, SectionNamed, told, words_beside
from toolpaths.gcode.reader.trace import ARC_CCW, ARC_CW, FEED, RAPID, Array, Event, Ints, Told, Trace


def read(text: str, beside: str = "") -> Trace:
    """Every move of a program, with its line, in mm from the program's own zero.

    A program that names no units is read as mm, one that names no plane or distance mode as G17 and G90;
    the events show that it did not, and a check judges that. `offsets` names such an offset "".
    `beside`: the file of words beside a program without comments; each counts as one before the line that it names.
    Raises ReadError, with the line, for anything outside the documented subset.
    """
    reader = _Reader()
    waiting = list(reversed(words_beside(beside)))
    for block in blocks(text):
        while waiting and waiting[-1][0] <= block.line:
            reader.hear(*waiting.pop())
        reader.take(block)
    return reader.trace(text.count("\n") + (not text.endswith("\n")) if text else 0)


# Private

_MM = {200: 25.4, 210: 1.0}
_KINDS = {0: RAPID, 10: FEED, 20: ARC_CW, 30: ARC_CCW}
_AXES = "XYZ"
_CENTRES = "IJK"
_NO_SETTING = frozenset("FXYZIJK")
_NOWHERE: Place = (math.nan, math.nan, math.nan)
_Number = TypeVar("_Number", bound=np.generic)


class _Reader:
    """The state of the machine that a program runs on, and the moves made so far."""

    def __init__(self) -> None:
        self._place = _NOWHERE
        self._units, self._units_named = 210, False
        self._plane = 17
        self._incremental = False
        self._since: dict[str, int] = {}
        self._motion: int | None = None
        self._feed: float | None = None
        self._speed, self._turning = 0.0, False
        self._chosen: int | None = None
        self._offset, self._offsets = 0, [""]
        self._ended = False
        self._rows: list[tuple[float, ...]] = []
        self._events: list[Event] = []
        self._sections: list[tuple[str, str]] = []
        self._bit_words: list[tuple[int, int, str]] = []
        self._header = HeaderSoFar()
        self._told: list[Told] = []

    def take(self, block: ProgramLine) -> None:
        """Carries out one line, in the order of NISTIR 6556, Table 8."""
        line, words, g, m = block.line, block.words, block.g, block.m
        if self._ended:
            raise refusals.after_end(line)
        for remark in block.remarks:
            self.hear(line, remark)
        if g or m or not words.keys() <= _NO_SETTING:
            self._set_up(line, words, g, m)
        elif "F" in words:
            self._set_feed(line, words["F"])
        try:
            self._move(line, words, g.get("motion"))
        except ReadError as error:
            raise refusals.with_modes(error, self._odd_modes(line)) from None
        if "stopping" in m:
            self._note(f"M{m['stopping']}", line)
            self._ended = m["stopping"] in (2, 30)

    def _set_up(self, line: int, words: dict[str, float], g: dict[str, int], m: dict[str, int]) -> None:
        """Everything on a line but its motion and its stop."""
        if "feed mode" in g:
            self._note("G94", line)
            self._feed = None
        if "F" in words:
            if "units" in g:
                raise refusals.feed_beside_units(line)
            self._set_feed(line, words["F"])
        if "S" in words:
            self._speed = _counted(line, "S", words["S"])
            self._note("S", line, self._speed)
        if "T" in words:
            self._choose_bit(line, words["T"])
        if "bit change" in m:
            self._change_bit(line)
        if "spindle" in m:
            self._turning = m["spindle"] == 3
            self._note(f"M{m['spindle']}", line, self._speed if self._turning else 0.0)
        if "coolant" in m:
            self._note(f"M{m['coolant']}", line)
        if "dwell" in g:
            if "P" not in words:
                raise refusals.no_dwell_time(line)
            self._note("G4", line, _counted(line, "P", words["P"]))
        elif "P" in words:
            raise refusals.time_without_dwell(line)
        if "plane" in g:
            self._plane = g["plane"] // 10
            self._since[f"G{self._plane}"] = line
            self._note(f"G{self._plane}", line)
        if "units" in g:
            self._set_units(line, g["units"])
        for group in ("radius compensation", "length offset"):
            if group in g:
                self._note(f"G{g[group] // 10}", line)
        if "offset" in g:
            self._set_offset(line, g["offset"])
        if "distance" in g:
            self._incremental = g["distance"] == 910
            self._since["G91"] = line
            self._note(f"G{g['distance'] // 10}", line)

    def _set_feed(self, line: int, value: float) -> None:
        self._feed = _counted(line, "F", value * _MM[self._units])

    def _set_units(self, line: int, code: int) -> None:
        self._note(f"G{code // 10}", line)
        if code != self._units:
            # What F means after a change of units differs between controllers: it has to be said again.
            self._feed = None
            if not self._units_named:
                self._place = _NOWHERE
        self._units, self._units_named = code, True
        self._since["G20"] = line

    def _set_offset(self, line: int, code: int) -> None:
        name = f"G{code / 10:g}"
        self._note(name, line)
        if name == self._offsets[self._offset]:
            return
        # The same place has other, unknown coordinates from another zero.
        self._place = _NOWHERE
        if not self._rows and self._offsets == [""]:
            self._offsets = []
        if name not in self._offsets:
            self._offsets.append(name)
        self._offset = self._offsets.index(name)

    def _choose_bit(self, line: int, value: float) -> None:
        if value != int(value) or not 0 <= value <= 99999:
            raise refusals.no_bit_number(line, value)
        self._chosen = int(value)
        self._note("T", line, value)
        self._bit_words.append((len(self._rows), self._chosen, "T"))

    def _change_bit(self, line: int) -> None:
        if self._chosen is None:
            raise refusals.change_without_bit(line)
        # When a change is complete, the spindle stands still: NISTIR 6556, the bit change, from memory.
        self._turning = False
        self._note("M6", line, self._chosen)
        self._bit_words.append((len(self._rows), self._chosen, "M6"))

    def _move(self, line: int, words: dict[str, float], code: int | None) -> None:
        """The line's motion, of its own code or of the one in force."""
        moves = "X" in words or "Y" in words or "Z" in words
        if code is not None:
            if code == 800:
                self._note("G80", line)
            elif not moves:
                raise refusals.no_axis(line, f"G{code // 10}")
            self._motion = None if code == 800 else code
        motion = self._motion
        if not moves:
            _refuse_left_over(line, words)
            return
        if motion is None:
            raise refusals.no_motion(line)
        start = self._place
        end = self._end(line, words)
        kind = _KINDS[motion]
        centre = _NOWHERE
        if kind == RAPID:
            feed = 0.0
            _refuse_left_over(line, words)
        else:
            if math.isnan(sum(start)):
                raise refusals.from_nowhere(line, _unknown(start))
            if not self._feed:
                raise refusals.no_feed(line, self._feed is None)
            feed = self._feed
            if kind == FEED:
                _refuse_left_over(line, words)
            else:
                centre, end = arc_of(line, words, start, end, self._plane, _MM[self._units])
        self._rows.append(
            (
                kind, line, *start, *end, *centre, self._plane, feed,
                self._speed if self._turning else 0.0, self._offset, len(self._sections) - 1,
            )
        )  # fmt: skip
        self._place = end

    def _odd_modes(self, line: int) -> list[tuple[str, int]]:
        """Modes set by earlier lines (inches, an upright plane, G91) that may explain an error, and those lines."""
        odd = ["G20"] * (self._units == 200) + [f"G{self._plane}"] * (self._plane != 17) + ["G91"] * self._incremental
        return [(word, self._since[word]) for word in odd if self._since[word] < line]

    def _end(self, line: int, words: dict[str, float]) -> Place:
        end = list(self._place)
        mm = _MM[self._units]
        for axis, letter in enumerate(_AXES):
            if letter in words:
                value = words[letter] * mm
                if self._incremental:
                    if math.isnan(end[axis]):
                        raise refusals.step_from_nowhere(line, letter)
                    value += end[axis]
                if not -LARGEST <= value <= LARGEST:
                    raise refusals.too_far(line, letter, value, mm)
                end[axis] = value
        return end[0], end[1], end[2]

    def _note(self, word: str, line: int, value: float = 0.0) -> None:
        self._events.append(Event(word, line, len(self._rows), value))

    def hear(self, line: int, comment: str) -> None:
        """Process a comment before or on a line."""
        remark = self._header.hear(line, comment, moved=bool(self._rows))
        if isinstance(remark, SectionNamed):
            self._sections.append((remark.feature, remark.title))
        elif isinstance(remark, BitNamed):
            self._bit_words.append((len(self._rows), remark.number, "comment"))
        if said := told(comment):
            self._told.append(replace(said, line=line, before=len(self._rows)))

    def trace(self, lines: int) -> Trace:
        """All that was read, as arrays that cannot be changed."""
        table = np.array(self._rows, dtype=np.float64).reshape(-1, 16)
        return Trace(
            header=self._header.header(),
            kind=_whole(table[:, 0]),
            line=_whole(table[:, 1]),
            start=_held(table[:, 2:5]),
            end=_held(table[:, 5:8]),
            centre=_held(table[:, 8:11]),
            plane=_whole(table[:, 11]),
            feed=_held(table[:, 12]),
            rpm=_held(table[:, 13]),
            bit=_bits_in_force(self._bit_words, len(table)),
            offset=_whole(table[:, 14]),
            offsets=tuple(self._offsets),
            section=_whole(table[:, 15]),
            sections=tuple(self._sections),
            events=tuple(self._events),
            lines=lines,
            ended=self._ended,
            told=tuple(self._told),
        )


def _counted(line: int, letter: str, value: float) -> float:
    if not 0 <= value <= LARGEST:
        raise refusals.out_of_range(line, letter, value)
    return value


def _refuse_left_over(line: int, words: dict[str, float]) -> None:
    for letter in _CENTRES:
        if letter in words:
            raise refusals.without_arc(line, letter)


def _unknown(place: Place) -> str:
    names = [letter for letter, value in zip(_AXES, place, strict=True) if math.isnan(value)]
    return " and ".join(names)


def _bits_in_force(changes: list[tuple[int, int, str]], moves: int) -> Ints:
    """The bit's number at each move (N,). Where M6 stands in the text, T alone only prepares a change."""
    changer = any(word == "M6" for _, _, word in changes)
    counted = [(before, number) for before, number, word in changes if not (changer and word == "T")]
    numbers = np.array([0, *(number for _, number in counted)], dtype=np.int64)
    latest = np.searchsorted([before for before, _ in counted], np.arange(moves), side="right")
    return _held(numbers[latest])


def _whole(column: Array) -> Ints:
    return _held(column.astype(np.int64))


def _held(values: NDArray[_Number]) -> NDArray[_Number]:
    values = np.ascontiguousarray(values)
    values.setflags(write=False)
    return values
