"""Divide a toolpath before one of its sections into two, each of which a program can cut by itself."""

from __future__ import annotations

from dataclasses import replace

from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Raster
from toolpaths.toolpath.toolpath import Feed, Rapid, Section, Step, Toolpath

_NEAR = 0.5
"""How far above its last place the bit slows down when it comes back, mm."""


def may_begin(toolpath: Toolpath, context: SetupContext, k: int) -> bool:
    """Whether a program may begin with section k, and the one before it end there.

    Not amid planing where the stock's top is what the next bit is set on: it is gone, and the face is not there yet.
    """
    if k == 0:
        return True
    a, b = toolpath.owners[k - 1], toolpath.owners[k]
    planing = a == b and isinstance(toolpath.program_plan.operations[a], Raster)
    return not (planing and context.setup.zero.z == "stock top")


def in_two(toolpath: Toolpath, context: SetupContext, k: int) -> tuple[Toolpath, Toolpath]:
    """Two complete toolpaths, neither empty: sections before k, and from k on.

    The second comes straight down where the first lifted the bit, through what is cut already, if its section begins
    in the wood.
    """
    before, after = toolpath.sections[:k], toolpath.sections[k:]
    end, safe = before[-1].steps[-1], context.travel_height
    if end.z < safe:
        before = (*before[:-1], _with(before[-1], last=(Rapid(end.x, end.y, safe),)))
    if end.z < safe and not isinstance(after[0].steps[0], Rapid):
        cutting = toolpath.program_plan.operations[toolpath.owners[k]].cutting
        down: list[Step] = [Rapid(end.x, end.y, safe)]
        if end.z + _NEAR < safe:
            down.append(Feed(end.x, end.y, end.z + _NEAR, cutting.descent))
        down.append(Feed(end.x, end.y, end.z, cutting.plunge))
        after = (_with(after[0], first=tuple(down)), *after[1:])
    return _standing_alone(toolpath, before, 0), _standing_alone(toolpath, after, k)


def section_in_two(toolpath: Toolpath, k: int, step: int, goes_on: str) -> Toolpath:
    """The same toolpath with section k as two, the second from one of its steps on; `goes_on` is added to its title."""
    section = toolpath.sections[k]
    parts = (
        replace(section, steps=section.steps[:step], rows=()),
        replace(section, steps=section.steps[step:], rows=(), title=f"{section.title}, {goes_on}"),
    )
    sections = (*toolpath.sections[:k], *parts, *toolpath.sections[k + 1 :])
    owners = (*toolpath.owners[: k + 1], *toolpath.owners[k:])
    return Toolpath(toolpath.program_plan, sections, owners)


# Private


def _with(section: Section, first: tuple[Step, ...] = (), last: tuple[Step, ...] = ()) -> Section:
    return replace(section, steps=(*first, *section.steps, *last))


def _standing_alone(toolpath: Toolpath, sections: tuple[Section, ...], at: int) -> Toolpath:
    """A toolpath of some sections, with the operations that they belong to."""
    owners = toolpath.owners[at : at + len(sections)]
    kept = sorted(set(owners))
    program_plan = toolpath.program_plan
    operations = tuple(program_plan.operations[i] for i in kept)
    return Toolpath(replace(program_plan, operations=operations), sections, tuple(kept.index(i) for i in owners))
