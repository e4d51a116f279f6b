"""What is done to a sound text to spoil it: bytes, lines, numbers, and the pieces of which its kind of text is made.

Every mutation is `change(text, chance, others) -> text`, where `chance` alone decides what happens and `others` are
sound texts of the same kind from which pieces are taken.
"""

from __future__ import annotations

import copy
import json
import math
import re
from collections.abc import Callable, Sequence
from random import Random
from typing import Any

from toolpaths.common.errors import JobError
from toolpaths.job.files.yaml_text import parse_document

Change = Callable[[str, Random, Sequence[str]], str]

_NUMBER = re.compile(r"(?<![\w.])[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?|(?<=[A-Z])[-+]?(?:\d+\.?\d*|\.\d+)")
_ODD = (
    "0", "-0", "-1", "1", "2", "1e-9", "1e-6", "0.001", "1000", "1e5", "1e6", "999999", "1e9", "1e12", "1e13", "1e308",
    "1e999", "-1e6", ".nan", "nan", "inf", "-.inf", "1/0", "1/64 in", "1e-320", "9" * 30, "0x10", "1,5", "", "true",
)  # fmt: skip
_FACTORS = (-1.0, 0.0, 0.5, 0.9, 1.1, 2.0, 10.0, 100.0, 1e3, 1e4, 1e6, 1e9, 0.1, 0.01, 1e-3, 1e-4, 1e-6, 1e-9)
_SCRAPS = (
    "\x00", "\t", "\r", "\ufeff", "\u2028", "\u00e9", "\U0001f3b8", "- ", ": ", "{", "}", "[", "]", "'", '"', "#",
    "&a ", "*a", "!!int ", "|", ">", "%", "(", ")", ";", "<", ">", "&lt;", "\n\n", "---\n", "...\n", "\\", "~", "null",
)  # fmt: skip
_MORE = 6_000
"""By so many characters a text may grow at once: what takes long for its honest size is no hang."""


def odd_number(chance: Random, was: str = "1") -> str:
    """Another number, or what stands for one: made of the one that was, or from a list of awkward ones."""
    if chance.random() < 0.6:
        try:
            return f"{float(was) * chance.choice(_FACTORS):.10g}"
        except ValueError:
            pass
    return chance.choice(_ODD)


# Any text


def numbers(text: str, chance: Random, others: Sequence[str]) -> str:
    """A number becomes huge, tiny, negative, nothing, or no number."""
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    one = chance.choice(found)
    return text[: one.start()] + odd_number(chance, one.group()) + text[one.end() :]


def scraps(text: str, chance: Random, others: Sequence[str]) -> str:
    """A few characters are lost, exchanged or put in."""
    at = chance.randint(0, len(text))
    piece = chance.choice(("", chance.choice(_SCRAPS), chr(chance.randint(0, 0x2FF)), chance.choice(_ODD)))
    return text[:at] + piece + text[at + chance.choice((0, 0, 1, 2, 5, 40)) :]


def lines(text: str, chance: Random, others: Sequence[str]) -> str:
    """Lines are lost, doubled, exchanged, taken elsewhere, or the rest is cut off."""
    rows = text.split("\n")
    i, j = chance.randrange(len(rows)), chance.randrange(len(rows))
    some = slice(i, i + chance.choice((1, 1, 2, 5)))
    way = chance.randrange(5)
    if way == 0:
        del rows[some]
    elif way == 1:
        rows[i:i] = rows[some]
    elif way == 2:
        rows[i], rows[j] = rows[j], rows[i]
    elif way == 3:
        rows[j:j] = rows[some]
    else:
        rows = [*rows[:i], rows[i][: chance.randint(0, len(rows[i]))]]
    return "\n".join(rows)


def repeated(text: str, chance: Random, others: Sequence[str]) -> str:
    """Some lines stand there many times over."""
    rows = text.split("\n")
    i = chance.randrange(len(rows))
    some = rows[i : i + chance.choice((1, 2, 4, 12, len(rows)))]
    most = max(2, _MORE // (len("\n".join(some)) + 1))
    return "\n".join([*rows[:i], *(some * min(most, chance.choice((3, 30, 300, 3000)))), *rows[i:]])


def spliced(text: str, chance: Random, others: Sequence[str]) -> str:
    """A few lines of another text stand in it."""
    rows, other = text.split("\n"), chance.choice(others).split("\n")
    i, j = chance.randrange(len(rows)), chance.randrange(len(other))
    rows[i : i + chance.choice((0, 1, 3))] = other[j : j + chance.choice((1, 3, 10))]
    return "\n".join(rows)


ANY: tuple[Change, ...] = (numbers, scraps, lines, repeated, spliced)


# YAML


def tree(text: str) -> Any:
    """The plain values of a YAML text."""
    return copy.deepcopy(parse_document(text.encode(), "seed.yaml").data)


def as_yaml(data: Any) -> str:
    """As YAML, a key of the top a line."""
    return "".join(f"{k}: {_flow(v)}\n" for k, v in data.items()) if isinstance(data, dict) else _flow(data)


def _flow(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return f".{value}" if isinstance(value, float) and not math.isfinite(value) else json.dumps(value)


def places(data: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to every value below the top."""
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [way for k, v in items for way in ((*at, k), *places(v, (*at, k)))]


def found(data: Any, way: Sequence[Any]) -> Any:
    """The value at a place."""
    for step in way:
        data = data[step]
    return data


def of_keys(keys_at: Callable[[Sequence[Any]], Sequence[str]]) -> Change:
    """A mutation that knows the keys of a kind of YAML text: values, keys, nesting, pieces of other texts.

    `keys_at`: the keys that the mapping at a place may have.
    """

    def change(text: str, chance: Random, others: Sequence[str]) -> str:
        try:
            data, other = tree(text), tree(chance.choice(others))
        except JobError:  # spoilt already
            return scraps(text, chance, others)
        ways = places(data)
        if not ways:
            return text
        plain = [w for w in ways if not isinstance(found(data, w), dict | list)]
        way = chance.choice(plain if plain and chance.random() < 0.6 else ways)
        _spoil(found(data, way[:-1]), way[-1], chance, other, keys_at(way))
        return as_yaml(data)

    change.__name__ = "yaml"
    return change


def _spoil(around: Any, key: Any, chance: Random, other: Any, keys: Sequence[str]) -> None:
    value = around[key]
    draw = chance.random()
    if draw < 0.55:
        around[key] = _other_value(value, chance)
    elif draw < 0.60 and isinstance(around, dict):
        around[chance.choice(keys)] = around.pop(key)
    elif draw < 0.75 and isinstance(around, dict):
        around[chance.choice(keys)] = _other_value(chance.choice((1, 1, 0.1, value)), chance)
    elif draw < 0.78:
        del around[key]
    elif draw < 0.90:
        same = [w for w in places(other) if w[-1] == key] or places(other)
        around[key] = copy.deepcopy(found(other, chance.choice(same)))
    elif draw < 0.95 and isinstance(value, list) and value:
        around[key] = value * chance.choice((2, 3, 10) if isinstance(value[0], dict) else (2, 10, 100, 400))
    else:
        for _ in range(chance.choice((1, 3, 30, 60))):
            value = [value] if chance.random() < 0.5 else {chance.choice(keys): value}
        around[key] = value


def _other_value(value: Any, chance: Random) -> Any:
    if isinstance(value, int | float) and not isinstance(value, bool) and chance.random() < 0.8:
        made = value * chance.choice(_FACTORS)
        return int(made) if isinstance(value, int) and made == int(made) and chance.random() < 0.8 else made
    return chance.choice(
        (0, -1, 1, 1e-9, 1e-6, 1e-3, 0.05, 1e3, 1e6, 1e12, 60, True, None, "", "x", [], {}, [1, 2], {"a": 1}, "fret 3",
         "end", "1/4 in", "1000 in", "0.0001 mm", [[0, 0]], float("nan"), "round", "a" * 300, 2**70)
    )  # fmt: skip


def aliases(text: str, chance: Random, others: Sequence[str]) -> str:
    """Aliases upon aliases, each ten times the one before."""
    deep = chance.choice((2, 5, 9))
    rows = ["a0: &a0 [1, 1]"]
    rows += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * chance.choice((2, 10)))}]" for i in range(1, deep)]
    return "\n".join((*rows, text) if chance.random() < 0.5 else (text, *rows))


# Programs


_WORDS = (
    "G0", "G1", "G2", "G3", "G4 P1e6", "G17", "G18", "G19", "G20", "G21", "G28", "G40", "G49", "G53", "G54", "G59.3",
    "G80", "G81", "G90", "G91", "G92", "G94", "M0", "M2", "M3", "M4", "M5", "M6", "M7", "M30", "M98", "F0", "F1e-6",
    "F999999", "S0", "S1e6", "T0", "T99999", "X0", "Y0", "Z0", "Z-900000", "X900000 Y900000", "I1e5", "J-1e-6", "K0",
    "R5", "G2 X0 Y0 I900000", "G3 I-50000", "%", "(", ")", "(MSG,", ";", "/", "#1=2", "[1+1]", "N10", "(Bit 1: a)",
    "(Program 1 of 1, setup face)", "(Lifted: 1e6 mm)", "(Feature a: b)",
)  # fmt: skip
_WORD = re.compile(r"[A-Z][-+]?[\d.]+")


def words(text: str, chance: Random, others: Sequence[str]) -> str:
    """Words of a program lost, exchanged, put in, or their letters changed."""
    spots = list(_WORD.finditer(text))
    if not spots:
        return text + chance.choice(_WORDS)
    one = chance.choice(spots)
    way = chance.randrange(4)
    new = (
        "",
        chance.choice(_WORDS),
        one.group() + " " + chance.choice(_WORDS),
        chance.choice("GMXYZIJKFSTNPR") + one.group()[1:],
    )[way]
    return text[: one.start()] + new + text[one.end() :]


# Drawings


_TAGS = (
    "0", "LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "VERTEX", "SEQEND", "ELLIPSE", "SPLINE", "INSERT", "TEXT",
    "HATCH", "ENDSEC", "SECTION", "ENTITIES", "BLOCK", "ENDBLK", "EOF", "DOT", "10", "20", "40", "41", "42", "50", "62",
    "70", "71", "72", "73", "210", "230", "8", "-1", "1e5", "1e6", "99999999", "-8", "$INSUNITS", "9", "1e-9", "360",
)  # fmt: skip


def tags(text: str, chance: Random, others: Sequence[str]) -> str:
    """Tags of a DXF text (pairs of lines, a group code and a value) lost, doubled, moved, or of another value."""
    rows = text.split("\n")
    pairs = [rows[i : i + 2] for i in range(0, len(rows) - 1, 2)]
    start = next((i for i, p in enumerate(pairs) if p[-1].strip() == "ENTITIES"), 0)
    if chance.random() < 0.2:
        start = 0
    if start >= len(pairs):
        return text
    i = chance.randrange(start, len(pairs))
    way = chance.randrange(6)
    if way == 0:
        del pairs[i : i + chance.choice((1, 1, 3))]
    elif way == 1:
        pairs[i][1] = odd_number(chance, pairs[i][1].strip())
    elif way == 2:
        pairs[i][1] = chance.choice(_TAGS)
    elif way == 3:
        pairs[i][0] = chance.choice(_TAGS)
    else:
        heads = [k for k in range(start, len(pairs)) if pairs[k][0].strip() == "0"] or [i]
        first = chance.choice(heads)
        whole = pairs[first : next((k for k in heads if k > first), len(pairs))]
        if way == 4:
            pairs[first:first] = whole * chance.choice((1, 5, 100, 2000))
        else:
            pairs[chance.choice(heads) : first] = whole
    return "\n".join("\n".join(p) for p in pairs)[: len(text) + _MORE] + "\n"


_ELEMENT = re.compile(r"<(\w+)[^<>]*?/?>")
_VALUE = re.compile(r'([\w:-]+)="([^"]*)"')
_ELEMENTS = (
    '<path d="M0 0C1e5 1e5-1e5 1e5 3 3"/>', '<path d="M0 0A1e-3 1e5 9 1 1 5 5z"/>', '<circle r="1e5"/>',
    '<rect width="9" height="9" rx="1e9"/>', '<use href="#a"/>', '<g transform="scale(1e3)">', "</g>", "<g>", "<svg>",
    '<text x="1">a</text>', "<image/>", "<style>*{}</style>", "<!-- -->", "<![CDATA[", "<!DOCTYPE a>", "&a;", "<?a?>",
    '<polygon points="0 0 9 9 9 0 0 9"/>', '<ellipse rx="1e-6" ry="50"/>', '<line x2="1e-9"/>',
)  # fmt: skip


def elements(text: str, chance: Random, others: Sequence[str]) -> str:
    """Elements and attributes of an SVG text lost, doubled, put within themselves, or of another value."""
    spots = list(_ELEMENT.finditer(text))
    if not spots:
        return text + chance.choice(_ELEMENTS)
    one = chance.choice(spots)
    before, own, after = text[: one.start()], one.group(), text[one.end() :]
    way = chance.randrange(6)
    if way == 0:
        own = chance.choice(("", chance.choice(_ELEMENTS)))
    elif way == 1:
        own += chance.choice(_ELEMENTS) * chance.choice((1, 1, 20, 2000))
    elif way == 2:
        own = own * chance.choice((2, 30, 2000))
    elif way == 3:
        deep = chance.choice((2, 50, 5000))
        own = "<g>" * deep + own + "</g>" * deep
    else:
        values = list(_VALUE.finditer(own))
        if values:
            value = chance.choice(values)
            new = _path(value[2], chance) if value[1] == "d" else odd_number(chance, value[2])
            if way == 5:
                new = f'{value[2]}" transform="{chance.choice(("scale", "rotate", "skewX"))}({odd_number(chance)})'
            own = own[: value.start(2)] + new + own[value.end(2) :]
    return before + own[: len(one.group()) + _MORE] + after


def _path(d: str, chance: Random) -> str:
    way = chance.randrange(4)
    if way == 0:
        return d * chance.choice((2, 50, 1000))
    if way == 1:
        return d + "".join(
            chance.choice("MLHVCSQTAZmlhvcsqtaz") + " ".join(odd_number(chance) for _ in range(chance.randint(0, 7)))
            for _ in range(3)
        )
    if way == 2:
        return re.sub("[A-Za-z]", lambda m: chance.choice("MLHVCSQTAZ") if chance.random() < 0.2 else m[0], d)
    return numbers(d, chance, ())
