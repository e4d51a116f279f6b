"""The work by hand of one job in groups, in the order in which the plan has it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.stage import Heading, Stage
from toolpaths.verification.outcome import Outcome
from toolpaths.workshop.step import StepKind
from toolpaths.workshop.steps_of_piece import steps_of_piece


@dataclass(frozen=True, slots=True)
class HandGroup:
    """Work under one heading. `setup`: whose programs it comes before or between; empty for all other work.

    `stages`: those that its entries belong to, in order.
    """

    heading: Heading
    setup: str
    stages: tuple[Stage, ...]
    entries: tuple[Handwork, ...]

    @property
    def title(self) -> str:
        """The heading in words."""
        return f"Before and between the programs of setup {self.setup}" if self.setup else self.heading.value


def hand_groups(outcome: Outcome) -> list[HandGroup]:
    """Every entry of the list of handwork, the same sentence once a setup; none empty."""
    found = [
        (step.stage, step.setup, step.work)
        for step in steps_of_piece(outcome)
        if step.kind is StepKind.hand and step.work is not None and step.stage is not None
    ]
    out: list[HandGroup] = []
    for (heading, setup), group in groupby(found, key=lambda one: (one[0].heading, one[1])):
        rows = list(group)
        stages = tuple(dict.fromkeys(stage for stage, _, _ in rows))
        out.append(HandGroup(heading, setup, stages, tuple(work for _, _, work in rows)))
    return out
