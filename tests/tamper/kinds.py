"""Kinds of fault that get into a program: by hand, on the way to the machine, or by a slip of its writer.

Each takes the lines of a program and a random generator, and gives the text with one fault of its kind, or None where
the program has nothing for it. None of them knows what the fault does to the wood.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterable

from tests.tamper.holding_kinds import HOLDING, HOLDING_BY_NATURE

Lines = list[str]
Change = Callable[[Lines, random.Random], str | None]

_NUMBER = r"(-?\d+(?:\.\d*)?|-?\.\d+)"


def _text(lines: Iterable[str]) -> str:
    return "\n".join(lines) + "\n"


def _code(lines: Lines) -> list[int]:
    """Lines that are no comment."""
    return [i for i, line in enumerate(lines) if line and not line.lstrip().startswith(("(", "%"))]


def _with(lines: Lines, pattern: str) -> list[int]:
    found = re.compile(pattern)
    return [i for i in _code(lines) if found.search(lines[i])]


def _changed(lines: Lines, i: int, line: str) -> str | None:
    return None if line == lines[i] else _text([*lines[:i], line, *lines[i + 1 :]])


def _word(letter: str, new: Callable[[str, random.Random], str]) -> Change:
    """A number behind a letter, made another."""

    def change(lines: Lines, rng: random.Random) -> str | None:
        places = _with(lines, letter + _NUMBER)
        if not places:
            return None
        i = rng.choice(places)
        matches = list(re.finditer(letter + _NUMBER, lines[i]))
        m = rng.choice(matches)
        return _changed(lines, i, lines[i][: m.start(1)] + new(m[1], rng) + lines[i][m.end(1) :])

    return change


def _digit(number: str, rng: random.Random) -> str:
    at = rng.choice([i for i, c in enumerate(number) if c.isdigit()])
    return number[:at] + rng.choice([d for d in "0123456789" if d != number[at]]) + number[at + 1 :]


def _sign(number: str, rng: random.Random) -> str:
    return number[1:] if number.startswith("-") else "-" + number


def _point(number: str, rng: random.Random) -> str:
    """The decimal point lost, or moved by one place."""
    if "." not in number:
        return number + "0"
    whole, part = number.split(".", 1)
    return whole + part if rng.random() < 0.5 or not part else whole + part[0] + "." + part[1:]


def _gone(pattern: str) -> Change:
    """A line that fits, lost."""

    def change(lines: Lines, rng: random.Random) -> str | None:
        places = _with(lines, pattern)
        if not places:
            return None
        i = rng.choice(places)
        return _text(lines[:i] + lines[i + 1 :])

    return change


def _replaced(pattern: str, new: str) -> Change:
    """A word in a line that fits, made another."""

    def change(lines: Lines, rng: random.Random) -> str | None:
        places = _with(lines, pattern)
        if not places:
            return None
        i = rng.choice(places)
        return _changed(lines, i, re.sub(pattern, new, lines[i], count=1))

    return change


def _doubled(lines: Lines, rng: random.Random) -> str | None:
    i = rng.choice(_code(lines))
    return _text([*lines[: i + 1], *lines[i:]])


def _swapped(lines: Lines, rng: random.Random) -> str | None:
    i = rng.choice(_code(lines)[:-1])
    return _text([*lines[:i], lines[i + 1], lines[i], *lines[i + 2 :]])


def _strayed(lines: Lines, rng: random.Random) -> str | None:
    """A line that comes again somewhere else."""
    code = _code(lines)
    i, j = rng.choice(code), rng.choice(code)
    return _text([*lines[:j], lines[i], *lines[j:]])


def _cut_off(lines: Lines, rng: random.Random) -> str | None:
    code = _code(lines)
    i = rng.choice(code[len(code) // 10 :])
    return _text(lines[:i]) if rng.random() < 0.5 else _text(lines[:i]) + lines[i][: max(1, len(lines[i]) // 2)]


def _stretch_lost(lines: Lines, rng: random.Random) -> str | None:
    """Several lines in a row lost."""
    i = rng.choice(_code(lines)[5:-5] or _code(lines))
    return _text(lines[:i] + lines[i + rng.randint(2, 12) :])


def _shifted(letter: str) -> Change:
    """Every coordinate of an axis moved alike: a zero set elsewhere."""

    def change(lines: Lines, rng: random.Random) -> str | None:
        by = rng.choice([-1, 1]) * rng.choice([0.5, 1.0, 5.0, 20.0])
        if any(re.match(r"\s*(N\d+\s*)?G20\b", line) for line in lines):
            by /= 25

        def moved(m: re.Match[str]) -> str:
            return f"{letter}{round(float(m[1]) + by, 4):g}"

        return _text([re.sub(letter + _NUMBER, moved, x) if i in code else x for i, x in enumerate(lines)])

    code: set[int] = set()

    def with_code(lines: Lines, rng: random.Random) -> str | None:
        code.clear()
        code.update(_code(lines))
        return change(lines, rng)

    return with_code


def _axes_exchanged(lines: Lines, rng: random.Random) -> str | None:
    places = _with(lines, r"X.*Y")
    if not places:
        return None
    i = rng.choice(places)
    return _changed(lines, i, lines[i].translate(str.maketrans("XY", "YX")))


def _turned(lines: Lines, rng: random.Random) -> str | None:
    places = _with(lines, r"\bG[23]\b")
    if not places:
        return None
    i = rng.choice(places)
    return _changed(lines, i, re.sub(r"\bG([23])\b", lambda m: "G3" if m[1] == "2" else "G2", lines[i]))


def _off_before_the_cut(lines: Lines, rng: random.Random) -> str | None:
    cuts = _with(lines, r"\bG1\b")
    i = rng.choice(cuts) if cuts else 0
    return _text([*lines[:i], "M5", *lines[i:]]) if cuts else None


def _another_bit(lines: Lines, rng: random.Random) -> str | None:
    """T says another number, or where there is no T the comment that names the bit does."""
    places = _with(lines, r"\bT\d+")
    if places:
        i = rng.choice(places)
        return _changed(lines, i, re.sub(r"\bT(\d+)", lambda m: f"T{int(m[1]) % 9 + 1}", lines[i]))
    named = [i for i, line in enumerate(lines) if line.startswith("(Bit ")]
    out = list(lines)
    for i in named:
        out[i] = re.sub(r"\(Bit (\d+)", lambda m: f"(Bit {int(m[1]) % 9 + 1}", out[i])
    return _text(out) if named else None


def _comment_open(lines: Lines, rng: random.Random) -> str | None:
    """A comment that does not end, or one whose inside comes out as words."""
    places = [i for i, line in enumerate(lines) if line.startswith("(") and line.endswith(")")]
    i = rng.choice(places)
    return _changed(lines, i, lines[i][:-1] if rng.random() < 0.5 else lines[i][1:-1])


def _unknown(lines: Lines, rng: random.Random) -> str | None:
    i = rng.choice(_code(lines))
    word = rng.choice(["G53 Z0", "G28", "G92 X0", "G43 H1", "G41 D1", "M98 P1", "#1=5", "U1", "G5", "G81 Z-1 R1", "Q2"])
    return _text([*lines[:i], word, *lines[i:]])


def _other_place(lines: Lines, rng: random.Random) -> str | None:
    """The header says that it is another program of the set."""
    for i, line in enumerate(lines):
        if m := re.match(r"\(Program (\d+) of (\d+)(.*)", line):
            others = [n for n in range(1, int(m[2]) + 1) if n != int(m[1])]
            return _changed(lines, i, f"(Program {rng.choice(others)} of {m[2]}{m[3]}") if others else None
    return None


def _other_job(lines: Lines, rng: random.Random) -> str | None:
    for i, line in enumerate(lines):
        if m := re.search(r"job ([0-9a-f]{12})", line):
            return _changed(lines, i, line.replace(m[1], f"{rng.getrandbits(48):012x}"))
    return None


def _comment_reworded(lines: Lines, rng: random.Random) -> str | None:
    places = [i for i, line in enumerate(lines) if line.startswith("(Caution") and line.endswith(")")]
    i = rng.choice(places)
    return _changed(lines, i, "(Caution: seen and read.)")


def _comment_added(lines: Lines, rng: random.Random) -> str | None:
    i = rng.choice(_code(lines))
    return _changed(lines, i, lines[i] + " (look here)")


def _spaced(lines: Lines, rng: random.Random) -> str | None:
    code = set(_code(lines))
    return _text([x.replace(" ", "  ") + " " if i in code else x for i, x in enumerate(lines)])


def _small_letters(lines: Lines, rng: random.Random) -> str | None:
    code = set(_code(lines))
    return _text([x.lower() if i in code else x for i, x in enumerate(lines)])


def _zeros(lines: Lines, rng: random.Random) -> str | None:
    code = set(_code(lines))
    return _text([re.sub(r"([XYZ]-?\d+\.\d+)", r"\g<1>0", x) if i in code else x for i, x in enumerate(lines)])


def _blank_lines(lines: Lines, rng: random.Random) -> str | None:
    i = rng.choice(_code(lines))
    return _text([*lines[:i], "", *lines[i:]])


KINDS: dict[str, Change] = {
    "a digit of X": _word("X", _digit),
    "a digit of Y": _word("Y", _digit),
    "a digit of Z": _word("Z", _digit),
    "a digit of an arc's centre": _word("[IJ]", _digit),
    "a digit of the feed": _word("F", _digit),
    "a digit of the speed": _word(r"\bS", _digit),
    "a sign": _word("[XYZ]", _sign),
    "a sign of an arc's centre": _word("[IJ]", _sign),
    "a decimal point": _word("[XYZ]", _point),
    "a line lost": _gone(r"."),
    "several lines lost": _stretch_lost,
    "a line doubled": _doubled,
    "two lines exchanged": _swapped,
    "a line that strayed": _strayed,
    "a retract lost": _gone(r"\bG0\s*Z"),
    "a rapid for a feed": _replaced(r"\bG1\b", "G0"),
    "a feed for a rapid": _replaced(r"\bG0\b", "G1"),
    "the feed lost": _replaced(rf"\s*F{_NUMBER}", ""),
    "spindle start lost": _replaced(r"\s*\bM3\b", ""),
    "spindle off before a cut": _off_before_the_cut,
    "spindle the other way": _replaced(r"\bM3\b", "M4"),
    "dwell or stop lost": _gone(r"\b(G4|M0)\b"),
    "the other units": _replaced(r"\bG2([01])\b", "G2X"),
    "units lost": _replaced(r"\bG2[01]\b\s*", ""),
    "another plane": _replaced(r"\bG17\b", "G18"),
    "plane lost": _replaced(r"\bG17\b\s*", ""),
    "steps for places": _replaced(r"\bG90\b", "G91"),
    "places or steps unsaid": _replaced(r"\bG90\b\s*", ""),
    "another offset": _replaced(r"\bG5[4-9]\b", "G57"),
    "offset lost": _gone(r"\bG5[4-9]\b"),
    "an arc turned the other way": _turned,
    "axes exchanged": _axes_exchanged,
    "X zero moved": _shifted("X"),
    "Y zero moved": _shifted("Y"),
    "Z zero moved": _shifted("Z"),
    "the file cut off": _cut_off,
    "another bit": _another_bit,
    "programs in another order": _other_place,
    "another job's program": _other_job,
    "a comment broken open": _comment_open,
    "an unknown word": _unknown,
    "a comment reworded": _comment_reworded,
    "a comment added": _comment_added,
    "more spaces": _spaced,
    "small letters": _small_letters,
    "more zeros": _zeros,
    "an empty line": _blank_lines,
    **HOLDING,
}
"""All of them. Some are harmless by nature, most now and then: what each one does is found by others."""

BY_NATURE = {
    "another bit": "it does not belong there",
    "programs in another order": "it does not belong there",
    "another job's program": "it does not belong there",
    "an unknown word": "one controller does nothing at such a word, another moves or stops",
    **HOLDING_BY_NATURE,
}
"""Always harmful, whatever one machine makes of the text; and why."""


def spoilt(text: str, kind: str, rng: random.Random) -> str | None:
    """The text with a fault of a kind, or None where it has nothing for it."""
    lines = text.rstrip("\n").split("\n")
    found = KINDS[kind](lines, rng)
    if found is not None and kind == "the other units":
        found = found.replace("G2X", "G20" if re.search(r"\bG21\b", text) else "G21", 1)
    return None if found == text else found
