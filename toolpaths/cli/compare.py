"""`neckpath compare`: the same job with other bits, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from toolpaths.cli import options
from toolpaths.cli.screen import STOPPED, Waiting, say, show_summary, show_tables, usable

_MOST = 40


def compare(
    job: options.JobFile,
    bit: Annotated[
        list[str],
        typer.Option(
            "--bit",
            metavar="NAME=VALUE,VALUE,...",
            help="Diameters, or other bits of the rack, that take the place of bit NAME one after another "
            "(scorer=0.5,0.8,vee60); `careful` is the same bit at the careful pace of lines (scorer=careful). "
            "Given again for another bit, its variants follow: each changes one bit.",
        ),
    ],
    folder: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="DIR", help="Folder of page and pictures. [default: out/<job>@compare]"),
    ] = None,
    only: options.Only = None,
    start: options.From = None,
    accept: options.Accept = None,
    pitch: options.Pitch = None,
) -> None:
    """Run a job with other bits and compare each run with the job as written: lines, passes, corners, time, findings.

    Writes a page, a picture of where the wood differs for each bit, and compare.json; no programs.
    """
    with usable():
        from toolpaths.pipeline.run import compare as compared_of
        from toolpaths.reports.pictures.picture_pen import warm_up

        changes = options.changes_of(job, None, only, start, accept, None, pitch)
        pairs = _pairs(bit)
        with Waiting() as waiting:
            compared = compared_of(job, pairs, changes, waiting, warm_up)
            from toolpaths.reports.compare.compare_page import NOTE, PAGE, write_compared
            from toolpaths.reports.compare.compared_tables import features_compared, news_compared, sets_compared
            from toolpaths.reports.output.folder import not_led_aside
            from toolpaths.reports.text.words import file_part

            waiting("writing", 1.0)
            place = folder or not_led_aside(Path("out") / f"{file_part(job.stem)}@compare")
            files = write_compared(compared, place)
        show_summary(compared.written)
        show_tables([sets_compared(compared), features_compared(compared), news_compared(compared)])
        say(NOTE)
        say(f"Written into {place}: {', '.join(files)}")
        say(f"Look at {place / PAGE}.")
        if compared.stopped:
            say("None of these bits may be cut with.")
            raise typer.Exit(STOPPED)


def _pairs(given: list[str]) -> list[tuple[str, str]]:
    """(bit, value) of each variant, in the order asked for, each once."""
    found: dict[tuple[str, str], None] = {}
    for text in given:
        name, _, values = (part.strip() for part in text.partition("="))
        parts = [value.strip() for value in values.split(",")]
        if not name or not all(parts):
            words = f"`{options.short(text)}` is not NAME=VALUE,VALUE,..., such as scorer=0.5,0.8,vee60"
            raise typer.BadParameter(words, param_hint="--bit")
        found.update(((name, value), None) for value in parts)
    if len(found) > _MOST:
        raise typer.BadParameter(f"{len(found)} variants are more than {_MOST}", param_hint="--bit")
    return list(found)
