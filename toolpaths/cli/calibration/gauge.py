"""`neckpath gauge`: two marks per axis, whose distance shows the machine's scale error; or four crosses."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

import typer

from toolpaths.cli.options import length_of, short
from toolpaths.cli.screen import complain, end_of_run, say, say_whole, show_findings, usable
from toolpaths.common.whole_files import put_all


def gauge(
    machine: Annotated[str, typer.Argument(metavar="MACHINE", help="A machine's name, or its file.")],
    file: Annotated[
        Path | None,
        typer.Option(
            "-o", "--out", metavar="FILE", help="The program; its page goes beside it. [default: out/gauge-<machine>]"
        ),
    ] = None,
    bit: Annotated[str, typer.Option("--bit", metavar="NAME", help="A pointed or fine bit of the rack.")] = "vee60",
    length: Annotated[
        str | None,
        typer.Option("--length", metavar="LENGTH", help="Between the marks. [default: 400 mm or 16 in]"),
    ] = None,
    wood: Annotated[str, typer.Option("--wood", metavar="WOOD", help="What the waste board is.")] = "hard maple",
    measured: Annotated[
        str | None,
        typer.Option(
            "--measured",
            metavar="LENGTH",
            help="The distance as measured, or with --square both diagonals, such as 565.9,565.5: print the lines to "
            "paste.",
        ),
    ] = None,
    axis: Annotated[Literal["x", "y"], typer.Option("--axis", help="The axis that was measured.")] = "x",
    square: Annotated[
        bool, typer.Option("--square", help="Four crosses, whose diagonals show whether Y is square to X.")
    ] = False,
) -> None:
    """Write a program that scratches two marks an axis, or four crosses, to measure a machine by; or say what was
    measured."""
    with usable():
        from toolpaths.features.calibration.gauge import gauge_of, measured_block, square_block, way_of
        from toolpaths.job.files.machine_file import load_machine
        from toolpaths.reports.text.words import file_part, plain

        it = load_machine(machine)
        asked = None if length is None else length_of(length, it.units, "--length")
        if measured is not None:
            told = way_of(it, axis, asked)
            given = [length_of(one, it.units, "--measured") for one in measured.split(",")]
            if len(given) != (2 if square else 1):
                words = "write both diagonals, first the one from the left front corner: 565.9,565.5"
                raise typer.BadParameter(words if square else "write one distance", param_hint="--measured")
            try:
                if square:
                    sides = (way_of(it, "x", asked), way_of(it, "y", asked))
                    block, words = square_block(it, sides, (given[0], given[1]))
                else:
                    block, words = measured_block(it, axis, told, given[0])
            except ValueError as error:
                raise typer.BadParameter(_reason(error), param_hint="--measured") from None
            say_whole(f"# Put this into the machine file of {plain(it.name)}, in place of any `measured` in it.")
            say_whole(block)
            if words:
                say_whole(f"# {words}")
            return
        from toolpaths.common.units import show
        from toolpaths.instrument.woods import WOODS
        from toolpaths.job.changes import Changes
        from toolpaths.job.files.likely_words import did_you_mean
        from toolpaths.job.files.rack_file import load_rack
        from toolpaths.pipeline.build import lay_out_loaded
        from toolpaths.pipeline.prove import prove
        from toolpaths.reports.output.folder import not_led_aside, program_files
        from toolpaths.reports.pages.gauge_page import gauge_page, read_words
        from toolpaths.reports.reference.cautions import scrap

        if file is not None and file.suffix.lower() == ".html":
            such = file.with_suffix(f".{it.ending}").name
            complain(f"{short(str(file))} is the page's name: name the program, such as {short(such)}")
        if wood.lower() not in WOODS:
            complain(f"No wood is called `{wood[:60]}`; {did_you_mean(wood, WOODS, 'woods')}")
        made = gauge_of(it, load_rack(), bit, WOODS[wood.lower()], asked, square=square)
        outcome = prove(lay_out_loaded(made.loaded, Changes(pitch=0.25)))
        show_findings(outcome)
        end_of_run(outcome, "No program was written.")
        kind = "square" if square else "gauge"
        place = file or not_led_aside(Path("out")) / f"{kind}-{file_part(Path(machine).stem)}.{it.ending}"
        own = replace(outcome.programs[0], name=place.name)
        more = "" if length is None else f" --length {length}"
        sheet = place.with_suffix(".html")
        text = gauge_page(made, outcome, own, f"neckpath gauge {machine}{more}")
        files = {place.with_name(name): content for name, content in program_files([own]).items()}
        put_all({**files, sheet: text.encode()})
        wide, high = (show(v, it.units, 0 if it.units == "mm" else 1) for v in made.size)
        say(f"Written: {place}")
        say(f"Print {sheet}: what to do, and room for what you measure.")
        strips = "" if square else ", or two strips in an L"
        say(f"Lay a flat waste board of {wide} (X) by {high} (Y) or more{strips}, and fix it with tape.")
        say("Set X zero at its left end, Y zero at the edge on your side, and Z zero on its top.")
        for line in scrap(it.units):
            say(line)
        say("Then run the program.")
        if square:
            say("Measure both diagonals, from the middle of one cross to the middle of the other. Then:")
            say_whole(f"  neckpath gauge {machine} --square --measured ...,...{more}")
            say("First the diagonal from the left front cross, then the one from the right front cross.")
        for name, way in () if square else made.ways:
            say(
                f"Measure the marks of {name.upper()} from edge to the same edge; {show(way, it.units)} was commanded. "
                "Then:"
            )
            say_whole(f"  neckpath gauge {machine} --axis {name} --measured ...{more}")
        say(read_words(made, it.units))


def _reason(error: ValueError) -> str:
    """The model's own words, without the frame that pydantic puts around them."""
    errors = getattr(error, "errors", None)
    if errors is None:
        return str(error)
    return "; ".join(str(e["msg"]).removeprefix("Value error, ") for e in errors())
