"""`neckpath write`: programs, pictures, preview page, setup sheet and report, as one set in one folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import Waiting, end_of_run, say, show_outcome, show_tables, usable

if TYPE_CHECKING:
    from toolpaths.reports.text.changed import Difference
    from toolpaths.verification.outcome import Outcome

_COARSE = 0.5


def write(
    jobs: options.JobFiles,
    folder: Annotated[
        Path | None,
        typer.Option(
            "-o", "--out", metavar="DIR", help="Folder of the set; of several jobs the folder of theirs. [out/<job>]"
        ),
    ] = None,
    bit: options.Bit = None,
    only: options.Only = None,
    start: options.From = None,
    accept: options.Accept = None,
    air: options.Air = None,
    pitch: options.Pitch = None,
    session: options.Session = None,
) -> None:
    """Make and prove the programs of a job, and write them with pictures, setup sheet and report.

    Nothing is replaced where a finding stops the run. Several jobs are written at the same time, each into a folder
    of its own.
    """
    if len(jobs) > 1:
        from toolpaths.cli.many import write_many

        with usable():
            every = [(job, options.changes_of(job, bit, only, start, accept, air, pitch, session)) for job in jobs]
            raise typer.Exit(write_many(every, folder, _prepare_writing))
    (job,) = jobs
    with usable():
        from toolpaths.pipeline.run import make

        changes = options.changes_of(job, bit, only, start, accept, air, pitch, session)
        with Waiting() as waiting:
            outcome = make(job, changes, waiting, _prepare_writing)
            changed = _changed(outcome)
            from toolpaths.reports.output.folder import not_led_aside
            from toolpaths.reports.output.write_set import WARNING, default_folder, warn_of_stop, write_set

            place = folder or not_led_aside(default_folder(job, changes))
            warned = False
            if outcome.stopped:
                warned = warn_of_stop(outcome, place)
            else:
                waiting("drawing and writing", 1.0)
                write_set(outcome, place, changed)
        from toolpaths.reports.text.ending import ending
        from toolpaths.reports.text.sessions import sessions_table
        from toolpaths.reports.text.tables import differences_table, programs_table
        from toolpaths.reports.text.words import verdict

        show_outcome(outcome)
        show_tables([differences_table(changed, changes.words), programs_table(outcome), sessions_table(outcome)])
        earlier = f"The earlier set in {place} stays, and {place / WARNING} says that it no longer fits the job."
        end_of_run(outcome, verdict(outcome), "No program was written.", *([earlier] if warned else []))
        for line in ending(outcome, place):
            say(line)


def _prepare_writing() -> None:
    """Loads what writing a set needs; there is time for it while programs are judged."""
    from toolpaths.reports.output import write_set  # noqa: F401
    from toolpaths.reports.pictures.picture_pen import warm_up

    warm_up()


def _changed(outcome: Outcome) -> tuple[Difference, ...]:
    """What other bits change against the job as written, whose own run needs no fine map for that."""
    if not outcome.changes.bits:
        return ()
    from dataclasses import replace

    from toolpaths.common.errors import JobError
    from toolpaths.pipeline.run import make
    from toolpaths.reports.text.changed import differences

    try:
        return differences(make(outcome.path, replace(outcome.changes, bits=(), accept=(), pitch=_COARSE)), outcome)
    except JobError:
        # The job may be cut with another bit only: then there is nothing to compare with.
        return ()
