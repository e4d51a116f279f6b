"""How long the machine's X truly is, by the distance of two cuts; which setups follow it.

All that is cut on one side is cut by one X. A second side lies on pins in bores of the first: it is cut by the X that
bored them, or its bores would not meet the pins, and what goes with the first side would lie beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning
from toolpaths.found.values import SAME, Replaced, Values
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Job
from toolpaths.job.setup import Setup

_MEETS = 1.0
"""A bore in the bed no further from one of the work's belongs to it, mm."""
READ = 0.1
"""An axis is corrected from this difference on, mm: a rule shows no less. Common practice, no source."""


class _Way(NamedTuple):
    """A measured way, mm: what X was told to go for it in all, how far it went; from which program that is followed."""

    mark: Mark
    since: int
    told: float
    went: float


def corrected_axes(job: Job, values: Values) -> Iterator[Replaced]:
    """For each setup that follows a measured X: what is told and where that goes, mm; `subject` is the setup."""
    setups = [setup for setup in job.setups if setup.stock is None]
    if not setups:
        return
    first = setups[0].flip
    face = {setup.name for setup in setups if setup.flip == first}
    bored = max((m.after - 1 for m in _met_by_pins(setups, values.marks) if m.setup in face), default=None)
    of_face = _ways([pair for pair in values.of(Meaning.axis) if pair[0].setup in face], values)
    of_other = _ways([pair for pair in values.of(Meaning.axis) if pair[0].setup not in face], values)
    for setup in setups:
        ways = of_face
        if setup.flip != first:
            ways = of_other if bored is None else [way for way in of_face if way.since <= bored]
        if ways and abs(ways[-1].went - ways[-1].told) > SAME:
            yield Replaced((ways[-1].mark,), setup.name, ways[-1].told, ways[-1].went)


def _met_by_pins(setups: Sequence[Setup], marks: Sequence[Mark]) -> list[Mark]:
    """The marks of bores that pins of the other side stand in: those over its bores in the bed, else every one."""
    of_kind = {
        kind: {f.name for setup in setups for f in setup.features if kind in f.cuts}
        for kind in (CutKind.pin_hole, CutKind.bed_hole)
    }
    bores = [m for m in marks if m.measure.figures and m.feature in of_kind[CutKind.pin_hole]]
    bed = [m.figure.at for m in marks if m.measure.figures and m.feature in of_kind[CutKind.bed_hole]]
    met = [m for m in bores if any(math.dist(m.figure.at, (x, -y)) < _MEETS for x, y in bed)]
    return met or bores


def _ways(found: list[tuple[Mark, float]], values: Values) -> list[_Way]:
    """The measured ways of one side in order, each told by what its program took X to be."""
    out: list[_Way] = []
    for mark, value in sorted(found, key=lambda pair: pair[0].after):
        known = [way.told / way.went for way in out if way.since <= mark.after - 1]
        asked, by = mark.figure.value, known[-1] if known else 1.0
        off = abs(value - asked) > READ
        if off or known:
            out.append(_Way(mark, values.cut[mark.number], asked * by, value if off else asked))
    return out
