"""What is left to do by hand, in the order in which a maker does it: groups with a heading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.job import SAWN_FIRST, Job
from toolpaths.job.stage import Stage

_NOT_ON = {
    "neck": {Stage.slots: Stage.off_router, Stage.top: Stage.off_router, Stage.edges: Stage.off_router,
             Stage.frets: Stage.off_router},
    "board": {Stage.bars: Stage.off_router, Stage.channel: Stage.off_router, Stage.glue: Stage.off_router,
              Stage.back: Stage.off_router, Stage.holes: Stage.off_router},
}  # fmt: skip
"""Stages that one part has not: their work is done when it comes off the router."""


@dataclass(frozen=True, slots=True)
class Group:
    """One stretch of the work."""

    title: str
    entries: tuple[Handwork, ...]


def groups_of(job: Job, work: Sequence[Handwork]) -> list[Group]:
    """The work in groups, in the order of a board or of a neck; none empty."""
    by_title: dict[str, list[Handwork]] = {}
    for stage, entry in sorted(((_stage(job, w), w) for w in work), key=lambda pair: _rank(job, pair[0])):
        by_title.setdefault(stage.title, []).append(entry)
    return [Group(title, tuple(entries)) for title, entries in by_title.items()]


def in_order(job: Job, work: Sequence[Handwork]) -> tuple[Handwork, ...]:
    """The same work, as it is done one after the other."""
    return tuple(entry for group in groups_of(job, work) for entry in group.entries)


def _stage(job: Job, entry: Handwork) -> Stage:
    stage = Stage.before if entry.when else entry.stage
    return _NOT_ON[job.part].get(stage, stage)


def _rank(job: Job, stage: Stage) -> float:
    # The top comes before the slots, unless the maker saws first.
    if stage is Stage.top and SAWN_FIRST not in job.by_hand:
        return Stage.slots.value[0] - 0.5
    return stage.value[0]
