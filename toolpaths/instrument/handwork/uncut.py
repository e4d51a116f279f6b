"""Handwork that a job leaves because none of its features does it: planing, holes of screws, the outline of a neck.

The order of work: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.common.units import show
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.holders import HEAD_ROOM, SCREW_ROOM, Screws
from toolpaths.job.job import Job
from toolpaths.job.setup import Setup
from toolpaths.job.stage import Stage

TEMPLATES = "neckpath draw JOB -o templates.pdf --templates"


def cuts_of(job: Job) -> frozenset[CutKind]:
    """Every kind of cut that the job's features make."""
    return frozenset(kind for setup in job.setups for f in setup.features for kind in f.cuts)


def uncut(job: Job) -> list[Handwork]:
    """What no program does before and right after the programs, in working order; nothing for a coupon or a gauge."""
    if CutKind.trial in cuts_of(job):
        return []
    return [*_planing(job), *_screw_holes(job), *(_neck(job) if job.part == "neck" else ())]


def outline_words(job: Job) -> str:
    """How a part is sawn to its outline by hand."""
    return f"Saw and trim the {job.part}'s outline by hand: no program cuts it. Print its templates: {TEMPLATES}."


# Private


def _planing(job: Job) -> Iterator[Handwork]:
    """The blank planed by hand, where no program takes its face down."""
    faces = (s for s in job.setups if s.stock is None)
    if job.part == "jig" or any(CutKind.face in f.cuts for s in faces for f in s.features):
        return
    thin, thick = (show(mm, job.units) for mm in (job.stock.thickness.min, job.stock.thickness.max))
    size = thick if thin == thick else f"{thin.split()[0]} to {thick}"
    first = job.setups[0].name
    yield Handwork(
        job.part,
        f"Plane the {job.part}'s blank by hand before setup {first}: no program planes it. Its top must be flat, and "
        f"the blank {size} thick.",
        when="before the setup",
        setup=first,
    )


def _screw_holes(job: Job) -> Iterator[Handwork]:
    """The holes of each setup's screws that neither a program nor an earlier setup's work makes."""
    made: set[tuple[float, float]] = set()
    for setup in job.setups:
        # A separate piece has no holes yet; a blank that is turned over shows them across the centreline.
        there = made if setup.stock is None else set()
        groups = []
        for group in setup.screw_groups:
            groups.append((group, _places(setup, group) - there))
            there |= groups[-1][1]
        count = sum(len(places) for _, places in groups)
        if count and not any(CutKind.screw_hole in f.cuts for f in setup.features):
            yield Handwork(job.part, _drilling(job, setup, groups, count), when="before the setup", setup=setup.name)


def _drilling(job: Job, setup: Setup, groups: list[tuple[Screws, set[tuple[float, float]]]], count: int) -> str:
    sizes: dict[str, int] = {}
    for group, places in groups:
        size = f"{show(group.diameter + SCREW_ROOM, job.units)} wide"
        if group.sunk:
            head, deep = show(group.head + HEAD_ROOM, job.units), show(group.sunk, job.units)
            size += f", and {head} wide and {deep} deep for the head"
        sizes[size] = sizes.get(size, 0) + len(places)
    said = "; ".join(f"{n} of them {size}" if len(sizes) > 1 else size for size, n in sizes.items() if n)
    holes = f"the {count} screw holes" if count > 1 else "the screw hole"
    piece = "blank" if setup.stock is None else "sheet" if setup.stand is None else "board"
    return (
        f"Drill {holes} through the {piece} by hand before the first program of setup {setup.name}: {said}. The places "
        "are in the job, in `hold` of this setup."
    )


def _places(setup: Setup, group: Screws) -> set[tuple[float, float]]:
    side = -1.0 if setup.flip is not None else 1.0
    return {(round(x, 2), round(side * y, 2) + 0.0) for x, y in group.at}


def _neck(job: Job) -> Iterator[Handwork]:
    """The outline, and the headstock's face: where a program cuts the outline, the job says how the face lies."""
    cuts, neck = cuts_of(job), job.instrument.neck
    if CutKind.outline in cuts:
        return
    yield Handwork(job.part, outline_words(job), stage=Stage.off_router)
    faces = (f for s in job.setups if s.flip is None and s.stock is None for f in s.features)
    if neck is not None and neck.headstock is not None and not any(CutKind.step in f.cuts for f in faces):
        yield Handwork(
            job.part,
            "Lower the headstock's face by hand, with saw and plane, where it must be lower than the glue face: no "
            f"program cuts it. The headstock is {show(neck.headstock.thickness, job.units)} thick below its face.",
            stage=Stage.off_router,
        )
