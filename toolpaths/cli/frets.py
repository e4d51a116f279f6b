"""`neckpath frets`: where the frets of a job stand."""

from __future__ import annotations

from toolpaths.cli.options import JobFile
from toolpaths.cli.screen import say, show_tables, usable


def frets(job: JobFile) -> None:
    """List the frets: distance from the nut, spacing, and what a tenth of a millimetre does in cents."""
    with usable(makes=False):
        from toolpaths.pipeline.load import load_job
        from toolpaths.reports.text.tables import frets_tables
        from toolpaths.reports.text.words import nut_words

        loaded = load_job(job).job
        show_tables(frets_tables(loaded))
        for words in nut_words(loaded.instrument, loaded.units):
            say(words)
        say("Equal temperament, twelve steps to the octave; compensation at the bridge is set by ear afterwards.")
