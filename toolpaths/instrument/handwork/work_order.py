"""Handwork in working order: groups with a heading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.job import SAWN_FIRST, Job
from toolpaths.job.stage import Heading, Stage

_OF_NECK = frozenset({Stage.bars, Stage.channel, Stage.glue, Stage.trim, Stage.back, Stage.holes})
_OF_BOARD = frozenset({Stage.slots, Stage.top, Stage.edges, Stage.frets})


@dataclass(frozen=True, slots=True)
class Group:
    """One group of handwork under a heading. `stages`: those that its entries belong to, in order."""

    heading: Heading
    stages: tuple[Stage, ...]
    entries: tuple[Handwork, ...]

    @property
    def title(self) -> str:
        """The heading in words."""
        return self.heading.value


def groups_of(job: Job, work: Sequence[Handwork]) -> list[Group]:
    """The work in groups, in the order of a board or of a neck; none empty."""
    found = sorted(((stage_of(job, w), w) for w in work), key=lambda pair: _rank(job, pair[0]))
    return together(found)


def together(work: Sequence[tuple[Stage, Handwork]]) -> list[Group]:
    """Groups of work that is in order already: neighbours whose stages share a heading."""
    out: list[Group] = []
    for heading, group in groupby(work, key=lambda pair: pair[0].heading):
        pairs = list(group)
        stages = tuple(dict.fromkeys(stage for stage, _ in pairs))
        out.append(Group(heading, stages, tuple(entry for _, entry in pairs)))
    return out


def in_order(job: Job, work: Sequence[Handwork]) -> tuple[Handwork, ...]:
    """The same work, as it is done one after the other."""
    return tuple(entry for group in groups_of(job, work) for entry in group.entries)


def stage_of(job: Job, entry: Handwork) -> Stage:
    """The stage at which it is done: off the router where the part does not have the stage of the work itself."""
    if entry.when:
        return Stage.before
    others = _OF_BOARD if job.part == "neck" else _OF_NECK
    return Stage.off_router if entry.stage is None or entry.stage in others else entry.stage


# Private


def _rank(job: Job, stage: Stage) -> float:
    # The top comes before the slots, unless the maker saws first.
    if stage is Stage.top and SAWN_FIRST not in job.by_hand:
        return Stage.slots.rank - 0.5
    return stage.rank
