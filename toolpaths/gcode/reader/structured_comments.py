"""Parse the structured comments of a program. docs/programs.md is the contract."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TypedDict

from toolpaths.gcode.reader import refusals
from toolpaths.gcode.reader.trace import Header, Told

_MM = {"mm": 1.0, "in": 25.4}


class HeaderWords(TypedDict, total=False):
    """Fields of `Header` that one comment gives, lengths in mm."""

    job_hash: str
    number: int
    count: int
    setup: str
    touch_surface: str
    touch_z: float
    lifted: float


@dataclass(frozen=True, slots=True)
class BitNamed:
    """`Bit 2: scorer, flat 0.60 mm, ...`."""

    number: int
    name: str


@dataclass(frozen=True, slots=True)
class SectionNamed:
    """`Feature score_lines: fret 1, pass 2 of 4`."""

    feature: str
    title: str


Remark = HeaderWords | BitNamed | SectionNamed


def understood(comment: str) -> Remark | None:
    """The fields in the text between the parentheses, or None for any other comment.

    A length counts only with its unit behind it: a comment cut at a line's length must not say another number.
    """
    text = comment.removeprefix(" ").rstrip()
    match text[:1]:
        case "n" if found := _JOB.fullmatch(text):
            return {"job_hash": found[1]}
        case "P" if found := _PLACE.fullmatch(text):
            return {"number": int(found[1]), "count": int(found[2]), "setup": found[3]}
        case "B" if found := _BIT.match(text):
            return BitNamed(int(found[1]), found[2].strip())
        case "T" if found := _TOUCH.fullmatch(text):
            return {"touch_surface": found[1].strip(), "touch_z": float(found[2]) * _MM[found[3]]}
        case "L" if found := _LIFT.fullmatch(text):
            return {"lifted": float(found[1]) * _MM[found[2]]}
        case "F" if found := _SECTION.fullmatch(text):
            return SectionNamed(found[1].strip(), found[2].strip())
    return None


def told(comment: str) -> Told | None:
    """The values in a sentence for the operator, or None for any other comment."""
    for what, pattern in _TOLD:
        if found := pattern.fullmatch(comment):
            named = pattern.groupindex.get("of")
            texts = [text for i, text in enumerate(found.groups(), 1) if text is not None and i != named]
            return Told(what if named is None else f"{what} {found['of']}", _values(texts))
    return None


def words_beside(text: str) -> tuple[tuple[int, str], ...]:
    """Line of the program and words of every line of the file beside one whose controller takes no comments.

    Raises ReadError, without a line of the program, for anything else than `12: words` in order, blank lines and
    lines that begin with #.
    """
    out: list[tuple[int, str]] = []
    if len(text) > _MOST_BESIDE:
        raise refusals.large_beside()
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.startswith("#"):
            continue
        found = _BESIDE.fullmatch(line)
        if found is None:
            raise refusals.odd_line_beside(number)
        if out and int(found[1]) < out[-1][0]:
            raise refusals.order_beside(number, int(found[1]))
        out.append((int(found[1]), found[2]))
    return tuple(out)


class HeaderSoFar:
    """Collects the header fields from comments before the first move."""

    __slots__ = ("_bits", "_said", "_words")

    def __init__(self) -> None:
        self._words: HeaderWords = {}
        self._bits: list[tuple[int, str]] = []
        self._said: dict[object, tuple[int, Remark]] = {}

    def hear(self, line: int, comment: str, moved: bool) -> Remark | None:
        """Process one comment. After the first move it is no part of the header, but must not rename a bit.

        Raises ReadError where it says something else than an earlier one: such a program cannot be trusted; and where
        a controller may carry it out, or show it and wait.
        """
        if _ACTIVE.match(comment):
            begin = " ".join(comment.split()[:1])[:20]
            raise refusals.obeyed_comment(line, begin)
        remark = understood(comment)
        match remark:
            case BitNamed(number, name):
                self._once(line, ("bit", number), remark)
                if not moved and (number, name) not in self._bits:
                    self._bits.append((number, name))
            case dict() if not moved:
                self._once(line, tuple(remark), remark)
                self._words.update(remark)
        return remark

    def header(self) -> Header:
        """The header, as far as it was heard."""
        return Header(bits=tuple(self._bits), **self._words)

    def _once(self, line: int, key: object, remark: Remark) -> None:
        earlier, said = self._said.setdefault(key, (line, remark))
        if said != remark:
            raise refusals.contradicts(line, earlier)


# Private


def _values(texts: list[str]) -> tuple[str | float, ...]:
    """Lengths in mm, and all else as the words themselves. A bare length has the unit of the next one with a unit; one
    that is said to be below something is negative.
    """
    out: list[str | float] = []
    unit, sign = "", 1.0
    for text in reversed(texts):
        if text in _SIDES:
            sign = _SIDES[text]
        elif found := _ONE_LENGTH.fullmatch(text):
            unit = found[2]
            out.append(sign * float(found[1]) * _MM[unit])
            sign = 1.0
        elif unit and _BARE.fullmatch(text):
            out.append(float(text) * _MM[unit])
        else:
            out.append(text)
    return tuple(reversed(out))


_ACTIVE = re.compile(
    r"[ \t]*(?:\w+[ \t]*,|(?:MSG|DEBUG|PRINT|ABORT)\b|LOG|PROBE|PY(?:RUN|RELOAD)|M[ \t]*S[ \t]*G[ \t]*,)",
    re.IGNORECASE | re.ASCII,
)
"""A comment that is a command. `(MSG,` is of NISTIR 6556, blanks among its letters too; the others: from memory."""
_MOST_BESIDE = 16 * 1024 * 1024
_BESIDE = re.compile(r"([0-9]{1,8}): ([ -~]*)")
_LENGTH = r"(-?[0-9]{1,7}(?:\.[0-9]{1,9})?) (mm|in)"
_ONE_LENGTH = re.compile(_LENGTH)
_L = r"(-?[0-9.]{1,17} (?:mm|in))"
_N = r"(-?[0-9]{1,7}\.[0-9]{1,9}(?: mm| in)?)"
"""A length, and one whose unit may stand behind the next."""
_BARE = re.compile(r"-?[0-9]{1,7}\.[0-9]{1,9}")
_SIDES = {"above": 1.0, "below": -1.0}
_BOX = rf".*: X {_N} to {_L}, Y {_N} to {_L}, up to {_L} (above|below) the (?:bed|seat)"
_TOLD = tuple(
    (what, re.compile(pattern))
    for what, pattern in (
        ("zero", r"Zero: X at the ([a-z ]+), Y at the ([a-z ]+), Z at the ([a-z ]+), offset (G[0-9.]+)"),
        ("stock", rf"Blank: .*, {_L} x {_L}, (?:{_N} to )?{_L} thick"),
        ("stock", rf"Stock: .*, {_L} x {_L} x {_L}(?: to {_L})?"),
        ("nut line", rf"The nut line is {_L} from the left end of the (?:blank|stock)\."),
        ("place", rf"Place ([0-9]+) of ([0-9]+), ([A-Za-z0-9_-]+): the blank lies {_L} further left than at first\."),
        ("jig", r"Jig: job ([0-9a-f]{12}), .*"),
        ("jig", r"This lies on a jig, job ([0-9a-f]{12}): that is cut first\."),
        ("centreline", rf"The centreline is {_L} from the operator's edge\."),
        ("bit", rf"Bit (?P<of>[0-9]+): [^,]+, ([a-z ]+) {_L}, (?:.*, )?([0-9]+) flutes?, {_L} out of the collet"),
        ("pocket of", r"Pocket ([0-9]+): (?P<of>[A-Za-z0-9 _-]+)\. Check .*"),
        ("Z on the", rf"The bit has been changed\. Set Z again on the (?P<of>[a-z ]+), Z {_L}, or (?:check|see) .*"),
        ("place to keep clear of", rf"(?:Obstacle|Keep clear of) (?P<of>[0-9]+), {_BOX}"),
        ("dial", r"S(?:witch the spindle on|et the spindle's speed) by hand: (.+), ([0-9]{1,6}) rpm\. Then .*"),
    )
)
"""The sentences whose numbers a hand follows. Where a group is named, it is a part of what the sentence is about."""
_JOB = re.compile(r"neckpath [^,]+, job ([0-9a-f]+)(?:,.*)?")
_PLACE = re.compile(r"Program ([0-9]{1,6}) of ([0-9]{1,6}), setup (.+)")
_BIT = re.compile(r"Bit ([0-9]{1,5}): ([^,]+)")
_TOUCH = re.compile(rf"Touch off: (.+), Z {_LENGTH}")
_LIFT = re.compile(rf"Lifted: {_LENGTH}")
_SECTION = re.compile(r"Feature ([^:]+):(.*)")
