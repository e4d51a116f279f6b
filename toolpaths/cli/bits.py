"""`neckpath bits`: the rack."""

from __future__ import annotations

from toolpaths.cli.screen import say, show_tables, usable


def bits() -> None:
    """List the bits of the rack, which every job may use."""
    with usable(makes=False):
        from toolpaths.job.files.rack_file import load_rack
        from toolpaths.reports.text.tables import bits_table

        show_tables([bits_table(load_rack())])
        say("A job lays its own bits beside these; one of the same name takes the rack's place.")
