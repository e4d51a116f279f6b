"""Why a program cannot be read: the words of everything that the reader refuses, and what to do."""

from __future__ import annotations

from toolpaths.common.errors import ReadError

LETTERS = {
    **dict.fromkeys("ABC", "it is a rotary axis"),
    **dict.fromkeys("UVW", "it is a second straight axis"),
    "D": "it is a bit's radius for compensation",
    "E": "it has no meaning here",
    "H": "it is the number of a length offset",
    "L": "it is a count of repeats",
    "O": "it is a subprogram",
    "Q": "it is the step of a drilling cycle",
    "R": "it gives an arc by its radius",
}
"""Letters that the reader does not take, and why."""
SIGNS = {
    "#": "it is a parameter",
    "[": "it is an expression",
    "]": "it is an expression",
    "=": "it is an assignment",
    "/": "a switch at the machine could skip the line",
    ";": "not every controller takes it for a comment",
    "%": "it must be alone on its line",
}
"""Signs that may not be in a line, and why."""
CODES = {
    "G10": "it changes the machine's own tables",
    **dict.fromkeys(("G28", "G30"), "it moves to a place stored in the machine"),
    "G38.2": "it moves until a probe touches",
    **dict.fromkeys(("G41", "G42"), "the path would depend on a bit's radius stored in the machine"),
    "G43": "the depth would depend on a length stored in the machine",
    "G53": "it moves in the machine's own coordinates",
    **dict.fromkeys(("G61", "G61.1"), "it changes how the machine follows the path"),
    "G64": "it lets the machine round off corners",
    **dict.fromkeys((f"G{n}" for n in range(81, 90)), "it is a drilling cycle"),
    **dict.fromkeys(("G92", "G92.1", "G92.2", "G92.3"), "it moves the program's zero"),
    "G93": "it gives the feed as a time, not as a speed",
    **dict.fromkeys(("G98", "G99"), "it belongs to drilling cycles"),
    "M4": "router bits turn clockwise only",
    **dict.fromkeys(("M48", "M49"), "it changes whether the operator can set feed and speed"),
    "M60": "it changes pallets",
}
"""Codes that the reader does not take, and why."""
_INSTEAD = {
    "R": "give its centre with I, J, K",
    ";": "write the comment in ( )",
    **dict.fromkeys((f"G{n}" for n in range(81, 90)), "write its moves one by one"),
}


# Lines


def not_allowed(line: int, word: str) -> ReadError:
    """A letter, a sign or a code that no program may hold."""
    why = LETTERS.get(word) or SIGNS.get(word) or CODES.get(word)
    return ReadError(line, f"{word} is not allowed" + (f": {why}" if why else ""), _INSTEAD.get(word, ""))


def too_large(line: int = 1) -> ReadError:
    return ReadError(line, "the program is larger than 64 MiB")


def too_long(line: int, characters: int, most: int) -> ReadError:
    return ReadError(line, f"the line has {characters} characters; a line may have {most}")


def odd_character(line: int, character: str) -> ReadError:
    return ReadError(line, f"the line has a character that is not plain ASCII: {character!a}")


def obeyed_sign(line: int, sign: str) -> ReadError:
    return ReadError(line, f"the comment has a {sign}, which some controllers obey", "leave it out")


def after_percent(line: int) -> ReadError:
    return ReadError(line, "there is text after the last %", "remove it")


def percent_unopened(line: int) -> ReadError:
    return ReadError(line, "there is a %, but none on the first line")


def percent_unclosed(line: int) -> ReadError:
    return ReadError(line, "the program begins with % and does not end with %")


def comment_in_comment(line: int) -> ReadError:
    return ReadError(line, "there is a comment inside a comment")


def comment_unopened(line: int) -> ReadError:
    return ReadError(line, "there is a ) without its (")


def comment_unclosed(line: int) -> ReadError:
    return ReadError(line, "the comment is not closed on its line")


def no_number(line: int, letter: str) -> ReadError:
    return ReadError(line, f"{letter} has no number")


def no_word(line: int, text: str) -> ReadError:
    return ReadError(line, f"{text!r} is not a letter and a number")


def twice(line: int, letter: str) -> ReadError:
    return ReadError(line, f"{letter} is given twice on the line")


def two_of_a_group(line: int, first: str, second: str, group: str) -> ReadError:
    return ReadError(line, f"{first} and {second} are on one line, which may have one word for the {group}")


def wrong_line_number(line: int) -> ReadError:
    return ReadError(line, "a line number must be N and one to five digits, first on its line")


def many_m_words(line: int, count: int, most: int) -> ReadError:
    return ReadError(line, f"the line has {count} M words; a line may have {most}")


# Words


def after_end(line: int) -> ReadError:
    return ReadError(line, "there is text after M2 or M30, which ends the program", "remove it")


def feed_beside_units(line: int) -> ReadError:
    return ReadError(line, "F is on the line of G20 or G21, so its units are not clear", "give each its own line")


def out_of_range(line: int, letter: str, value: float) -> ReadError:
    return ReadError(line, f"{letter} is {'less than 0' if value < 0 else 'more than 1000000'}")


def no_dwell_time(line: int) -> ReadError:
    return ReadError(line, "G4 has no P, which gives its time")


def time_without_dwell(line: int) -> ReadError:
    return ReadError(line, "P is given without G4")


def no_bit_number(line: int, value: float) -> ReadError:
    return ReadError(line, f"T{value:g} is no number of a bit; it must be whole, from 0 to 99999")


def change_without_bit(line: int) -> ReadError:
    return ReadError(line, "M6 comes before any T, which chooses a bit")


def no_axis(line: int, code: str) -> ReadError:
    return ReadError(line, f"{code} has no X, Y or Z")


def no_motion(line: int) -> ReadError:
    return ReadError(line, "X, Y or Z comes before any of G0, G1, G2, G3")


def from_nowhere(line: int, axes: str) -> ReadError:
    return ReadError(line, f"the cut begins before a rapid has set {axes}", "go to its start by a rapid")


def no_feed(line: int, none: bool) -> ReadError:
    return ReadError(line, "the cut has no feed" if none else "the cut has a feed of 0")


def step_from_nowhere(line: int, letter: str) -> ReadError:
    return ReadError(line, f"{letter} is a step in G91, but its start is not set", "set it in G90 first")


def too_far(line: int, letter: str, mm: float, unit: float) -> ReadError:
    """`unit`: the length of the program's unit, mm."""
    return ReadError(line, f"{letter} reaches {mm / unit:g} {_name(unit)}, more than any machine has")


def without_arc(line: int, letter: str) -> ReadError:
    return ReadError(line, f"{letter} is given without an arc")


# Arcs


def arc_without(line: int, plane: int, letters: str) -> ReadError:
    return ReadError(line, f"the arc in G{plane} has no {letters}")


def not_in_plane(line: int, letter: str, plane: int) -> ReadError:
    return ReadError(line, f"{letter} does not belong to an arc in G{plane}")


def no_radius(line: int) -> ReadError:
    return ReadError(line, "the centre of the arc is its start")


def two_radii(line: int, first: float, last: float, most: float, unit: float) -> ReadError:
    """Radii at both ends and by how much they may differ, mm; `unit` as above."""
    ends = " and ".join(f"{radius / unit:.4f}" for radius in (first, last))
    return ReadError(
        line, f"the arc has radii of {ends} {_name(unit)}; they may differ by {most / unit:g} {_name(unit)}"
    )


# Comments


def obeyed_comment(line: int, begin: str) -> ReadError:
    return ReadError(line, f"the comment begins with {begin!r}, which some controllers obey", "write it in other words")


def contradicts(line: int, earlier: int) -> ReadError:
    return ReadError(line, f"this comment does not agree with the one on line {earlier}")


def large_beside() -> ReadError:
    return ReadError(0, "the file beside the program is larger than 16 MiB")


def odd_line_beside(number: int) -> ReadError:
    return ReadError(0, f"line {number} of the file beside the program is not a line number, a colon and words")


def order_beside(number: int, back_to: int) -> ReadError:
    return ReadError(0, f"line {number} of the file beside the program goes back to line {back_to}")


def with_modes(error: ReadError, modes: list[tuple[str, int]]) -> ReadError:
    """The same, with modes that may explain it and the lines since which each has been on."""
    words, lines = ", ".join(word for word, _ in modes), ", ".join(str(line) for _, line in modes)
    said = f"has been on since line {lines}" if len(modes) == 1 else f"have been on since lines {lines}"
    return ReadError(error.line, f"{error.problem}; {words} {said}" if modes else error.problem, error.todo)


def _name(unit: float) -> str:
    return "mm" if unit == 1.0 else "in"
