"""`neckpath verify`: any program, edited by hand too, judged against its job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import Waiting, end_of_run, say, show_findings, show_summary, usable


def verify(
    programs: Annotated[list[Path], typer.Argument(metavar="PROGRAM...", help="Programs, in any order.")],
    job: Annotated[Path, typer.Option("--job", metavar="JOB", help="The job that they are for.")],
    bit: options.Bit = None,
    only: options.Only = None,
    start: options.From = None,
    accept: options.Accept = None,
    air: options.Air = None,
    pitch: options.Pitch = None,
    session: options.Session = None,
) -> None:
    """Read programs back, cut them in the depth map, and judge them against the job.

    Each takes the place in the job's set that its header names; give the options it was written with.
    """
    with usable(makes=False):
        from toolpaths.pipeline.run import verify as judged

        changes = options.changes_of(job, bit, only, start, accept, air, pitch, session)
        with Waiting() as waiting:
            outcome = judged(job, programs, changes, waiting)
        from toolpaths.reports.text.ending import verify_ending

        show_summary(outcome)
        show_findings(outcome)
        for line in verify_ending(outcome, {program.name for program in programs}):
            say(line)
        end_of_run(outcome)
