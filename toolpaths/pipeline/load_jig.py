"""Read the jig that a blank lies on: what stands on it, how high its seat is, and whether it is this job's at all."""

from __future__ import annotations

import os
from pathlib import Path

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.units import show
from toolpaths.job.files.document import Document, KeyPath
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.jig import STAYS_UNDER, Jig, on_seat, walls_of
from toolpaths.job.job import Job, Setup
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.machine import Machine
from toolpaths.job.obstacles import Present
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.pipeline.load_served import Load, same_file


def jigs_under(document: Document, path: Path, job: Job, machine: Machine, load: Load) -> dict[str, Jig]:
    """The jig under the blank of each setup that lies on one. Raises JobError with every problem."""
    out: dict[str, Jig] = {}
    problems: list[Problem] = []
    loaded: dict[str, LoadedJob] = {}
    for i, setup in enumerate(job.setups):
        name = setup.holders.jig
        if name is None:
            continue
        at: KeyPath = ("setups", i, "hold", "jig")
        try:
            if name not in loaded:
                loaded[name] = _jig_job(document, at, path.parent / name, load)
            found = loaded[name]
            problems += _not_this(document, at, path, job, machine, setup, found)
            out[setup.name] = jig_of(found)
        except JobError as error:
            problems += error.problems
    if problems:
        raise JobError(list(dict.fromkeys(problems)))
    return out


def jig_of(loaded: LoadedJob) -> Jig:
    """What a job sees of the jig that it lies on, once that is cut: what stands there in its last setup."""
    context = _context(loaded)
    seat, box = context.seat, context.stock_box
    stays = [on_seat(it, seat) for it in context.obstacles if it.present is not Present.before_screws]
    return Jig(
        title=loaded.job.title,
        job_hash=loaded.job_hash,
        box=box,
        under=seat.height,
        rise=context.glue - seat.height,
        obstacles=(*stays, *walls_of(seat, box, context.glue)),
    )


# Private


def _context(loaded: LoadedJob) -> SetupContext:
    """The context of a jig's last setup: what stands on it then stays."""
    setup = loaded.job.setups[-1]
    return setup_context_of(loaded.job, loaded.machine, loaded.wood, setup, loaded.path.parent, served=loaded.served)


def _jig_job(document: Document, at: KeyPath, path: Path, load: Load) -> LoadedJob:
    """The job of a jig. Raises JobError for one that is not there, is none, or cannot be used."""
    if not os.path.isfile(path):
        hint = "its path counts from the job's folder; `neckpath start --part jig` writes a first one"
        raise JobError([document.problem(at, f"there is no file `{str(path)[:200]}`", hint)])
    found = read_document(path).data.get("part", "board")
    if found != "jig":
        words = f"that job makes a {str(found)[:40]}, not a jig"
        raise JobError([document.problem(at, words, "name the job with `part: jig`")])
    try:
        return load(path)
    except JobError as error:
        first = document.problem(at, "the jig's job cannot be used", "put its own faults right first; they follow")
        raise JobError([first, *error.problems]) from None


def _not_this(
    document: Document, at: KeyPath, path: Path, job: Job, machine: Machine, setup: Setup, jig: LoadedJob
) -> list[Problem]:
    """Why a jig is not that of a setup."""
    served = {} if jig.job.serves is None else dict(jig.job.serves.paths)
    mine = served.get("neck" if job.part == "neck" else "board")
    out: list[Problem] = []
    if mine is None or not same_file(jig.path.parent / mine, path):
        hint = f"write `for: {{{job.part}: {os.path.relpath(path, jig.path.parent)}}}` into {jig.path.name}"
        return [document.problem(at, "the jig does not serve this job", hint)]
    offset = jig.job.setups[0].offset
    if setup.offset != offset:
        words = f"the jig's offset is {offset}, and this setup's {setup.offset}: one offset serves both"
        out.append(document.problem((*at[:-2], "offset"), words, f"write `offset: {offset}`"))
    if jig.machine != machine:
        words = f"the jig is cut on {jig.machine.name}, and this job is for {machine.name}"
        out.append(document.problem(at, words, "a jig stays on its machine: name the same one"))
    context = _context(jig)
    thick = jig.job.stock.thickness
    if context.glue == thick.max and thick.min < thick.max:
        hint = "give the jig a `plane: {leave: ...}`, which makes it true to this machine"
        out.append(document.problem(at, "the jig's face is not planed, and not of one thickness", hint))
    if context.seat.height <= STAYS_UNDER:
        units = job.units
        words = f"only {show(context.seat.height, units)} of the jig would be under the blank"
        out.append(document.problem(at, words, f"at least {show(STAYS_UNDER, units)}: a less deep seat"))
    return out
