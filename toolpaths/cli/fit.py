"""`neckpath fit`: whether the board of one job goes onto the neck of another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.screen import STOPPED, complain, say, show_tables, usable

if TYPE_CHECKING:
    from toolpaths.pipeline.design import JobDesign
    from toolpaths.verification.fits.fit_parts import FitRow


def fit(
    board: Annotated[Path, typer.Argument(metavar="BOARD_JOB", help="The job of the board, YAML.")],
    neck: Annotated[Path, typer.Argument(metavar="NECK_JOB", help="The job of the neck, YAML.")],
    jig: Annotated[
        Path | None, typer.Argument(metavar="JIG_JOB", help="The job of the jig that they lie on, if they do.")
    ] = None,
    on_body: Annotated[
        bool,
        typer.Option("--on-body", help="The board's end rests on the body: a neck shorter than the board is meant."),
    ] = False,
) -> None:
    """Compare a board with a neck: scale, taper, length, what lies under the board, pins that line up.

    With a jig: its pins and the bores of the work, its pilot holes and their screws, its dowels, depths.
    """
    with usable(makes=False):
        from toolpaths.reports.text.tables import Table
        from toolpaths.verification.fits.board_fits_neck import fit as compared
        from toolpaths.verification.fits.fit_parts import Verdict, differing, part_of
        from toolpaths.verification.fits.work_fits_jig import LaidOut, fit_jig

        designs = [_design(path, wanted) for path, wanted in ((board, "board"), (neck, "neck"))]
        under = None if jig is None else _design(jig, "jig")
        parts = [part_of(d.loaded.job, d.contexts, d.target) for d in designs]
        rows = compared(*parts, on_body=on_body)
        apart = differing(parts[0].job.instrument, parts[1].job.instrument)
        say("Both jobs describe the same instrument." if not apart else _differing(apart))
        say()
        cells = tuple((r.what, r.board, r.neck, r.difference, str(r.verdict)) for r in rows)
        headers = ("what", "board", "neck", "difference", "")
        show_tables([Table("Fit of board and neck", headers, cells, {3})])
        lying: tuple[FitRow, ...] = ()
        if under is not None:
            laid = [LaidOut(d.loaded.job_hash, d.contexts, d.target) for d in (under, *designs)]
            lying = fit_jig(laid[0], laid[1:])
            cells = tuple((r.what, r.board, r.neck, r.difference, str(r.verdict)) for r in lying)
            show_tables([Table("Fit of jig and work", ("what", "jig", "work", "difference", ""), cells, {3})])
            rows = (*rows, *lying)
        wrong = [r for r in rows if r.verdict is Verdict.no]
        for row in rows:
            if row.verdict is not Verdict.fits:
                say(f"{row.verdict}: {row.what}: {row.todo}.")
        if jig is None or set(wrong) - set(lying):
            say(
                "Board and neck do not fit."
                if wrong
                else "Board and neck fit, as far as numbers go; lay one on the other before the glue."
            )
        else:
            say(
                "Jig and work do not fit."
                if wrong
                else "Board, neck and jig fit, as far as numbers go; lay board and neck on each other before the glue."
            )
        if wrong:
            raise typer.Exit(STOPPED)


def _differing(keys: tuple[str, ...]) -> str:
    named = ", ".join(f"`{key}`" for key in keys)
    return f"The jobs' instruments differ in {named}. The table says what does not fit."


def _design(path: Path, wanted: str) -> JobDesign:
    from toolpaths.pipeline.design import read_design

    design = read_design(path)
    job = design.loaded.job
    if job.part != wanted:
        complain(f"{path}: this job makes a {job.part}; first comes the board's job, then the neck's, then a jig's")
    return design
