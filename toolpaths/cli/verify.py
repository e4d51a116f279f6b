"""`neckpath verify`: any program, edited by hand too, judged against its job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from toolpaths.cli.options import (
    AcceptOption,
    AirOption,
    BitOption,
    FromOption,
    OnlyOption,
    PitchOption,
    SessionOption,
    changes_of,
)
from toolpaths.cli.screen import STOPPED, Waiting, show_findings, show_summary, show_tables, usable


def verify(
    programs: Annotated[list[Path], typer.Argument(metavar="PROGRAM...", help="Programs, in any order.")],
    job: Annotated[Path, typer.Option("--job", metavar="JOB", help="The job that they are for.")],
    bit: BitOption = None,
    only: OnlyOption = None,
    start: FromOption = None,
    accept: AcceptOption = None,
    air: AirOption = None,
    pitch: PitchOption = None,
    session: SessionOption = None,
) -> None:
    """Read programs back, cut them in the depth map, and judge them against the job.

    Each takes the place in the job's set that its header names; give the options it was written with.
    """
    with usable():
        from toolpaths.pipeline.run import verify as judged

        changes = changes_of(job, bit, only, start, accept, air, pitch, session)
        with Waiting() as waiting:
            outcome = judged(job, programs, changes, waiting)
        from toolpaths.reports.text.tables import features_table

        show_summary(outcome)
        show_findings(outcome)
        show_tables([features_table(outcome, s) for s in outcome.setups])
        if outcome.stopped:
            raise typer.Exit(STOPPED)
