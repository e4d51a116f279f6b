"""A first job tried in a folder of its own, and written where it belongs."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from toolpaths.cli.begin.proposed_screws import screws_for
from toolpaths.cli.begin.questions import command_line, in_words, tell
from toolpaths.cli.screen import STOPPED, Waiting, say, say_whole
from toolpaths.common.whole_files import put_all

if TYPE_CHECKING:
    from toolpaths.reports.reference.first_answers import Answers


def try_bit(a: Answers, bit: str) -> None:
    """Make the features that use a bit, with the answers so far. Raises ValueError where they cannot be cut."""
    with tempfile.TemporaryDirectory() as name:
        for path in _put_jobs(_anywhere(a), Path(name) / "job")[1]:
            stops, warnings = _judged(path, bit)
            if stops:
                raise ValueError(stops[0])
            for words in warnings:
                tell(f"  A warning: {words}")


def _judged(path: Path, bit: str = "") -> tuple[list[str], list[str]]:
    """Stops and warnings of a job; of one bit's features alone, if it is named."""
    from toolpaths.common.errors import JobError
    from toolpaths.job.changes import Changes
    from toolpaths.pipeline.load import load_job
    from toolpaths.pipeline.run import make
    from toolpaths.verification.finding import Severity

    try:
        features = [f for setup in load_job(path).job.setups for f in setup.features]
        only = [f.name for f in features if f.bit == bit] if bit else [None]
        with Waiting() as waiting:
            found = [f for name in only for f in make(path, Changes(only=name, pitch=0.5), waiting).findings]
    except JobError as error:
        return [in_words([problem]) for problem in error.problems], []
    stops, warnings = ([f.message for f in found if f.severity is s] for s in (Severity.stop, Severity.warn))
    return stops, warnings


def _put_jobs(
    a: Answers, place: Path, reasons: Mapping[str, list[str]] | None = None, screws: Sequence[str] = ()
) -> tuple[list[Path], list[Path]]:
    """Writes a first job, reasons at the top of the files that have any: (all files, those that are jobs)."""
    from toolpaths.reports.reference.first_job import files_of

    files = {}
    for name, text in files_of(a, place.name, screws, _machine_from(place.parent, a.machine)).items():
        lines = (reasons or {}).get(name)
        top = ["NOT READY: `neckpath check` stops this job. Change what these lines name.", *lines] if lines else []
        files[place.with_name(name)] = ("".join(f"# {' '.join(line.split())}\n" for line in top) + text).encode()
    put_all(files)
    return list(files), list(files)[-len(a.parts) :]


def _anywhere(a: Answers) -> Answers:
    """The same answers for a job that is tried in another folder: a machine's file by its whole path."""
    from toolpaths.job.files.machine_file import machine_paths

    return a if a.machine in machine_paths() else replace(a, machine=str(Path(a.machine).resolve()))


def _machine_from(folder: Path, machine: str) -> str:
    """How a job in that folder names the machine: a shipped one by its name, a file by its path as it was given, which
    counts from the job."""
    from toolpaths.job.files.machine_file import machine_paths

    path = Path(machine)
    if machine in machine_paths() or path.is_absolute():
        return machine
    try:
        return Path(os.path.relpath(path.parent.resolve() / path.name, folder.resolve())).as_posix()
    except ValueError:
        # On another drive.
        return str(path.resolve())


def write_first(a: Answers, place: Path) -> None:
    """Checks the job in a folder of its own, then writes it where it belongs, with the reasons where it fails."""
    from toolpaths.reports.reference.cautions import first_job
    from toolpaths.reports.reference.first_answers import choices

    stops: dict[str, list[str]] = {}
    warned = 0
    with tempfile.TemporaryDirectory() as name:
        jobs = _put_jobs(_anywhere(a), Path(name) / place.name)[1]
        screws = screws_for(jobs[-1]) if "neck" in a.parts else ()
        if screws:
            jobs = _put_jobs(_anywhere(a), Path(name) / place.name, screws=screws)[1]
        for path in jobs:
            try:
                stops[path.name], warnings = _judged(path)
                warned += len(warnings)
            except Exception as error:
                stops[path.name] = [f"the check failed ({type(error).__name__}: {error})"]
    files, jobs = _put_jobs(a, place, stops, screws)
    written = f"Written: {', '.join(str(path) for path in files)}"
    for words in [*choices(a), *(f"{file}: {words}" for file, reasons in stops.items() for words in reasons)]:
        tell(words)
    if any(stops.values()):
        tell(f"{written}. Not ready to cut. It has your answers, and the reasons at its top.")
        raise typer.Exit(STOPPED)
    say(f"{written}. It passes `neckpath check`{f', with warnings ({warned})' if warned else ''}.")
    say("Open it, write in the sizes of your blank, and then:")
    for path in jobs:
        say_whole(f"  {command_line('neckpath', 'check', str(path))}")
        say_whole(f"  {command_line('neckpath', 'write', str(path))}")
    say()
    for line in first_job(a.units, str(jobs[0])):
        say(line)
