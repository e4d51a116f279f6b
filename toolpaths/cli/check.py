"""`neckpath check`: everything but writing."""

from __future__ import annotations

from typing import Annotated

import typer

from toolpaths.cli.options import (
    AcceptOption,
    AirOption,
    BitOption,
    FromOption,
    JobFile,
    OnlyOption,
    PitchOption,
    SessionOption,
    changes_of,
)
from toolpaths.cli.screen import STOPPED, Waiting, say, show_findings, show_summary, show_tables, usable


def check(
    job: JobFile,
    bit: BitOption = None,
    only: OnlyOption = None,
    start: FromOption = None,
    accept: AcceptOption = None,
    air: AirOption = None,
    pitch: PitchOption = None,
    session: SessionOption = None,
    reasons: Annotated[
        bool, typer.Option("--reasons", help="Say in sentences which limit decided each value.")
    ] = False,
    times: Annotated[
        bool, typer.Option("--times", help="Show the minutes of every pass, and the feed that it really reaches.")
    ] = False,
    brief: Annotated[bool, typer.Option("--brief", help="Leave out what was chosen and whose limit decided.")] = False,
) -> None:
    """Make the programs of a job, prove them, and write nothing: findings, feeds, times."""
    with usable():
        from toolpaths.pipeline.run import make

        changes = changes_of(job, bit, only, start, accept, air, pitch, session)
        with Waiting() as waiting:
            outcome = make(job, changes, waiting)
        from toolpaths.reports.text.chosen_tables import LEGEND, chosen_table
        from toolpaths.reports.text.sessions import passes_table, sessions_table, total_words
        from toolpaths.reports.text.tables import features_table, handwork_table, programs_table, reasons_table
        from toolpaths.reports.text.trueness import trueness

        show_summary(outcome)
        show_findings(outcome)
        show_tables([features_table(outcome, s) for s in outcome.setups])
        if not brief:
            show_tables([chosen_table(s, outcome) for s in outcome.setups])
            say("\n".join(LEGEND) + "\n")
        if reasons:
            show_tables([reasons_table(s, outcome) for s in outcome.setups])
        if times:
            show_tables([passes_table(outcome)])
        show_tables([programs_table(outcome), sessions_table(outcome), handwork_table(outcome)])
        say(f"{total_words(outcome).capitalize()}.")
        for sentence in trueness(outcome.job, outcome.machine, outcome.job.machine):
            say(sentence)
        if outcome.stopped:
            raise typer.Exit(STOPPED)
