"""The command line: arguments in, exit codes out, and the only place that prints. One file a command.

Exit codes: 0 nothing above a warning; 1 a stop finding (then no program is written); 2 a job or a command line
that cannot be used. Heavy imports stand inside the commands, so that help and mistakes answer at once.
"""

from __future__ import annotations

from typing import Annotated, Any

import typer
from typer.core import TyperGroup

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

GROUPS: dict[str, dict[Any, str]] = {
    "Begin": {
        start: "Write a first job from a few questions.",
        machines: "List the machines, or check a machine file of your own.",
        bits: "List the bits of the rack.",
        woods: "List the woods, or where the figures of one come from.",
        explain: "Explain a key, the code of a finding, or a word.",
        schema: "Print the JSON Schema of the job file, for editors.",
    },
    "Look before you cut": {
        check: "Make and prove the programs of a job; write nothing.",
        frets: "List where the frets are.",
        preview: "Draw the wood as it is cut: a picture or a page.",
        compare: "Compare a job with the same job and other bits.",
        fit: "Compare a board with a neck: do they go together?",
        draw: "Draw the shapes at 1:1: DXF, SVG or PDF.",
        plan: "Put the work on an instrument into one order.",
    },
    "Write the programs": {
        write: "Make and prove the programs of a job, and write them.",
        watch: "Watch a job and renew its pages when it changes.",
        verify: "Judge programs against their job, edited ones too.",
    },
    "At the machine": {
        surface: "Write a program that skims the waste board level.",
        gauge: "Write a program that shows whether the axes are true.",
        coupon: "Write programs that try every fit in a scrap.",
        found: "Keep what was measured; later programs follow it.",
    },
    "After": {
        book: "Make the build book of an instrument.",
    },
}
"""The commands in the order of the work, each with what it does in a few words."""


class _InGroups(TyperGroup):
    """The list of commands under the headings of `GROUPS`, none of its words left out."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        widest = max(len(name) for name in self.commands)
        for heading, commands in GROUPS.items():
            with formatter.section(heading):
                formatter.write_dl([(f"{c.__name__:{widest}}", words) for c, words in commands.items()])


app = typer.Typer(
    name="neckpath",
    cls=_InGroups,
    help="Turns the numbers of one guitar neck or fretboard into commented programs for a small CNC router, "
    "and proves them before any wood is cut.",
    epilog="What a command takes: neckpath COMMAND --help. A first board, step by step: docs/first-board.md. "
    "The machine's manual, the shop's rules and local law come first.",
    rich_markup_mode=None,
    invoke_without_command=True,
    pretty_exceptions_enable=False,
)

for _commands in GROUPS.values():
    for _command, _words in _commands.items():
        app.command(short_help=_words)(_command)


def main() -> None:
    """The command `neckpath`."""
    app()


def _say_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"neckpath {__version__}")
        raise typer.Exit


@app.callback()
def _neckpath(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="Say the version and stop.")
    ] = False,
) -> None:
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())
