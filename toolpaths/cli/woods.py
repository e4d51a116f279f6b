"""`neckpath woods`: the woods that a job can name."""

from __future__ import annotations

from typing import Annotated

import typer

from toolpaths.cli.complete import wood_names
from toolpaths.cli.screen import complain, say, show_tables, usable


def woods(
    name: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[NAME]", help="One wood: its figures, and where each comes from.", autocompletion=wood_names
        ),
    ] = None,
) -> None:
    """List the woods that a job can name, or say where the figures of one come from."""
    with usable(makes=False):
        from toolpaths.instrument.woods import WOODS
        from toolpaths.job.files.likely_words import did_you_mean
        from toolpaths.reports.text.wood_tables import wood_table, woods_table

        if not name:
            show_tables([woods_table(WOODS)])
            say("Shrinkage is from green to oven-dry: radial, tangential, of the volume.")
            say("Figures are means of a species. `neckpath woods NAME` says where each comes from.")
            say("A job may describe a wood of its own: {name: pear, janka: 1660, density: 690}.")
            return
        asked = " ".join(name)
        wood = WOODS.get(asked.lower())
        if wood is None:
            complain(f"No wood is called `{asked[:60]}`; {did_you_mean(asked, WOODS, 'woods')}")
        else:
            show_tables([wood_table(wood)])
            if wood.caution:
                say(wood.caution)
