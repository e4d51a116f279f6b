"""One step of the work on an instrument, what it needs, and steps in an order that their needs allow."""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum, unique
from graphlib import TopologicalSorter
from typing import Literal

from toolpaths.found.mark import Mark
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.stage import Stage

Piece = Literal["jig", "board", "neck"]
PIECES: tuple[Piece, ...] = ("jig", "board", "neck")
"""What a job makes, in the order in which they lie on the machine."""
StepId = tuple[Piece, int]
"""A step's piece, and its number among the steps of that piece, as they were made."""


@unique
class StepKind(Enum):
    """What is done in a step."""

    prepare = "prepare"
    """The blank, or a sheet for inlays, is planed and squared to the job's size."""
    wait = "wait"
    """Wood rests, or glue hardens."""
    lay = "lay"
    """The work is laid on the machine, held, and zeroed; or moved along to its next place."""
    program = "program"
    measure = "measure"
    hand = "hand"
    """What the lists of handwork say."""
    try_on = "try on"
    """The board is laid on the neck, dry."""


@unique
class Wait(Enum):
    """What is waited for, with the fewest and the most hours."""

    blank = ("blank", 12.0, 24.0)
    """The planed blank shows whether it moves."""
    part = ("part", 12.0, 24.0)
    """So does the part, freed from its waste."""
    inlays = ("inlays", 1.0, 24.0)
    bars = ("bars", 12.0, 24.0)
    binding = ("binding", 12.0, 24.0)
    board = ("board", 12.0, 24.0)

    @property
    def hours(self) -> tuple[float, float]:
        """Fewest and most. Common practice, no source; the adhesive's or the filler's maker comes first."""
        return self.value[1], self.value[2]


@dataclass(frozen=True, slots=True)
class Step:
    """One step. `needs`: the steps that must be done before it; `setup` and `program`: where it belongs to one.
    `place`: to which of its places the blank is moved.

    `minutes`: of the machine; `work`, `stage`: of a step by hand; `measures`: of one that measures.
    """

    id: StepId
    kind: StepKind
    needs: frozenset[StepId] = frozenset()
    setup: str = ""
    place: str = ""
    program: int = 0
    minutes: float = 0.0
    work: Handwork | None = None
    stage: Stage | None = None
    wait: Wait | None = None
    measures: tuple[Mark, ...] = ()

    @property
    def piece(self) -> Piece:
        """The piece that it is done to."""
        return self.id[0]

    @property
    def at_machine(self) -> bool:
        """Whether it is done at the booked machine, or between two programs of it. A jig never leaves it."""
        if self.kind in (StepKind.lay, StepKind.program, StepKind.measure):
            return True
        return self.kind is StepKind.hand and (self.piece == "jig" or self.stage is Stage.before)


def in_order(steps: Iterable[Step]) -> tuple[Step, ...]:
    """The steps, each after all that it needs, the same for any order in which they are given.

    Of those that could be next, what is prepared comes first, then the machine, so that few bookings are needed; parts
    rest at the same time. Raises graphlib.CycleError for steps that need each other, KeyError for a need that is not
    among them.
    """
    found = {step.id: step for step in steps}
    sorter: TopologicalSorter[StepId] = TopologicalSorter()
    for step in found.values():
        sorter.add(step.id, *step.needs)
    sorter.prepare()
    waiting: list[tuple[int, int, int, StepId]] = []
    out: list[Step] = []
    while sorter.is_active():
        for one in sorter.get_ready():
            heapq.heappush(waiting, (_rank(found[one]), PIECES.index(one[0]), one[1], one))
        *_, first = heapq.heappop(waiting)
        out.append(found[first])
        sorter.done(first)
    return tuple(out)


def _rank(step: Step) -> int:
    """Which of several steps that could be next comes first: the least."""
    if step.kind is StepKind.prepare:
        return 0
    if step.wait is Wait.blank:
        return 1
    if step.at_machine:
        return 2
    if step.stage is Stage.off_router:
        return 3
    return 4 if step.wait is Wait.part else 5
