"""`neckpath surface`: a program that skims a machine's waste board level, and a page that says when and how."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.complete import machine_names
from toolpaths.cli.options import length_of, short
from toolpaths.cli.screen import Waiting, complain, end_of_run, say, show_findings, show_tables, usable
from toolpaths.common.whole_files import put_all

if TYPE_CHECKING:
    from toolpaths.common.units import Units

_FINEST, _COARSEST, _CELLS = 0.25, 1.0, 8e6
"""Pitch of the depth map, mm, and its usual number of cells: walls are judged by points of their own, however fine."""


def surface(
    machine: Annotated[
        str,
        typer.Argument(metavar="MACHINE", help="A machine's name, or its file.", autocompletion=machine_names),
    ],
    file: Annotated[
        Path | None,
        typer.Option(
            "-o", "--out", metavar="FILE", help="The program; its page goes beside it. [default: out/surface-<machine>]"
        ),
    ] = None,
    bit: Annotated[str, typer.Option("--bit", metavar="NAME", help="A wide flat bit of the rack.")] = "planer",
    take: Annotated[
        str | None,
        typer.Option("--take", metavar="DEPTH", help="What is taken off in all, at most 3 mm. [default: 0.3 mm]"),
    ] = None,
    area: Annotated[
        str | None,
        typer.Option("--area", metavar="XxY", help="Length in X and in Y, such as 600x400. [default: all the travel]"),
    ] = None,
    clear: Annotated[
        list[str] | None,
        typer.Option(
            "--clear",
            metavar="BOX",
            help="x0,y0,x1,y1,height of a clamp, bolt or stop that stays, from the area's left front corner and above "
            "the board. May be given several times.",
        ),
    ] = None,
    wood: Annotated[str, typer.Option("--wood", metavar="WOOD", help="What the waste board is.")] = "MDF",
    air: Annotated[
        str | None, typer.Option("--air", metavar="HEIGHT", help="Lift the whole program by this much, for a dry run.")
    ] = None,
) -> None:
    """Write a program that skims the waste board (spoilboard) level, and a page that says when and how."""
    with usable():
        from toolpaths.features.calibration.surface import MDF, TAKE, surface_of
        from toolpaths.instrument.woods import WOODS
        from toolpaths.job.changes import Changes
        from toolpaths.job.files.likely_words import did_you_mean
        from toolpaths.job.files.machine_file import load_machine
        from toolpaths.job.files.rack_file import load_rack
        from toolpaths.reports.text.words import file_part

        it = load_machine(machine)
        boards = {MDF.name.lower(): MDF, **WOODS}
        if wood.lower() not in boards:
            complain(f"No wood is called `{short(wood)}`; {did_you_mean(wood, boards, 'woods')}")
        made = surface_of(
            it,
            load_rack(),
            bit,
            boards[wood.lower()],
            TAKE if take is None else length_of(take, it.units, "--take"),
            None if area is None else _area(area, it.units),
            [_box(text, it.units) for text in clear or ()],
        )
        lift = 0.0 if air is None else length_of(air, it.units, "--air")
        if air is not None and lift <= 0:
            raise typer.BadParameter("the height must be more than 0", param_hint="--air")
        if file is not None and file.suffix.lower() in (".html", ".htm"):
            such = file.with_suffix(f".{it.ending}").name
            complain(f"{short(str(file))} is the page's name: name the program, such as {short(such)}")
        from toolpaths.pipeline.build import lay_out_loaded
        from toolpaths.pipeline.prove import prove
        from toolpaths.reports.output.folder import not_led_aside, program_files
        from toolpaths.reports.pages.surface_page import standing_table, steps_on_screen, surface_page, surface_table

        with Waiting() as waiting:
            fits = math.sqrt(made.size[0] * made.size[1] / _CELLS)
            changes = Changes(pitch=min(max(fits, _FINEST), _COARSEST), air=lift, units=it.units)
            outcome = prove(lay_out_loaded(made.loaded, changes), progress=waiting)
        show_findings(outcome)
        end_of_run(outcome, "No program was written.")
        stem = f"surface-{file_part(Path(machine).stem)}{'-air' if lift else ''}"
        place = file or not_led_aside(Path("out")) / f"{stem}.{it.ending}"
        own = replace(outcome.programs[0], name=place.name)
        page = place.with_suffix(".html")
        files = {place.with_name(name): content for name, content in program_files([own]).items()}
        put_all({**files, page: surface_page(made, outcome, own).encode()})
        show_tables([surface_table(made, outcome, own), standing_table(made)])
        say(f"Written: {place}")
        say(f"Read {page}: when and how.")
        for line in steps_on_screen(made):
            say(line)


def _area(text: str, units: Units) -> tuple[float, float]:
    """`600x400`, in the machine's units where it names none."""
    parts = text.lower().replace("×", "x").split("x")
    if len(parts) != 2:
        raise typer.BadParameter(f"`{short(text)}` is not XxY, such as 600x400", param_hint="--area")
    return length_of(parts[0], units, "--area"), length_of(parts[1], units, "--area")


def _box(text: str, units: Units) -> tuple[float, float, float, float, float]:
    """`x0,y0,x1,y1,height`, in the machine's units where it names none."""
    parts = text.split(",")
    if len(parts) != 5:
        words = f"`{short(text)}` is not x0,y0,x1,y1,height, such as 20,40,60,80,25"
        raise typer.BadParameter(words, param_hint="--clear")
    x0, y0, x1, y1, height = (length_of(part, units, "--clear") for part in parts)
    return x0, y0, x1, y1, height
