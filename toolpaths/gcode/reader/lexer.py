"""One line of a program, as letters and numbers: the grammar of RS-274/NGC that the reader accepts.

Source: Kramer, Proctor, Messina, The NIST RS274/NGC Interpreter, Version 3, NISTIR 6556 (2000).
What the standard has and this project does not read is refused here, with its name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NoReturn

from toolpaths.gcode.reader import refusals

LONGEST_LINE = 256
LARGEST_TEXT = 64 * 1024 * 1024
MOST_M_WORDS = 4


@dataclass(frozen=True, slots=True)
class ProgramLine:
    """One line: its number from 1, its words, and what its comments say.

    `words`: number by letter, without G, M and N. `g`: code in tenths (`G59.1` is 591) by modal group.
    `m`: M code by modal group. `remarks`: a comment that goes on over the next lines is one remark, of its first line.
    """

    line: int
    words: dict[str, float]
    g: dict[str, int] = field(default_factory=dict)
    m: dict[str, int] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()


def blocks(text: str) -> Iterator[ProgramLine]:
    """Every line of a program that holds words or comments; the pair of % lines is taken off.

    Raises ReadError at the first line that breaks the grammar, and for text of more than 64 MiB.
    """
    if len(text) > LARGEST_TEXT:
        raise refusals.too_large()
    opened = closed = False
    begun = False
    number = 0
    said: list[str] = []
    for number, raw in enumerate(text.split("\n"), start=1):
        line = raw[:-1] if raw.endswith("\r") else raw
        more = _MORE.fullmatch(line) if said else None
        if said and more is None:
            yield ProgramLine(number - len(said), {}, remarks=(" ".join(said),))
            said = []
        if len(line) > LONGEST_LINE:
            raise refusals.too_long(number, len(line), LONGEST_LINE)
        if not (line.isascii() and (line.isprintable() or line.replace("\t", " ").isprintable())):
            _refuse_character(number, line)
        bare = line.translate(_BLANKS)
        if not bare:
            continue
        if closed:
            raise refusals.after_percent(number)
        if bare == "%":
            if begun and not opened:
                raise refusals.percent_unopened(number)
            opened, closed, begun = True, opened, True
            continue
        begun = True
        if "(" in line and (sign := _AT_ONCE.search(line)):
            raise refusals.obeyed_sign(number, sign[0])
        block = _block(number, line, bare)
        if more is not None:
            said.append(more[1])
        elif len(block.remarks) == 1 and not (block.words or block.g or block.m):
            said = [block.remarks[0]]
        else:
            yield block
    if said:
        yield ProgramLine(number + 1 - len(said), {}, remarks=(" ".join(said),))
    if opened and not closed:
        raise refusals.percent_unclosed(number)


# Private

_BLANKS = {ord(" "): None, ord("\t"): None}
_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
_WORD = re.compile(rf"([A-Z])({_NUMBER})")
_LINE = re.compile(rf"(?:[A-Z]{_NUMBER}|\(\))*")
_COMMENT = re.compile(r"\(([^()]*)\)")
_MORE = re.compile(r"\(\+ ([ -'*-~]*)\)")
_AT_ONCE = re.compile(r"[!?~]")
_N_DIGITS = re.compile(r"[0-9]{1,5}")

_LETTERS = frozenset("FGIJKMNPSTXYZ")

# Modal groups of NISTIR 6556. Codes in tenths.
_G_GROUPS: dict[int, str] = {
    **dict.fromkeys((0, 10, 20, 30, 800), "motion"),
    **dict.fromkeys((170, 180, 190), "plane"),
    **dict.fromkeys((200, 210), "units"),
    **dict.fromkeys((900, 910), "distance"),
    940: "feed mode",
    400: "radius compensation",
    490: "length offset",
    **dict.fromkeys((540, 550, 560, 570, 580, 590, 591, 592, 593), "offset"),
    40: "dwell",
}
_M_GROUPS: dict[int, str] = {
    **dict.fromkeys((0, 1, 2, 30), "stopping"),
    **dict.fromkeys((3, 5), "spindle"),
    6: "bit change",
    **dict.fromkeys((7, 8, 9), "coolant"),
}


def _block(number: int, line: str, bare: str) -> ProgramLine:
    remarks: tuple[str, ...] = ()
    if "(" in bare or ")" in bare:
        remarks = tuple(_COMMENT.findall(line))
        # The empty pair stays as a mark, so that a comment parts what stands on either side of it.
        bare = _COMMENT.sub("()", line).translate(_BLANKS)
        if bare == "()":
            return ProgramLine(number, {}, remarks=remarks)
    bare = bare.upper()
    if _LINE.fullmatch(bare) is None:
        _refuse_line(number, line, bare)
    words: dict[str, float] = {}
    g: dict[str, int] = {}
    m: dict[str, int] = {}
    for letter, digits in _WORD.findall(bare):
        if letter == "G":
            _add_code(number, g, _G_GROUPS, 10, "G", digits)
        elif letter == "M":
            _add_code(number, m, _M_GROUPS, 1, "M", digits)
        elif letter in words:
            raise refusals.twice(number, letter)
        elif letter in _LETTERS:
            words[letter] = float(digits)
        else:
            raise refusals.not_allowed(number, letter)
    if "N" in words:
        del words["N"]
        if bare[0] != "N" or _N_DIGITS.fullmatch(_WORD.findall(bare)[0][1]) is None:
            raise refusals.wrong_line_number(number)
    if len(m) > MOST_M_WORDS:
        raise refusals.many_m_words(number, len(m), MOST_M_WORDS)
    return ProgramLine(number, words, g, m, remarks)


def _add_code(line: int, found: dict[str, int], groups: dict[int, str], parts: int, letter: str, digits: str) -> None:
    scaled = float(digits) * parts
    code = round(scaled)
    group = groups.get(code) if abs(scaled - code) < 1e-6 and digits[0] != "-" else None
    if group is None:
        name = letter + (f"{float(digits):g}" if digits[0] != "-" else digits)
        raise refusals.not_allowed(line, name)
    if group in found:
        first, second = (f"{letter}{c / parts:g}" for c in (found[group], code))
        raise refusals.two_of_a_group(line, first, second, group)
    found[group] = code


def _refuse_character(line: int, text: str) -> NoReturn:
    bad = next(c for c in text if not (c == "\t" or (c.isascii() and c.isprintable())))
    raise refusals.odd_character(line, bad)


def _refuse_line(line: int, text: str, bare: str) -> NoReturn:
    """Raise ReadError for the first fault from the left in a line that is not words and comments."""
    _refuse_parentheses(line, text)
    at = 0
    while at < len(bare):
        word = _WORD.match(bare, at)
        if bare.startswith("()", at):
            at += 2
        elif word is None:
            break
        elif word[1] not in _LETTERS:
            raise refusals.not_allowed(line, word[1])
        else:
            at = word.end()
    letter, sign = "", bare[at]
    if sign.isalpha():
        if sign not in _LETTERS:
            raise refusals.not_allowed(line, sign)
        letter, sign = sign, bare[at + 1 : at + 2]
    if sign in refusals.SIGNS:
        raise refusals.not_allowed(line, sign)
    raise refusals.no_number(line, letter) if letter else refusals.no_word(line, bare[at : at + 12])


def _refuse_parentheses(line: int, text: str) -> None:
    inside = False
    for c in text:
        if c == "(":
            if inside:
                raise refusals.comment_in_comment(line)
            inside = True
        elif c == ")":
            if not inside:
                raise refusals.comment_unopened(line)
            inside = False
    if inside:
        raise refusals.comment_unclosed(line)
