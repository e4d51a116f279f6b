"""Read the jig that a blank lies on: what stands on it, how high its seat is, and whether it is this job's at all."""

from __future__ import annotations

import os
from pathlib import Path

from toolpaths.common.errors import JobError, Problem
from toolpaths.common.units import show
from toolpaths.job.files.document import Document, KeyPath
from toolpaths.job.files.machine_file import machine_path
from toolpaths.job.files.yaml_text import read_document
from toolpaths.job.jig import STAYS_UNDER, Jig, on_seat, walls_of
from toolpaths.job.job import Job
from toolpaths.job.loaded import LoadedJob
from toolpaths.job.obstacles import Present
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.pipeline.load_served import Load, same_file


def jigs_under(document: Document, path: Path, job: Job, load: Load) -> dict[str, Jig]:
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
            faults = _not_this(document, at, path, job, setup, _jig_document(document, at, path.parent / name))
            if not faults:
                if name not in loaded:
                    loaded[name] = _jig_job(document, at, path.parent / name, load)
                faults = _uneven(document, at, job, loaded[name])
                out[setup.name] = jig_of(loaded[name])
            problems += faults
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


def _jig_document(document: Document, at: KeyPath, path: Path) -> Document:
    """The file of a jig. Raises JobError for one that is not there, cannot be read, or is of another part."""
    if not os.path.isfile(path):
        hint = "give its path from the job's folder; `neckpath start --part jig` writes a first one"
        raise JobError([document.problem(at, f"there is no file `{str(path)[:200]}`", hint)])
    found = read_document(path)
    part = found.data.get("part", "board")
    if part != "jig":
        words = f"that job makes a {str(part)[:40]}, not a jig"
        raise JobError([document.problem(at, words, "name the job with `part: jig`")])
    return found


def _not_this(document: Document, at: KeyPath, path: Path, job: Job, setup: Setup, jig: Document) -> list[Problem]:
    """Why a jig is not that of a setup, as far as its file says so as it stands."""
    folder, part = Path(jig.file).parent, "neck" if job.part == "neck" else "board"
    mine, out = jig.get(("for", part)), []
    if not isinstance(mine, str) or not same_file(folder / mine, path):
        hint = f"write `for: {{{part}: {os.path.relpath(path, folder)}}}` into {Path(jig.file).name}"
        return [document.problem(at, "the jig does not name this job", hint)]
    offset = jig.get(("setups", 0, "offset")) or "G54"
    if isinstance(offset, str) and setup.offset != offset:
        words = f"the jig has offset {offset[:10]}, and this setup {setup.offset}: both need the same one"
        out.append(document.problem((*at[:-2], "offset"), words, f"write `offset: {offset[:10]}`"))
    machine = jig.get(("machine",))
    if isinstance(machine, str) and _machine_file(machine, folder) != _machine_file(job.machine, path.parent):
        words = f"the jig is cut on {machine[:60]}, and this job is for {job.machine[:60]}"
        out.append(document.problem(("machine",), words, "name the machine of the jig in this job"))
    return out


def _machine_file(name: str, folder: Path) -> str:
    """The file of a machine, or its name where there is none."""
    found = machine_path(name, folder)
    return name if found is None else os.path.realpath(found)


def _jig_job(document: Document, at: KeyPath, path: Path, load: Load) -> LoadedJob:
    """The job of a jig. Raises JobError where it cannot be used."""
    try:
        return load(path)
    except JobError as error:
        first = document.problem(at, "the jig's job cannot be used", "correct its faults first; they are listed below")
        raise JobError([first, *error.problems]) from None


def _uneven(document: Document, at: KeyPath, job: Job, jig: LoadedJob) -> list[Problem]:
    """Why nothing lies level on a jig, or it would be cut through."""
    context, thick, out = _context(jig), jig.job.stock.thickness, []
    if context.glue == thick.max and thick.min < thick.max:
        hint = "give the jig a `plane: {leave: ...}`, which makes it level on this machine"
        out.append(document.problem(at, "the jig is not planed, and its thickness is not the same everywhere", hint))
    if context.seat.height <= STAYS_UNDER:
        units = job.units
        words = f"only {show(context.seat.height, units)} of the jig would be left under the blank"
        out.append(
            document.problem(at, words, f"make the seat less deep: at least {show(STAYS_UNDER, units)} must stay")
        )
    return out
