"""Sentences in lines of a given width: broken between words only, figures kept beside their units, indents kept."""

from __future__ import annotations

import re
import textwrap

_LABEL = re.compile(r"^(\s*(?:\d+\. |- |# )?(?:\S+(?: \S+)* {2,})?)")
_DEEPEST = 24
"""An indent above this is none that lines could hang from."""
_UNIT = re.compile(r"(?<=\d) (?=(?:mm[²3]?|in[²3]?|m|cm3|ml|N|W|mm/min|in/min|rpm|min|s|h|%|degrees?|cents?)(?!\w))")
_PLACE = re.compile(r"(?<=\b[xyXYZ]) (?=-?\d)")
_KEPT = "\ue000"
"""Stands in for a blank that no line ends at; no text holds it: it is of the private use area."""


def wrapped(text: str, width: int) -> list[str]:
    """Each line of a text broken between words to at most `width` characters; a longer word stays whole.

    The lines that follow keep the indent of the first, or begin below what stands behind its label: a number, a dash,
    or words that two blanks part from the rest.

    >>> wrapped("place   in a bit of the job, or in the rack", 30)
    ['place   in a bit of the job,', '        or in the rack']
    """
    return [line for one in text.split("\n") for line in _wrapped_line(one, width)]


def wrapped_line(text: str, width: int, indent: int = 0) -> list[str]:
    """One line broken to `width`, the lines that follow indented by so many blanks; none are broken within a word.

    >>> wrapped_line("a pass of 0.25 mm", 14)
    ['a pass of', '0.25 mm']
    """
    lines = textwrap.wrap(
        _kept(text),
        width,
        subsequent_indent=" " * indent,
        break_long_words=False,
        break_on_hyphens=False,
        expand_tabs=False,
        replace_whitespace=False,
    )
    return [line.replace(_KEPT, " ") for line in lines] or [""]


def longest_word(text: str) -> int:
    """Characters of the longest part of a text that no line divides."""
    return max((len(word) for word in _kept(text).split()), default=0)


def _kept(text: str) -> str:
    """The text with marks in the place of blanks at which no line ends."""
    return _PLACE.sub(_KEPT, _UNIT.sub(_KEPT, text))


def _wrapped_line(line: str, width: int) -> list[str]:
    if len(line) <= width:
        return [line]
    found = _LABEL.match(line)
    indent = len(found[1]) if found is not None else 0
    plain = len(line) - len(line.lstrip(" "))
    return wrapped_line(line, width, indent if indent <= _DEEPEST else plain)
