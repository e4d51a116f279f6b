"""`neckpath book`: the build book of one instrument as a page, asked and found side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import STOPPED, Waiting, say, usable

PAGE = "book.html"


def book(
    jobs: options.JobFiles,
    folder: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="DIR", help="Folder of the page. [default: out/book]")
    ] = None,
    accept: options.Accept = None,
    pitch: options.Pitch = None,
) -> None:
    """Make the build book of one instrument: the jobs of its board, its neck and their jig, or some of them.

    One page to print and to keep: every part with its pictures, what was asked and what was found at each mark, the
    programs, the work by hand, and room to write. What was not measured stays empty. Writes no programs.
    """
    with usable():
        from toolpaths.pipeline.plan_instrument import plan_instrument

        changes = options.changes_of(jobs[0], accept=accept, pitch=pitch)
        with Waiting() as waiting:
            made = plan_instrument(jobs, changes, waiting)
        from toolpaths.common.whole_files import put
        from toolpaths.reports.output.folder import not_led_aside
        from toolpaths.reports.output.write_set import drawn
        from toolpaths.reports.pages.book_page import book_page
        from toolpaths.reports.text import plan_words as words
        from toolpaths.reports.text.book_tables import how_far

        place = (folder or not_led_aside(Path("out") / "book")) / PAGE
        pictures = {
            piece: {name: picture.png for name, picture in drawn(outcome).items()}
            for piece, outcome in made.outcomes.items()
        }
        put(place, book_page(made, pictures).encode())
        say(f"Build book: {words.titles(made)}")
        for piece in made.outcomes:
            say(f"{piece}: {how_far(made, piece)}.")
        for outcome in made.stopped:
            say(f"{outcome.path.name} may not be cut: its page says why.")
        say(f"Written: {place}")
        if made.stopped:
            raise typer.Exit(STOPPED)
