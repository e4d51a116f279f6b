"""The chosen values for each bit and feature, and what decided each; fits 80 columns."""

from __future__ import annotations

from itertools import groupby

from toolpaths.common.units import Units, show_feed
from toolpaths.operations.operation import Cutting
from toolpaths.reports.text.tables import Table
from toolpaths.reports.text.words import bare, figure
from toolpaths.verification.outcome import Outcome, SetupReport

LEGEND = (
    "Below each value is what decided it: the job, the bit, the wood or the machine;",
    "chip: bit and wood together; feed: a part of the feed; usual: common practice.",
    "Climb cut: on the last skim only (last), always or never. Lines have here how",
    "their levels are cut: one way (all in the same direction) or both ways.",
)
"""The lines under these tables, once."""


def chosen_table(setup: SetupReport, outcome: Outcome) -> Table:
    """One row for each bit and feature; neighbours with the same bit and the same values share one.

    A row's second line says what decided the value above it.
    """
    units = outcome.job.units
    rows = []
    for (bit, cells), group in groupby(setup.features, key=lambda f: (f.bit, _cells(f.cutting, units))):
        # Names on lines of their own, the bit on the last; the values begin on the first.
        rows.append(("\n".join([*(f.name for f in group), f"with {bit}"]), *cells))
    feeds = (f"{what}\n{units}/min" for what in ("feed", "plunge", "ramp"))
    headers = ("feature\nwith bit", "rpm", *feeds, f"pass\n{units}", "step-\nover", f"skim\n{units}", "climb\ncut")
    title = f"Setup {setup.context.setup.name}: chosen values, and what decided each"
    return Table(title, headers, tuple(rows), range(1, 8))


def _cells(cutting: Cutting, units: Units) -> tuple[str, ...]:
    """Each value, and below it the name of the limit that decided it."""
    climbs = {("conventional", "climb"): "last", ("climb", "climb"): "always"}
    values = {
        "rpm": f"{cutting.rpm:.0f}",
        "feed": bare(show_feed(cutting.feed, units)),
        "plunge": bare(show_feed(cutting.plunge, units)),
        "ramp": bare(show_feed(cutting.ramp, units)),
        "pass_depth": figure(cutting.pass_depth, units),
        "step_over": f"{cutting.step_over:.2f}",
        "finish_allowance": figure(cutting.finish_allowance, units),
        "direction": cutting.lines or climbs.get((cutting.rough, cutting.finish), "never"),
    }
    return tuple(f"{value}\n{cutting.limits.get(key, '')}" for key, value in values.items())
