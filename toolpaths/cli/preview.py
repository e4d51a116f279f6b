"""`neckpath preview`: the depth map alone, of a job or of one program, as a picture or a page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import Waiting, complain, end_of_run, say, show_findings, show_map, show_summary, usable
from toolpaths.common.whole_files import put

if TYPE_CHECKING:
    from toolpaths.verification.outcome import Outcome

_JOB_ENDINGS = {".yaml", ".yml"}


def preview(
    what: Annotated[Path, typer.Argument(metavar="JOB_OR_PROGRAM", help="A job file, or a program with --job.")],
    file: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="FILE", help="Picture (.png) or page (.html). [default: <name>-depth.png]"),
    ] = None,
    job: Annotated[
        Path | None, typer.Option("--job", metavar="JOB", help="The job of the program: its bits and its stock.")
    ] = None,
    terminal: Annotated[
        bool, typer.Option("--terminal", help="Draw it here, in colours or characters; no file is written.")
    ] = False,
    bit: options.Bit = None,
    only: options.Only = None,
    start: options.From = None,
    accept: options.Accept = None,
    air: options.Air = None,
    pitch: options.Pitch = None,
) -> None:
    """Draw what a job, or one program of it, does to the wood. No program is written."""
    with usable():
        target = file or Path(f"{what.stem}-depth.png")
        if target.suffix.lower() not in {".png", ".html"}:
            complain(f"{target}: a picture ends in .png, a page in .html")
        is_job = what.suffix.lower() in _JOB_ENDINGS
        if not is_job and job is None:
            complain(
                f"{what}: a program does not say how its bits are shaped or what stock it cuts.\n"
                "    name its job too: neckpath preview PROGRAM --job JOB; a job file ends in .yaml"
            )
        from toolpaths.pipeline.run import make, verify

        whose = what if is_job or job is None else job
        changes = options.changes_of(whose, bit, only, start, accept, air, pitch)
        with Waiting() as waiting:
            outcome = make(whose, changes, waiting) if is_job else verify(whose, [what], changes, waiting)
            waiting("drawing", 1.0)
            names = [] if terminal else _drawn(outcome, target)
        show_summary(outcome)
        show_findings(outcome)
        if terminal:
            show_map(outcome)
        for name in names:
            say(f"Drawn: {name}")
        end_of_run(outcome)


def _drawn(outcome: Outcome, target: Path) -> list[Path]:
    from toolpaths.reports.pictures.depth_picture import depth_picture
    from toolpaths.reports.preview.preview_page import preview_page
    from toolpaths.reports.text.words import file_part

    if target.suffix.lower() == ".html":
        put(target, preview_page(outcome).encode())
        return [target]
    files: list[Path] = []
    for setup in outcome.setups:
        name = f"{target.stem}-{file_part(setup.context.setup.name)}{target.suffix}"
        files.append(target if len(outcome.setups) == 1 else target.with_name(name))
        put(files[-1], depth_picture(outcome, setup).png)
    return files
