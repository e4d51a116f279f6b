"""What holds the blank and what is in the way, in words for the key of a picture: one entry for each kind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Literal, assert_never

from toolpaths.common.units import Units, show
from toolpaths.job.obstacles import Obstacle, ObstacleKind
from toolpaths.reports.text.holding import KIND_WORDS, patches_of
from toolpaths.reports.text.words import count, plain
from toolpaths.verification.outcome import SetupReport

Shape = Literal["keep_out", "screw", "clamp", "stop", "pin", "tape", "vacuum"]
"""How a picture draws it."""
_SAME = 1e-6
_NAMED = 4
"""Of more clamps or stops only the number is given."""


@dataclass(frozen=True, slots=True)
class HolderKey:
    """One entry: how it is drawn, and its words. `placed`: it is drawn, and does not lie under the whole blank."""

    shape: Shape
    words: str
    placed: bool = True


def shape_of(kind: ObstacleKind) -> Shape:
    """How a picture draws this kind."""
    match kind:
        case ObstacleKind.keep_out:
            return "keep_out"
        case ObstacleKind.screw:
            return "screw"
        case ObstacleKind.clamp:
            return "clamp"
        case ObstacleKind.stop:
            return "stop"
        case ObstacleKind.pin:
            return "pin"
    assert_never(kind)


def holder_keys(setup: SetupReport, units: Units) -> list[HolderKey]:
    """One entry for each kind that the setup has, heights from the bed or the jig's seat in the job's units."""
    return list(_keys(setup, units))


def height_words(setup: SetupReport, it: Obstacle, units: Units) -> str:
    """`3.00 mm above the bed`; of a jig's sunk screw `1.00 mm below the seat`."""
    raised = setup.context.above_bed(it.top)
    ground = "bed" if setup.context.jig is None else "seat"
    return f"{show(abs(raised), units)} {'above' if raised > -_SAME else 'below'} the {ground}"


# Private


def _keys(setup: SetupReport, units: Units) -> Iterator[HolderKey]:
    for kind in ObstacleKind:
        mine = [it for it in setup.obstacles if it.kind is kind]
        if mine:
            yield HolderKey(shape_of(kind), "; ".join(_grouped(setup, kind, mine, units)))
    hold = setup.context.setup.holders
    parts = {name for name, _ in patches_of(setup)}
    if hold.tape is not None:
        yield _under("tape", "double-sided tape", "tape" in parts)
    if hold.vacuum is not None:
        yield _under("vacuum", "vacuum", "vacuum" in parts)


def _under(shape: Shape, word: str, placed: bool) -> HolderKey:
    return HolderKey(shape, f"{word} under {'this part of' if placed else 'the whole'} blank", placed)


def _grouped(setup: SetupReport, kind: ObstacleKind, mine: list[Obstacle], units: Units) -> Iterator[str]:
    """Those of one height together: round ones are counted, the others named."""
    for height, group in groupby(mine, key=lambda it: height_words(setup, it, units)):
        same = list(group)
        names = list(dict.fromkeys(plain(it.name, 40) for it in same))
        word = KIND_WORDS[kind]
        if same[0].radius or len(names) > _NAMED:
            yield f"{count(len(same), word)}, top {height}"
        else:
            yield f"{word}: {', '.join(names)}, top {height}"
