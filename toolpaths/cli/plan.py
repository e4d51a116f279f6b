"""`neckpath plan`: the work on one instrument in one order, over all its jobs, on the terminal and as a page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import STOPPED, Waiting, say, show_tables, usable

PAGE = "plan.html"


def plan(
    jobs: options.JobFiles,
    folder: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="DIR", help="Folder of the page. [default: out/plan]")
    ] = None,
    pitch: options.Pitch = None,
) -> None:
    """Plan the work on one instrument: the jobs of its board, its neck and their jig, or some of them.

    Says what to buy, what must be ready before the machine is booked, how long it works, and every step at the
    machine and by hand in one order. Writes a page; no programs.
    """
    with usable():
        from toolpaths.pipeline.plan_instrument import plan_instrument

        changes = options.changes_of(jobs[0], pitch=pitch)
        with Waiting() as waiting:
            made = plan_instrument(jobs, changes, waiting)
        from toolpaths.common.whole_files import put
        from toolpaths.reports.output.folder import not_led_aside
        from toolpaths.reports.pages.plan_page import plan_page
        from toolpaths.reports.text import plan_words as words
        from toolpaths.reports.text.plan_tables import bookings_table, buy_table, ready_table, steps_tables

        place = (folder or not_led_aside(Path("out") / "plan")) / PAGE
        put(place, plan_page(made).encode())
        say(f"Plan: {words.titles(made)}")
        for sentence, stops in words.not_to_be_cut(made):
            say(sentence)
            for stop in stops:
                say(f"stop {stop}")
        say(words.total(made))
        say()
        show_tables([buy_table(made)])
        say(words.ALLOWANCES)
        say()
        show_tables([ready_table(made), bookings_table(made)])
        say(words.NOT_COUNTED)
        say()
        show_tables(steps_tables(made))
        say(words.RESTS)
        say(f"Written: {place}")
        if made.stopped:
            raise typer.Exit(STOPPED)
