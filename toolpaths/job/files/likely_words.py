"""The known words that somebody may have meant by one that is not known."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

_OFFERED = 3
"""As many known words are offered, at most."""
_SURE = 0.75
_ALSO_CALLED: Mapping[str, tuple[str, ...]] = {
    **dict.fromkeys(("two way", "2 way"), ("double acting", "two-way wheel")),
    **dict.fromkeys(("dual action", "double action", "dual acting", "bi directional"), ("double acting",)),
    **dict.fromkeys(("one way", "single action", "single acting"), ("single bent",)),
    **dict.fromkeys(("spoke wheel", "spoke nut"), ("two-way wheel",)),
}
"""Names by which other makers sell what is known here, in small letters without hyphens. From memory."""


def nearest(word: object, known: Iterable[object]) -> str:
    """The known word that was probably meant, or nothing."""
    found = likely(word, known)
    return found[0] if found else ""


def likely(word: object, known: Iterable[object]) -> tuple[str, ...]:
    """The known words that may be meant: those that `named` finds, else the one that is most similar.

    Of a name of several words each word counts.
    """
    names = [str(k) for k in known]
    several = {part: name for name in reversed(names) if len(words := _parts(name)) > 1 for part in words}
    # A part is short, and many words are a little like it.
    part, name = most_similar(word, several, _SURE), most_similar(word, names)
    close = most_similar(word, [name, part])
    return named(word, names) or ((close if close in names else several[close],) if close else ())


def named(word: object, known: Iterable[object]) -> tuple[str, ...]:
    """The known words that a word names: the same but for capitals, blanks and hyphens; else those that the trade calls
    so; else those that it is a part of."""
    names, asked = [str(k) for k in known], _parts(str(word)[:60])
    same = [name for name in names if _parts(name) == asked]
    called = [name for name in _ALSO_CALLED.get(" ".join(asked), ()) if name in names]
    whole = [name for name in names if asked and len(" ".join(asked)) > 2 and _holds(_parts(name), asked)]
    return tuple(same[:1] or called or whole[:_OFFERED])


def did_you_mean(word: object, known: Iterable[object], what: str, other: str = "") -> str:
    """A hint: the nearest known word, or all of them where none is near; then what else can be done."""
    words = [str(k) for k in known]
    close = likely(word, words)
    hint = f"did you mean {' or '.join(f'`{one}`' for one in close)}?" if close else f"{what}: {', '.join(words)}"
    return f"{hint}{' or' if close else '; or'} {other}" if other else hint


def most_similar(word: object, known: Iterable[str], least: float = 0.6) -> str:
    """The known word that is most similar, by as much at least as a part of 1, or nothing."""
    from difflib import get_close_matches

    close = get_close_matches(str(word)[:60].lower(), list(known), 1, least)
    return close[0] if close else ""


# Private


def _parts(text: str) -> list[str]:
    """The words of a name, without capitals, blanks and hyphens."""
    return [part for part in re.split(r"[\s_-]+", text.casefold()) if part]


def _holds(parts: list[str], asked: list[str]) -> bool:
    """Whether words stand one after the other in a name."""
    return any(parts[i : i + len(asked)] == asked for i in range(len(parts) - len(asked) + 1))
