"""`neckpath check`: everything but writing."""

from __future__ import annotations

from typing import Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import Waiting, end_of_run, say, show_outcome, show_tables, usable


def check(
    jobs: options.JobFiles,
    bit: options.Bit = None,
    only: options.Only = None,
    start: options.From = None,
    accept: options.Accept = None,
    air: options.Air = None,
    pitch: options.Pitch = None,
    session: options.Session = None,
    reasons: Annotated[
        bool, typer.Option("--reasons", help="Say in sentences which limit decided each value.")
    ] = False,
    times: Annotated[
        bool, typer.Option("--times", help="Show the minutes of every pass, and the feed that it really reaches.")
    ] = False,
    brief: Annotated[bool, typer.Option("--brief", help="Leave out what was chosen and whose limit decided.")] = False,
) -> None:
    """Make the programs of a job, prove them, and write nothing: findings, feeds, times.

    Several jobs are checked at the same time: one summary, and what stops or warns in each.
    """
    if len(jobs) > 1:
        from toolpaths.cli.many import check_many

        with usable(makes=False):
            every = [(job, options.changes_of(job, bit, only, start, accept, air, pitch, session)) for job in jobs]
            raise typer.Exit(check_many(every))
    (job,) = jobs
    with usable(makes=False):
        from toolpaths.pipeline.run import make

        changes = options.changes_of(job, bit, only, start, accept, air, pitch, session)
        with Waiting() as waiting:
            outcome = make(job, changes, waiting)
        from toolpaths.pipeline.better_bit import better_bits
        from toolpaths.reports.text.better_bits import better_table, better_words
        from toolpaths.reports.text.chosen_tables import LEGEND, chosen_table
        from toolpaths.reports.text.ending import check_ending
        from toolpaths.reports.text.line_words import line_words
        from toolpaths.reports.text.sessions import passes_table, sessions_table
        from toolpaths.reports.text.tables import handwork_table, programs_table, reasons_table
        from toolpaths.reports.text.trueness import trueness

        show_outcome(outcome)
        if not brief:
            show_tables([chosen_table(s, outcome) for s in outcome.setups])
            said = dict.fromkeys(words for s in outcome.setups for words in line_words(s))
            say("\n".join([*LEGEND, *said]) + "\n")
        if reasons:
            show_tables([reasons_table(s, outcome) for s in outcome.setups])
        if times:
            show_tables([passes_table(outcome)])
        show_tables([programs_table(outcome), sessions_table(outcome), handwork_table(outcome)])
        if better := better_bits(outcome):
            show_tables([better_table(better)])
            say(f"{better_words(better)}\n")
        for sentence in trueness(outcome.job, outcome.machine, outcome.job.machine):
            say(sentence)
        say()
        for line in check_ending(outcome):
            say(line)
        end_of_run(outcome)
