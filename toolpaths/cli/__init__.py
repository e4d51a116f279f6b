"""The command line: arguments in, exit codes out, and the only place that prints. One file a command.

Exit codes: 0 nothing above a warning; 1 a stop finding (then no program is written); 2 a job or a command line
that cannot be used. Heavy imports stand inside the commands, so that help and mistakes answer at once.
"""

from __future__ import annotations

from typing import Annotated

import typer

from toolpaths.cli.begin.start import start
from toolpaths.cli.bits import bits
from toolpaths.cli.book import book
from toolpaths.cli.calibration.coupon import coupon
from toolpaths.cli.calibration.gauge import gauge
from toolpaths.cli.calibration.surface import surface
from toolpaths.cli.check import check
from toolpaths.cli.compare import compare
from toolpaths.cli.draw import draw
from toolpaths.cli.explain import explain
from toolpaths.cli.fit import fit
from toolpaths.cli.found import found
from toolpaths.cli.frets import frets
from toolpaths.cli.machines import machines
from toolpaths.cli.plan import plan
from toolpaths.cli.preview import preview
from toolpaths.cli.schema import schema
from toolpaths.cli.verify import verify
from toolpaths.cli.watch import watch
from toolpaths.cli.woods import woods
from toolpaths.cli.write import write
from toolpaths.common.version import __version__

app = typer.Typer(
    name="neckpath",
    help="Turns the numbers of one guitar neck or fretboard into commented programs for a small CNC router, "
    "and proves them before any wood is cut.",
    rich_markup_mode=None,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)

_COMMANDS = (
    start, check, plan, write, watch, preview, verify, found, book, compare, draw, fit, coupon, gauge, surface, frets,
    machines, bits, woods, explain, schema,
)  # fmt: skip
for _command in _COMMANDS:
    app.command()(_command)


def main() -> None:
    """The command `neckpath`."""
    app()


def _say_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"neckpath {__version__}")
        raise typer.Exit


@app.callback()
def _neckpath(
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="Say the version and stop.")
    ] = False,
) -> None:
    pass
