"""`neckpath machines`: the machine files that are there."""

from __future__ import annotations

from toolpaths.cli.screen import say, show_tables, usable


def machines() -> None:
    """List the machines that a job can name."""
    with usable():
        from toolpaths.reports.tables import machines_table
        from toolpaths.stages.load import load_machine, machine_paths

        paths = machine_paths()
        show_tables([machines_table({name: load_machine(name) for name in paths})])
        say("A job may also name a machine file of your own by its path.")
