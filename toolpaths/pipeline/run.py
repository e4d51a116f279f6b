"""All commands on one screen: a job becomes programs, and the programs are read back and verified.

    load -> target, plan -> move -> write        (pipeline/build.py)
    read -> simulate -> judge                    (pipeline/prove.py)

One judge serves every command: `make` gives it the text just written, `verify` the text that somebody hands in,
`compare` that of the same job with one other bit after another.
"""

from __future__ import annotations

import errno
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from toolpaths.common.background import BackgroundTask, cores
from toolpaths.common.errors import JobError, ReadError
from toolpaths.common.plain_file import plain_bytes
from toolpaths.gcode.program import BESIDE, Program
from toolpaths.gcode.reader.read import read
from toolpaths.gcode.reader.trace import Header
from toolpaths.job.changes import Changes
from toolpaths.job.loaded import LoadedJob
from toolpaths.pipeline.build import ProgramSet, lay_out, lay_out_loaded
from toolpaths.pipeline.judge import settled
from toolpaths.pipeline.load import load_job
from toolpaths.pipeline.prove import Progress, prove
from toolpaths.reports.compare.compared import AS_WRITTEN, Compared, ComparedRun, run_of
from toolpaths.reports.compare.difference_picture import difference_picture
from toolpaths.verification.finding import Finding
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wording.program import same_place

LARGEST_PROGRAM = 64_000_000
"""Bytes; the programs of a neck come to a few million."""


def make(
    path: Path,
    changes: Changes | None = None,
    progress: Progress | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Outcome:
    """Programs for a job, proven. Writes nothing. `meanwhile`: what the caller has to do while the last are judged.

    Raises JobError with every problem of the job; MemoryError, whose text is a pitch that fits, for too fine a map.
    """
    return prove(lay_out(path, changes or Changes()), progress=progress, meanwhile=meanwhile)


def verify(
    path: Path, programs: Sequence[Path], changes: Changes | None = None, progress: Progress | None = None
) -> Outcome:
    """Programs from files, judged against the job, each in the place that its header names.

    Raises JobError; OSError for a file that cannot be read; UnicodeDecodeError for one that is not text.
    """
    layout = lay_out(path, changes or Changes())
    given: dict[int, Program] = {}
    findings: list[Finding] = []
    for file in programs:
        text = _text(file).replace("\r\n", "\n")  # a lone return stays, and is refused
        beside = "" if layout.loaded.machine.comments else _words_beside(file)
        place = _place(layout, file.name, text, beside)
        if place in given:
            message = same_place(file.name, given[place].name, place + 1)
            findings.append(Finding.of("header", message, program=file.name))
        else:
            given[place] = replace(layout.own[place][1], name=file.name, text=text, beside=beside)
    outcome = prove(layout, given, progress)
    if not findings:
        return outcome
    ranked, accepted = settled([*findings, *outcome.findings], ())
    return replace(outcome, findings=ranked, accepted=(*outcome.accepted, *accepted))


def compare(
    path: Path,
    variants: Sequence[tuple[str, str]],
    changes: Changes | None = None,
    progress: Progress | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Compared:
    """A job as it is written beside the same job with one bit changed, for each (name, diameter or other bit).

    Variants run at the same time, one a core; a variant that cannot be cut is told, not raised.
    Raises JobError for the job itself, and for a bit or a diameter that there is not; MemoryError as `make` does.
    """
    changes = changes or Changes()
    job, loaded = load_job(path), {bit: _loaded(path, bit) for bit in variants}
    written = prove(lay_out_loaded(job, changes), meanwhile=meanwhile)
    base = run_of(written, AS_WRITTEN)
    runs: list[BackgroundTask[ComparedRun]] = []
    try:
        for i, bit in enumerate(loaded):
            if i >= cores():
                runs[i - cores()].result()
                if progress:
                    progress(f"cutting with {bit[0]}={bit[1]}", i / len(loaded))
            runs.append(BackgroundTask(partial(_variant, written, base, loaded[bit], replace(changes, bits=(bit,)))))
        return Compared(written, base, tuple(one.result() for one in runs))
    finally:
        for one in runs:
            one.drop()


def _loaded(path: Path, bit: tuple[str, str]) -> LoadedJob | JobError:
    """The job with one bit changed, or why it is none. Raises JobError for a bit or a diameter that there is not."""
    try:
        return load_job(path, (bit,))
    except JobError as error:
        if any(problem.line == 0 for problem in error.problems):
            raise
        return error


def _variant(written: Outcome, base: ComparedRun, loaded: LoadedJob | JobError, changes: Changes) -> ComparedRun:
    """One variant: small enough to be sent back from another core."""
    label = changes.words[0]
    try:
        if isinstance(loaded, JobError):
            raise loaded
        if loaded.job_hash == written.job_hash:
            return replace(base, label=label, same=True)
        outcome = prove(lay_out_loaded(loaded, changes))
    except JobError as error:
        return ComparedRun(label, refused=tuple(dict.fromkeys(f"{p.key}: {p.problem}" for p in error.problems)))
    return run_of(outcome, label, difference_picture(written, outcome, label))


def _words_beside(file: Path) -> str:
    """The text beside a program whose controller takes no comments; empty where there is none."""
    path = file.with_name(file.name + BESIDE)
    return _text(path) if path.is_file() else ""


def _text(path: Path) -> str:
    """The text of a program file. Raises OSError with a plain text, also for a device, a pipe or too large a file."""
    content = plain_bytes(path, LARGEST_PROGRAM + 1)
    if len(content) > LARGEST_PROGRAM:
        raise OSError(errno.EFBIG, f"larger than {LARGEST_PROGRAM // 1_000_000} MB, which no program is", str(path))
    return content.decode("utf-8")


def _place(layout: ProgramSet, name: str, text: str, beside: str) -> int:
    """Index of the program whose place a text claims: by its header, else by its file's name, else the first."""
    try:
        header = read(text, beside).header
    except ReadError:
        header = Header()
    own = [program for _, program in layout.own]
    by_header = [i for i, p in enumerate(own) if header.number == p.number]
    by_name = [i for i, p in enumerate(own) if p.name == name]
    return (by_header or by_name or [0])[0]
