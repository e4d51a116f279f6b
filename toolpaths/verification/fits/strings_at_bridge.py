"""Whether the strings come to lie over the body as high as the bridge wants them, and what depth or shim ends that."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.common.units import Units, show
from toolpaths.instrument.necks import neck_of
from toolpaths.instrument.string_run import over_bridge
from toolpaths.job.job import Instrument
from toolpaths.verification.fits.fit_parts import FitRow, Verdict, signed
from toolpaths.verification.wording import fits as words

ADJUSTS = 1.0
"""How much the screws of a bridge make up for, up or down, mm. Common practice, no source: read yours."""


def strings_at_bridge(neck: Instrument, units: Units) -> Iterator[FitRow]:
    """A row where the neck's instrument says how its strings run, and how its pocket is."""
    heel, run = neck_of(neck).heel, neck.string_run
    if heel is None or heel.pocket is None or run is None or neck.frets < 12:
        return
    found = over_bridge(neck, run, heel, heel.pocket.depth)
    fits = abs(found.off) <= ADJUSTS
    todo = "" if fits else words.strings_off_bridge(found.depth, found.angle, found.shim, found.end, units)
    yield FitRow(
        "strings above the body at the bridge",
        f"bridge {show(found.wanted, units)}",
        f"strings {show(found.height, units)}",
        signed(found.off, units),
        Verdict.fits if fits else Verdict.look,
        todo,
    )
