"""The chosen values for each bit and feature, with the limit that decided each; fits 80 columns."""

from __future__ import annotations

from itertools import groupby

from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.operations.operation import Cutting
from toolpaths.reports.text.tables import Table
from toolpaths.verification.outcome import FeatureReport, Outcome, SetupReport

LEGEND = (
    "Below each value, whose limit decided it: job, bit, wood or machine;",
    "chip: bit and wood together; feed: a part of the feed; usual: common practice.",
    "Climb cut: on the last skim alone, always or never, as direction says.",
)
"""What stands under these tables, once."""


def chosen_table(setup: SetupReport, outcome: Outcome) -> Table:
    """One row for each bit and feature; neighbours with the same bit and the same values share one.

    A row's second line says whose limit decided the value above it.
    """
    units = outcome.job.units
    rows = []
    for _, group in groupby(setup.features, key=lambda f: (f.bit, _values(f.cutting, units), _limits(f.cutting))):
        rows.append(_row(list(group), units))
    headers = (
        "feature\nwith bit",
        "rpm",
        f"feed\n{units}/min",
        f"plunge\n{units}/min",
        f"ramp\n{units}/min",
        f"pass\n{units}",
        "step-\nover",
        f"skim\n{units}",
        "climb\ncut",
    )
    title = f"Setup {setup.context.setup.name}: what was chosen, and whose limit decided"
    return Table(title, headers, tuple(rows), frozenset(range(1, 8)))


_KEYS = ("rpm", "feed", "plunge", "ramp", "pass_depth", "step_over", "finish_allowance", "direction")


def _row(features: list[FeatureReport], units: Units) -> tuple[str, ...]:
    first = features[0]
    # Names on lines of their own, the bit on the last; the values begin on the first.
    names = "\n".join([*(f.name for f in features), f"with {first.bit}"])
    values, limits = _values(first.cutting, units), _limits(first.cutting)
    return (names, *(f"{v}\n{limit}" for v, limit in zip(values, limits, strict=True)))


def _limits(cutting: Cutting) -> tuple[str, ...]:
    return tuple(cutting.limits.get(key, "") for key in _KEYS)


def _values(cutting: Cutting, units: Units) -> tuple[str, ...]:
    def size(mm: float) -> str:
        return f"{mm / MM_PER_INCH:.3f}" if units == "in" else f"{mm:.2f}"

    def speed(mm_min: float) -> str:
        return f"{mm_min / MM_PER_INCH:.1f}" if units == "in" else f"{mm_min:.0f}"

    climbs = {("conventional", "climb"): "last", ("climb", "climb"): "always"}
    return (
        f"{cutting.rpm:.0f}",
        speed(cutting.feed),
        speed(cutting.plunge),
        speed(cutting.ramp),
        size(cutting.pass_depth),
        f"{cutting.step_over:.2f}",
        size(cutting.finish_allowance),
        climbs.get((cutting.rough, cutting.finish), "never"),
    )
