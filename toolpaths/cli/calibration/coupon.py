"""`neckpath coupon`: every fit of a job tried in a scrap, and the measured widths given back to the bits."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from toolpaths.cli import options
from toolpaths.cli.options import length_of, short
from toolpaths.cli.screen import Waiting, complain, end_of_run, say, say_whole, show_findings, show_tables, usable

if TYPE_CHECKING:
    from toolpaths.common.units import Units
    from toolpaths.job.loaded import LoadedJob

_PAGE = "coupon.html"
_APART = 0.05
"""Pieces of one bit that disagree by more deserve a second look, mm. Common practice, no source."""
_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9 _-]*|\d+(?: \d+)?/\d+ in|[\d.]+ ?(?:mm|in)")
_PROGRAM = re.compile(r"\d{2,}-coupon-[\w.-]+|\d{2,}-coupon\.[a-z0-9]{1,8}(\.txt)?")


def coupon(
    job: options.JobFile,
    folder: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="DIR", help="Folder of the set. [default: out/<job>-coupon]")
    ] = None,
    stock: Annotated[
        str | None,
        typer.Option(
            "--stock",
            metavar="LxWxT",
            help="Size of the scrap. [default: 120x60x10 mm, longer where the pieces need it]",
        ),
    ] = None,
    measured: Annotated[
        list[str] | None,
        typer.Option(
            "--measured",
            metavar="NAME=WIDTH,...",
            help="Print the bits to paste into the job, from the widths of the pieces as measured.",
        ),
    ] = None,
    bit: options.Bit = None,
    pitch: options.Pitch = None,
) -> None:
    """Write programs that cut a short piece of every fit of a job into a scrap, and a sheet to measure it by."""
    with usable():
        from toolpaths.features.calibration.coupon import coupon_of
        from toolpaths.pipeline.load import load_job

        changes = options.changes_of(job, bit, pitch=pitch)
        if measured and bit:
            complain("With --measured, leave --bit out: the coupon must be the job's as it is written.")
        loaded = load_job(job, changes.bits)
        if measured:
            _give_back(loaded, measured)
            return
        made = coupon_of(loaded, None if stock is None else _size(stock, loaded.job.units))
        from toolpaths.features.calibration.coupon import default_folder
        from toolpaths.pipeline.build import lay_out_loaded
        from toolpaths.pipeline.prove import prove
        from toolpaths.reports.output.folder import not_led_aside, program_files, replace_set
        from toolpaths.reports.pages.coupon_page import coupon_page, coupon_table, programs_of_coupon

        with Waiting() as waiting:
            outcome = prove(lay_out_loaded(made.loaded, changes), progress=waiting)
        show_findings(outcome)
        show_tables([coupon_table(made), programs_of_coupon(outcome)])
        end_of_run(outcome, "No program was written.")
        place = folder or not_led_aside(default_folder(job))
        files = {**program_files(outcome.programs), _PAGE: coupon_page(made, outcome).encode()}
        old = [p.name for p in place.iterdir() if _PROGRAM.fullmatch(p.name)] if place.is_dir() else []
        replace_set(place, files, last=_PAGE, drop=[name for name in old if name not in files])
        say(f"Written into {place}: {', '.join(files)}")
        say(f"Print {place / _PAGE} at 100 %, cut, measure, and give the widths back:")
        names = ",".join(f"{fit.name}=..." for fit in made.fits)
        say_whole(f"  neckpath coupon {job} --measured {names}")


def _give_back(loaded: LoadedJob, measured: list[str]) -> None:
    """The `bits:` block of the measured widths."""
    from toolpaths.common.units import show
    from toolpaths.features.calibration.coupon import fits_of, true_bits
    from toolpaths.job.files.yaml_text import read_document

    job = loaded.job
    pairs: list[tuple[str, float]] = []
    for text in ",".join(measured).split(","):
        name, value = options.pair(text, "=", "--measured", "NAME=WIDTH, such as rod=6.48")
        pairs.append((name, length_of(value, job.units, "--measured")))
    try:
        found_bits = true_bits(job, fits_of(job), pairs)
    except ValueError as error:
        raise typer.BadParameter(str(error), param_hint="--measured") from None
    own = read_document(loaded.path).data.get("bits")
    entries = own if isinstance(own, dict) else {}
    say_whole("# Put this under `bits:` of the job; a line for a bit that stands there already takes its place.")
    say_whole("bits:")
    for one in found_bits:
        digits = 4 if job.units == "in" else 3
        cut = float(show(one.measured, job.units, digits).split()[0])
        entry = {**(entries.get(one.name) or {}), "measured_diameter": cut}
        say_whole(f"  {one.name}: {{{', '.join(f'{k}: {_flow(v)}' for k, v in entry.items())}}}    # {one.said}")
    for one in found_bits:
        if one.spread > _APART:
            say_whole(
                f"# The pieces of {one.name} disagree by {show(one.spread, job.units, 3)}; the mean is taken. "
                "Measure again, and look at runout and backlash."
            )


def _flow(value: Any) -> str:
    """A value of a bit as it stands in a line of YAML."""
    import json

    return value if isinstance(value, str) and _PLAIN.fullmatch(value) else json.dumps(value)


def _size(text: str, units: Units) -> tuple[float, float, float]:
    """`120x60x10`, in the job's units where it names none."""
    parts = text.lower().replace("×", "x").split("x")
    if len(parts) != 3:
        words = f"`{short(text)}` is not LENGTHxWIDTHxTHICKNESS, such as 120x60x10"
        raise typer.BadParameter(words, param_hint="--stock")
    length, width, thick = (length_of(part, units, "--stock") for part in parts)
    if min(length, width, thick) <= 0 or max(length, width) > 3000:
        raise typer.BadParameter("a scrap is more than 0 and less than 3 m in each direction", param_hint="--stock")
    return length, width, thick
