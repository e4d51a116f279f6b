"""Arguments and options that several commands share, and how they become `Changes`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from toolpaths.cli.complete import accepted_names, bit_names, feature_names, start_names

if TYPE_CHECKING:
    from toolpaths.common.units import Units
    from toolpaths.job.changes import Changes

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file, YAML.")]
JobFiles = Annotated[list[Path], typer.Argument(metavar="JOB...", help="The job file, YAML, or several.")]
Bit = Annotated[
    list[str] | None,
    typer.Option(
        "--bit",
        metavar="NAME=VALUE",
        autocompletion=bit_names,
        help="Cut with bit NAME at another diameter (scorer=0.8, scorer=1/32in), or with another bit of the rack "
        "in its place (scorer=vee60). May be given several times.",
    ),
]
Only = Annotated[
    str | None,
    typer.Option("--only", metavar="FEATURE", help="Cut this feature alone.", autocompletion=feature_names),
]
From = Annotated[
    str | None,
    typer.Option(
        "--from",
        metavar="NAME",
        autocompletion=start_names,
        help='Begin with this feature, or with one piece of one ("fret 12", "outline: level 3"), as if all before it '
        "were cut.",
    ),
]
Accept = Annotated[
    list[str] | None,
    typer.Option(
        "--accept",
        metavar="CODE@FEATURE",
        autocompletion=accepted_names,
        help="Let one stop finding of one feature pass; programs and report say so. May be given several times.",
    ),
]
Air = Annotated[
    str | None,
    typer.Option("--air", metavar="HEIGHT", help="Lift the whole program by this much, clear of the stock."),
]
Pitch = Annotated[
    str | None, typer.Option("--pitch", metavar="MM", help="Distance between cells of the depth map. [default: 0.1]")
]
Session = Annotated[
    str | None,
    typer.Option(
        "--session",
        metavar="MINUTES",
        help="Divide the work into bookings of so many minutes, changes of bits counted: each program ends inside one.",
    ),
]

_SHORTEST, _LONGEST = 2.0, 1440.0
_FINEST, _COARSEST = 0.01, 1.0


def changes_of(
    job: Path,
    bit: Sequence[str] | None = None,
    only: str | None = None,
    start: str | None = None,
    accept: Sequence[str] | None = None,
    air: str | None = None,
    pitch: str | None = None,
    session: str | None = None,
) -> Changes:
    """What the options ask for. Bare lengths of `--air` are in the job's units, those of `--pitch` in mm.

    Raises typer.BadParameter (exit code 2) in words for the person; JobError for a job that cannot be read.
    """
    from toolpaths.job.changes import Changes
    from toolpaths.job.files.yaml_text import read_document

    units: Units = "in" if air is not None and read_document(job).data.get("units") == "in" else "mm"
    return Changes(
        bits=tuple(pair(text, "=", "--bit", "NAME=DIAMETER or NAME=OTHER, such as scorer=0.8") for text in bit or ()),
        only=only,
        start=start,
        air=0.0 if air is None else _air(air, units),
        accept=tuple(_accepted(text) for text in accept or ()),
        pitch=0.1 if pitch is None else _pitch(pitch),
        session=0.0 if session is None else _session(session),
        units=units,
    )


def pair(text: str, mark: str, option: str, wanted: str) -> tuple[str, str]:
    """The two parts beside a mark. Raises typer.BadParameter, naming the option and what is wanted, without them."""
    name, found, value = (part.strip() for part in text.partition(mark))
    if not (name and found and value):
        raise typer.BadParameter(f"`{short(text)}` is not {wanted}", param_hint=option)
    return name, value


def _accepted(text: str) -> tuple[str, str]:
    from toolpaths.job.files.likely_words import did_you_mean
    from toolpaths.verification.finding import NEVER_ACCEPTED, SEVERITY

    code, feature = pair(text, "@", "--accept", "CODE@FEATURE, such as uncut@marker_pockets")
    if code not in SEVERITY:
        hint = did_you_mean(code, SEVERITY, "codes")
        raise typer.BadParameter(f"no finding has the code `{short(code)}`; {hint}", param_hint="--accept")
    if code in NEVER_ACCEPTED:
        raise typer.BadParameter(f"`{code}` is never accepted: correct its cause", param_hint="--accept")
    return code, feature


def _air(text: str, units: Units) -> float:
    height = length_of(text, units, "--air")
    if height <= 0:
        raise typer.BadParameter("the height must be more than 0", param_hint="--air")
    return height


def _pitch(text: str) -> float:
    pitch = length_of(text, "mm", "--pitch")
    if not _FINEST <= pitch <= _COARSEST:
        raise typer.BadParameter(f"the pitch must be from {_FINEST:g} to {_COARSEST:g} mm", param_hint="--pitch")
    return pitch


def _session(text: str) -> float:
    from toolpaths.common.units import decimal_comma

    try:
        minutes = float(text)
    except ValueError:
        words = decimal_comma(text) or "write a number of minutes"
        raise typer.BadParameter(f"`{short(text)}`: {words}", param_hint="--session") from None
    if not _SHORTEST <= minutes <= _LONGEST:
        said = f"a booking must be from {_SHORTEST:g} to {_LONGEST:g} minutes"
        raise typer.BadParameter(said, param_hint="--session")
    return minutes


def length_of(text: str, units: Units, option: str) -> float:
    """A length in mm; a bare number is in `units`. Raises typer.BadParameter, naming the option, for anything else."""
    from toolpaths.common.units import length

    bare = text.strip()
    try:
        return length(f"{bare} {units}" if bare[-1:].isdigit() or bare.endswith(".") else bare, units)
    except ValueError as error:
        raise typer.BadParameter(f"`{short(text)}`: {error}", param_hint=option) from None


def short(text: str) -> str:
    """What somebody typed, fit to be repeated: cut short, and unable to do anything to a terminal."""
    kept = "".join(c if c.isprintable() else "?" for c in text)
    return kept if len(kept) <= 60 else kept[:59] + "…"
