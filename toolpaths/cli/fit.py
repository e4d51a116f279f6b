"""`neckpath fit`: whether the board of one job goes onto the neck of another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.screen import STOPPED, complain, say, show_tables, usable

if TYPE_CHECKING:
    from toolpaths.verification.fit_parts import FitPart


def fit(
    board: Annotated[Path, typer.Argument(metavar="BOARD_JOB", help="The job of the board, YAML.")],
    neck: Annotated[Path, typer.Argument(metavar="NECK_JOB", help="The job of the neck, YAML.")],
    on_body: Annotated[
        bool,
        typer.Option("--on-body", help="The board's end rests on the body: a neck shorter than the board is meant."),
    ] = False,
) -> None:
    """Compare a board with a neck: scale, taper, length, what lies under the board, pins that line up."""
    with usable():
        from toolpaths.reports.text.tables import Table
        from toolpaths.verification.board_fits_neck import fit as compared
        from toolpaths.verification.fit_parts import Verdict

        parts = [_part(path, wanted) for path, wanted in ((board, "board"), (neck, "neck"))]
        rows = compared(*parts, on_body=on_body)
        same = parts[0].job.instrument == parts[1].job.instrument
        say("Both jobs describe the same instrument." if same else "The two jobs describe different instruments.")
        say()
        cells = tuple((r.what, r.board, r.neck, r.difference, str(r.verdict)) for r in rows)
        headers = ("what", "board", "neck", "difference", "")
        show_tables([Table("Fit of board and neck", headers, cells, {3})])
        wrong = [r for r in rows if r.verdict is Verdict.no]
        for row in rows:
            if row.verdict is not Verdict.fits:
                say(f"{row.verdict}: {row.what}: {row.todo}.")
        say(
            "Board and neck do not fit."
            if wrong
            else "Board and neck fit, as far as numbers go; lay one on the other before the glue."
        )
        if wrong:
            raise typer.Exit(STOPPED)


def _part(path: Path, wanted: str) -> FitPart:
    from toolpaths.pipeline.design import read_design
    from toolpaths.verification.fit_parts import part_of

    design = read_design(path)
    job = design.loaded.job
    if job.part != wanted:
        complain(f"{path}: this job makes a {job.part}; first comes the board's job, then the neck's")
    return part_of(job, design.contexts, design.target)
