"""What the checks of words for the controller say: units, plane, offset, the form of lines, the spindle."""

from __future__ import annotations

from toolpaths.common.units import Units, show_chip
from toolpaths.verification.wording.message import Message
from toolpaths.verification.wording.program import WRITE_AGAIN

_ORDINARY = {"G20": "inches", "G21": "millimetres"}


def no_units(wanted: str) -> Message:
    wrong = "no units are set before the first move"
    return Message(wrong, todo=f"begin with {wanted}", limit=f"Machine: {_ORDINARY[wanted]}")


def other_units(word: str, wanted: str) -> Message:
    wrong = f"{word} sets {_ORDINARY[word]}, so every length would be 25.4 times wrong"
    return Message(wrong, todo=f"use {wanted}", limit=f"Machine: {_ORDINARY[wanted]}")


def no_offset(wanted: str) -> Message:
    return Message("no offset is set before the first move, so an old one may apply", todo=f"put {wanted} there")


def other_offset(word: str, wanted: str, setup: str) -> Message:
    wrong = "this is not the offset in which the setup is zeroed"
    return Message(wrong, todo=f"use {wanted}", measured=word, limit=f"setup {setup}: {wanted}")


NO_PLANE = Message("no plane is set before the first move, so an old one may apply", todo="put G17 there")
NO_DISTANCE = Message("G90 is missing, so every coordinate may count as a step", todo="put it before the first move")
STEPS = Message("G91 makes every coordinate after it a step from the last one", todo="use G90 only")


def upright_plane(word: str, anywhere: bool) -> Message:
    """`anywhere`: the machine takes arcs in all planes."""
    todo = "begin with G17" if anywhere else "use G17 only: this machine takes level arcs only"
    return Message(f"{word} selects an upright plane", todo=todo)


def arcs_refused(count: int, level: bool) -> Message:
    """`level`: the machine takes arcs in the level plane."""
    wrong = "this machine takes level arcs only" if level else "this machine takes no arcs"
    return Message(wrong, todo="use short straight moves", measured=_counted(count, "wrong arc"))


def arc_too_coarse(off: float, most: float, count: int, units: Units) -> Message:
    """Arcs whose radius differs between both ends, once the controller has rounded its numbers, by so many mm."""
    measured, limit = f"{show_chip(off, units)} off in {_counted(count, 'arc')}", f"most {show_chip(most, units)}"
    return Message("rounding spoils this arc", "", "use straight moves", measured, limit)


def t_refused(number: float) -> Message:
    return Message("this machine takes no T word", todo="name the bit in a comment", measured=f"T{number:g}")


BIT_CHANGE_REFUSED = Message(
    "M6 asks for a change of bits, but this machine's bits are changed by hand", todo="give each bit its own program"
)


def line_too_long(characters: int, most: int, count: int) -> Message:
    measured = f"{characters} characters, {_counted(count, 'long line')}"
    wrong = "the line is too long for this machine, which would lose its end"
    return Message(wrong, todo="shorten it", measured=measured, limit=f"most {most}")


def comments_refused(count: int) -> Message:
    todo = "put the words into the file beside the program"
    return Message("this machine takes no comments", todo=todo, measured=f"{_counted(count, 'line')} with comments")


def no_line_number(count: int) -> Message:
    wrong = "this line has no number, which the machine needs"
    return Message(wrong, todo="begin it with N and a number", measured=_counted(count, "such line"))


NO_PERCENT = Message(
    "this machine reads only what is between two lines of %, and there are none",
    todo="begin and end the program with %",
)
BEFORE_PERCENT = Message("the machine does not read what is before the first %", todo="move % to the first line")


# Spindle


NOT_ENDED = Message(
    "the program does not end with M30 or M2, so the spindle may keep running", todo="end it with M5 and M30"
)


def spindle_off(dwell: str, relay: bool) -> Message:
    todo = f"put M3{'' if relay else ' with a speed'}, then {dwell}, before this line"
    return Message("the bit goes down with the spindle off", todo=todo)


def not_at_speed(waited: float, since: str, needed: float, dwell: str, after: str) -> Message:
    """`since`: what the wait of so many seconds follows; `after`: the word behind which the dwell belongs."""
    wrong = "the bit goes down before the spindle is at speed"
    return Message(wrong, "", f"put {dwell} after {after}", f"{waited:g} s after {since}", f"least {needed:g} s")


STILL_ON = Message("the spindle is still on at the end of the program", todo="put M5 before the end")
CHANGED_WHILE_ON = Message("the bit is changed while the spindle is on", todo="put M5 before the change")
NO_PAUSE_FOR_DIAL = Message("M3 starts the spindle without a pause to set its dial", todo="put M0 before M3")
NO_PAUSE_TO_START = Message("there is no pause to switch the spindle on by hand", todo="put M0 before this line")
NO_PAUSE_TO_CHANGE = Message(
    "the bit is changed without a pause to switch the spindle off", todo="put M0 before the change"
)
NO_PAUSE_AT_END = Message(
    "the program ends without a pause to switch the spindle off by hand", todo="put M0 after the last cut"
)


def ends_while_on(word: str) -> Message:
    return Message(f"{word} ends the program with the spindle on", todo="put M5 before it")


def other_speed_in_words(says: float, job: str, bit: str) -> Message:
    wrong = f"this comment does not give the job's speed for {bit}"
    return Message(wrong, todo=WRITE_AGAIN, measured=f"Comment: {says:.0f} rpm", limit=f"job: {job} rpm")


def other_mark_in_words(says: str, rpm: float, machine: str) -> Message:
    wrong = f"this comment gives the wrong mark on the dial for {rpm:.0f} rpm"
    return Message(wrong, todo=WRITE_AGAIN, measured=f"Comment: {says}", limit=f"machine file: {machine}")


def waits_too_long(number: float, seconds: float, most: float, most_number: float) -> Message:
    return Message(
        "the program waits too long",
        todo="shorten the wait, or pause with M0",
        measured=f"G4 P{number:g} is {seconds:g} s",
        limit=f"most {most:g} s, P{most_number:g}",
    )


def speed_out_of_range(rpm: float, least: float, most: float) -> Message:
    wrong = "the spindle cannot turn at this speed"
    return Message(wrong, "", "set a speed in its range", f"{rpm:.0f} rpm", f"{least:.0f} to {most:.0f} rpm")


def too_fast_for_bit(rpm: float, bit: str, most: float) -> Message:
    return Message(f"the speed is too high for {bit}", "", "lower it", f"{rpm:.0f} rpm", f"maker: most {most:.0f} rpm")


# Private


def _counted(count: int, what: str) -> str:
    """`1 arc`, `18 arcs`."""
    return f"{count} {what}{'' if count == 1 else 's'}"
