"""Check or write several jobs in one run, one a core, with one summary."""

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
class Done:
    """What became of one job. `folder`: of its set; None where none was asked for. `code`: as the exit code;
    `words`: why it cannot be used, or what was found.
    """

    job: Path
    verdict: str
    minutes: float
    folder: Path | None
    code: int
    words: tuple[str, ...] = ()


def check_many(jobs: Sequence[tuple[Path, Changes]]) -> int:
    """Makes and proves every job, and writes nothing; returns the exit code: the highest of all."""
    return _each([(job, partial(_check, job, changes)) for job, changes in jobs], "checked")


def write_many(jobs: Sequence[tuple[Path, Changes]], out: Path | None, before: Callable[[], None]) -> int:
    """Writes every job into a folder of its own; returns the exit code: the highest of all.

    `before`: what all of them need, imported once.
    """
    from toolpaths.reports.output.folder import not_led_aside
    from toolpaths.reports.output.write_set import default_folder

    folders = [default_folder(job, changes) for job, changes in jobs]
    if out is not None:
        folders = [out / folder.name for folder in folders]
    folders = [not_led_aside(folder, out) for folder in folders]
    _must_differ([job for job, _ in jobs], folders)
    before()
    work = [(job, partial(_write, job, changes, folder)) for (job, changes), folder in zip(jobs, folders, strict=True)]
    return _each(work, "written")


def _each(work: Sequence[tuple[Path, Callable[[], Done]]], what: str) -> int:
    """Does the work on every job, each in a process of its own, so that the memory does not grow with their number.

    One job that cannot be used, or is stopped, keeps no other from being done.
    """
    from toolpaths.common.background import BackgroundTask, cores

    waiting: list[tuple[Path, BackgroundTask[Done]]] = []
    done: list[Done] = []

    def show(progress: Waiting) -> None:
        """Which jobs are being worked on, and how many are done."""
        progress(
            f"{len(done)} of {len(work)} {what}; now {', '.join(job.name for job, _ in waiting)}", len(done) / len(work)
        )

    try:
        with Waiting() as progress:
            for job, one in work:
                if len(waiting) == cores():
                    done.append(waiting.pop(0)[1].result())
                waiting.append((job, BackgroundTask(one)))
                show(progress)
            while waiting:
                done.append(waiting[0][1].result())
                waiting.pop(0)
                show(progress)
    finally:
        for _, task in waiting:
            task.drop()
    _report(done, what)
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
    return outcome, _found(outcome, {Severity.stop})


def _write(job: Path, changes: Changes, folder: Path) -> Done:
    outcome, words = write_one(job, changes, folder)
    return _done(job, outcome, words, folder)


def _check(job: Path, changes: Changes) -> Done:
    from toolpaths.pipeline.run import make
    from toolpaths.verification.finding import Severity

    try:
        outcome = make(job, changes)
    except Exception as error:
        words = unusable(error, makes=False)
        if words is None:
            raise
        return _done(job, None, words, None)
    return _done(job, outcome, _found(outcome, {Severity.stop, Severity.warn}), None)


def _found(outcome: Outcome, weights: set[object]) -> list[str]:
    """The findings of some weights, each on one line with its places."""
    from toolpaths.reports.text.words import finding_line

    return [f"{f.severity} {finding_line(f, outcome)}" for f in outcome.findings if f.severity in weights]


def _done(job: Path, outcome: Outcome | None, words: list[str], folder: Path | None) -> Done:
    from toolpaths.reports.text.words import verdict

    if outcome is None:
        return Done(job, "cannot be used; nothing was made", 0.0, folder, UNUSABLE, tuple(words[:-1] or words))
    minutes = sum(p.minutes for p in outcome.programs)
    code = STOPPED if outcome.stopped else 0
    return Done(job, verdict(outcome), minutes, folder, code, tuple(f"{job}: {w}" for w in words))


def _report(done: Sequence[Done], what: str) -> None:
    from toolpaths.reports.text.tables import Table
    from toolpaths.reports.text.words import minutes, plain

    rows = [
        (
            plain(str(one.job), 1000),
            one.verdict,
            minutes(one.minutes) if one.code == 0 else "",
            plain(str(one.folder), 1000) if one.code == 0 and one.folder is not None else "",
        )
        for one in done
    ]
    table = Table(what.capitalize(), ("job", "verdict", "time", "folder"), tuple(rows), {2})
    show_tables([table if any(row[3] for row in rows) else table.only(range(3))])
    for one in done:
        for words in one.words:
            say(words)
    good, stopped, rest = (sum(one.code == code for one in done) for code in (0, STOPPED, UNUSABLE))
    say(f"{good} of {len(done)} jobs were {what}; {stopped} stopped, {rest} cannot be used.")
