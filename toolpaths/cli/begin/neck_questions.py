"""What `neckpath start` asks of a neck: its truss rod, and the bars beside it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from toolpaths.cli.begin.questions import Questions, between, one_of, tell
from toolpaths.cli.options import short

if TYPE_CHECKING:
    from toolpaths.reports.reference.first_answers import Answers, Numbers

_SHORTEST = 100.0
_NARROWEST, _WIDEST, _SHALLOWEST, _DEEPEST = 3.0, 8.0, 3.0, 10.0
"""Bars that the offered bits can cut slots for, and a neck holds, mm."""


def rod_and_bars(q: Questions, a: Answers, n: Numbers) -> Answers:
    """The answers with the rod, its length and the bars. The length that is offered is as long as the neck takes."""
    from toolpaths.job.neck import ROD_KINDS

    kinds = (*(kind for kind, _ in ROD_KINDS), "none")
    if q.talk:
        for kind, means in ROD_KINDS:
            tell(f"  {kind}: {means}")
    a = replace(a, rod=q.ask("rod", f"Truss rod: {', '.join(kinds[:-1])} or none", a.rod, one_of(kinds)))
    if a.rod != "none":
        read = between(n, _SHORTEST, a.longest_rod + 30)
        a = replace(a, rod_length=q.ask("rod-length", "Length of the rod, with its adjuster", n(a.longest_rod), read))
    question = f"Stiffening bars beside it: none, or width x depth such as {n(3.2)} x {n(5.5)}"
    a = replace(a, bars=q.ask("bars", question, "none", _bars(n)))
    # The offered bit is 3.175 mm wide: what is thinner wants a thinner one.
    return replace(a, pocket="three") if a.bars and a.bars[0] < a.bits[a.pocket].diameter else a


def _bars(n: Numbers) -> Callable[[str], tuple[float, float] | None]:
    """A reader of `none`, or of a width and a depth with an x between them."""
    wide, deep = between(n, _NARROWEST, _WIDEST), between(n, _SHALLOWEST, _DEEPEST)

    def read(text: str) -> tuple[float, float] | None:
        if text.casefold() == "none":
            return None
        sizes = [part.strip() for part in re.split(r"[xX]", text)]
        if len(sizes) != 2 or not all(sizes):
            raise ValueError(f"`{short(text)}` is neither `none` nor a width and a depth such as {n(3.2)} x {n(5.5)}")
        try:
            return wide(sizes[0]), deep(sizes[1])
        except ValueError as error:
            raise ValueError(
                f"width {n(_NARROWEST)} to {n(_WIDEST)}, depth {n(_SHALLOWEST)} to {n(_DEEPEST)}: {error}"
            ) from None

    return read
