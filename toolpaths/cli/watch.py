"""`neckpath watch`: shows the pages of a job, made anew whenever it changes; writes its set only where asked."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.many import write_one
from toolpaths.cli.screen import complain, say, unusable, usable

if TYPE_CHECKING:
    from toolpaths.job.changes import Changes
    from toolpaths.reports.output.serving import Shown
    from toolpaths.verification.outcome import Outcome

_VIEW = "View only: the programs on this page are in no file. `neckpath write {}` writes them."
_ONLY_SHOWN = "The pages are only shown: no file is written or replaced. `neckpath write {}` writes the programs."
_REPLACES = "Caution: every change replaces the programs in {}."
_LOADED = (
    "A program that is loaded at the machine stays the old one. Load it again, and run it in the air, before you cut."
)
_EVERY = 0.4
"""Seconds between two looks at the files."""


def watch(
    job: options.JobFile,
    programs: Annotated[
        bool, typer.Option("--programs", help="Write the whole set into its folder at every change, programs too.")
    ] = False,
    folder: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="DIR", help="With --programs: folder of the set. [default: out/<job>]"),
    ] = None,
    port: Annotated[int, typer.Option(min=0, max=65535, help="Of the page's address; 0: any that is free.")] = 0,
    pitch: options.Pitch = None,
) -> None:
    """Show the pages of a job, made anew whenever the job, its instrument, its machine or a drawing changes.

    No file is written, unless --programs is given. The pages are served to this machine alone. Ctrl-C ends it.
    """
    if folder is not None and not programs:
        complain("Without --programs no file is written: leave -o out, or add --programs.")
    with usable():
        from toolpaths.reports.output.folder import not_led_aside
        from toolpaths.reports.output.serving import PageServer, Shown
        from toolpaths.reports.output.write_set import default_folder

        job.stat()
        changes = options.changes_of(job, pitch=pitch)
        place = folder or not_led_aside(default_folder(job, changes))
        shown = Shown(place if programs else None, "" if programs else _VIEW.format(job.name))
        server = PageServer(shown, port)
        end = server.begin()
        try:
            for line in (_REPLACES.format(place), _LOADED) if programs else (_ONLY_SHOWN.format(job),):
                say(line)
            say(f"The page is at {server.url} (this machine alone). Ctrl-C ends this.")
            for _ in _changed(job):
                if programs:
                    _write(job, changes, shown, place)
                else:
                    _show(job, changes, shown, place)
        except KeyboardInterrupt:
            say()
        finally:
            end()


def _changed(job: Path) -> Iterator[None]:
    """Yield once at the beginning, then after every change of a file that the job uses."""
    from toolpaths.common.plain_file import Stamp, stamp_of

    before: dict[Path, Stamp] | None = None
    while True:
        now = {file: stamp_of(file) for file in files_of(job)}
        if now != before:
            before = now
            yield
        time.sleep(_EVERY)


def files_of(job: Path) -> list[Path]:
    """The job and every file that it names, as far as it can be read: instrument, machine, drawings; and the jobs of
    its jig, or that it serves, with theirs.
    """
    out = _named(job)
    for other in _other_jobs(job):
        out += [file for file in _named(other) if file not in out]
    return out


def _other_jobs(job: Path) -> list[Path]:
    """The jobs that a job reads, and those that these read."""
    from toolpaths.common.errors import NeckpathError

    out = [job]
    for path in out:
        try:
            out += [p for p in _jobs_named(path) if p not in out]
        except (NeckpathError, OSError, UnicodeDecodeError):
            continue
    return out[1:]


def _jobs_named(job: Path) -> Iterator[Path]:
    """A jig's served jobs, and the jigs that setups lie on. Raises what `read_document` does."""
    from toolpaths.job.files.yaml_text import read_document

    data = read_document(job).data
    served, setups = data.get("for"), data.get("setups")
    named = [served.get("board"), served.get("neck")] if isinstance(served, dict) else []
    for setup in setups if isinstance(setups, list) else []:
        hold = setup.get("hold") if isinstance(setup, dict) else None
        named.append(hold.get("jig") if isinstance(hold, dict) else None)
    yield from (job.parent / name for name in dict.fromkeys(named) if isinstance(name, str))


def _named(job: Path) -> list[Path]:
    from toolpaths.common.errors import NeckpathError
    from toolpaths.job.files.found_file import found_path
    from toolpaths.job.files.machine_file import machine_path
    from toolpaths.job.files.yaml_text import read_document

    out = [job, found_path(job)]
    try:
        data = read_document(job).data
        named = [data.get("instrument")]
        machine = data.get("machine")
        path = machine_path(machine, job.parent) if isinstance(machine, str) else None
        out += [path] if path is not None else []
        if isinstance(data.get("instrument"), str):
            data = {"instrument": read_document(job.parent / data["instrument"]).data, "setups": data.get("setups")}
        named += _drawings(data)
    except (NeckpathError, OSError, UnicodeDecodeError):
        return out
    return [*out, *(job.parent / name for name in named if isinstance(name, str))]


def _drawings(data: object) -> Iterator[object]:
    """Every value of a key `drawing`, however deep."""
    if isinstance(data, dict):
        for key, value in data.items():
            if key == "drawing":
                yield value
            else:
                yield from _drawings(value)
    elif isinstance(data, list):
        for value in data:
            yield from _drawings(value)


def _write(job: Path, changes: Changes, shown: Shown, folder: Path) -> None:
    """Write the set; faults are printed here and shown on the page, and the earlier set stays."""
    from toolpaths.reports.text.words import verdict

    at = time.strftime("%H:%M:%S")
    outcome, words = write_one(job, changes, folder)
    if outcome is None or outcome.stopped:
        say(f"{at}  not written: {verdict(outcome) if outcome else ''}".rstrip())
        for line in words:
            say(line)
        shown.troubled("\n".join(words))
    else:
        shown.written()
        say(f"{at}  programs replaced in {folder}: {verdict(outcome)}")


def _show(job: Path, changes: Changes, shown: Shown, folder: Path) -> None:
    """Make the pages without writing a file; `folder`: where a set of the job may be from before."""
    from toolpaths.pipeline.run import make
    from toolpaths.reports.output.write_set import job_of_set, pages_of
    from toolpaths.reports.text.words import verdict
    from toolpaths.verification.finding import Severity

    at = time.strftime("%H:%M:%S")
    outcome: Outcome | None = None
    try:
        outcome = make(job, changes)
        pages = {} if outcome.stopped else pages_of(outcome)
    except Exception as error:
        outcome, said = None, unusable(error)
        if said is None:
            raise
        words = said
    else:
        stops = [f for f in outcome.findings if f.severity is Severity.stop]
        words = [f"{f.code}{f' of {f.feature}' if f.feature else ''}: {f.message}" for f in stops]
    if outcome is None or outcome.stopped:
        say(f"{at}  not shown: {verdict(outcome) if outcome else ''}".rstrip())
        for line in words:
            say(line)
        shown.troubled("\n".join(words))
        return
    shown.written(pages)
    say(f"{at}  shown: {verdict(outcome)}")
    if job_of_set(folder) not in ("", outcome.job_hash):
        say(f"          The programs in {folder} are from an earlier state of the job.")
