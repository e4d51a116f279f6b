"""Write several jobs in one run, one a core, each into its own folder, with one summary."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from toolpaths.cli.screen import STOPPED, UNUSABLE, Waiting, complain, say, show_tables, unusable

if TYPE_CHECKING:
    from toolpaths.job.changes import Changes
    from toolpaths.verification.outcome import Outcome


@dataclass(frozen=True, slots=True)
class Written:
    """What became of one job. `code`: as the exit code; `words`: why it cannot be used, or what stopped it."""

    job: Path
    title: str
    verdict: str
    minutes: float
    folder: Path
    code: int
    words: tuple[str, ...] = ()


def write_many(jobs: Sequence[tuple[Path, Changes]], out: Path | None, before: Callable[[], None]) -> int:
    """Writes every job; returns the exit code: the highest of all. `before`: what all of them need, imported once.

    One job that cannot be used, or is stopped, keeps no other from being written. Each is made in a process of its
    own, so the memory does not grow with their number.
    """
    from toolpaths.common.background import BackgroundTask, cores
    from toolpaths.reports.output.folder import not_led_aside
    from toolpaths.reports.output.write_set import default_folder

    folders = [default_folder(job, changes) for job, changes in jobs]
    if out is not None:
        folders = [out / folder.name for folder in folders]
    folders = [not_led_aside(folder, out) for folder in folders]
    _must_differ([job for job, _ in jobs], folders)
    before()
    waiting: list[BackgroundTask[Written]] = []
    done: list[Written] = []
    try:
        with Waiting() as progress:
            for k, ((job, changes), folder) in enumerate(zip(jobs, folders, strict=True)):
                if len(waiting) == cores():
                    done.append(waiting.pop(0).result())
                progress(f"{k + 1} of {len(jobs)}: {job.name}", len(done) / len(jobs))
                waiting.append(BackgroundTask(partial(_write, job, changes, folder)))
            while waiting:
                done.append(waiting.pop(0).result())
                progress(f"{len(done)} of {len(jobs)}", len(done) / len(jobs))
    finally:
        for one in waiting:
            one.drop()
    _tell(done)
    return max(one.code for one in done)


def _must_differ(jobs: Sequence[Path], folders: Sequence[Path]) -> None:
    first: dict[Path, Path] = {}
    for job, folder in zip(jobs, folders, strict=True):
        other = first.setdefault(folder, job)
        if other is not job:
            complain(
                f"{job} and {other} would both be written into {folder}: give their files different names. "
                "Nothing was made."
            )


def write_one(job: Path, changes: Changes, folder: Path) -> tuple[Outcome | None, list[str]]:
    """Writes the set of a job, quietly: its outcome, and what stopped it; or none, and why the job cannot be used."""
    from toolpaths.pipeline.run import make
    from toolpaths.reports.output.write_set import warn_of_stop, write_set
    from toolpaths.verification.finding import Severity

    try:
        outcome = make(job, changes)
        if not outcome.stopped:
            write_set(outcome, folder)
            return outcome, []
        warn_of_stop(outcome, folder)
    except Exception as error:
        words = unusable(error)
        if words is None:
            raise
        return None, words
    stops = [f for f in outcome.findings if f.severity is Severity.stop]
    return outcome, [f"{f.code}{f' of {f.feature}' if f.feature else ''}: {f.message}" for f in stops]


def _write(job: Path, changes: Changes, folder: Path) -> Written:
    from toolpaths.reports.text.words import verdict

    outcome, words = write_one(job, changes, folder)
    if outcome is None:
        return Written(job, "", "cannot be used; nothing was made", 0.0, folder, UNUSABLE, tuple(words[:-1] or words))
    minutes = sum(p.minutes for p in outcome.programs)
    code, stops = STOPPED if outcome.stopped else 0, tuple(f"{job}: stop {stop}" for stop in words)
    return Written(job, outcome.job.title, verdict(outcome), minutes, folder, code, stops)


def _tell(done: Sequence[Written]) -> None:
    from toolpaths.reports.text.tables import Table
    from toolpaths.reports.text.words import minutes, plain

    rows = [
        (
            plain(str(one.job), 60),
            plain(one.title, 50),
            one.verdict,
            minutes(one.minutes) if one.code == 0 else "",
            plain(str(one.folder), 80) if one.code == 0 else "",
        )
        for one in done
    ]
    show_tables([Table("Written", ("job", "title", "verdict", "time", "folder"), tuple(rows), {3})])
    for one in done:
        for words in one.words:
            say(plain(words, 2000) if one.code == STOPPED else words)
    good, stopped, rest = (sum(one.code == code for one in done) for code in (0, STOPPED, UNUSABLE))
    say(f"{good} of {len(done)} jobs were written; {stopped} stopped, {rest} cannot be used.")
