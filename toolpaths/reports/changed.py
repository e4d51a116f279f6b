"""What an altered run changes against the job as written: the width of a line, passes, feeds, minutes."""

from __future__ import annotations

from dataclasses import dataclass

from toolpaths.core.outcome import FeatureReport, Outcome
from toolpaths.core.units import Units, show
from toolpaths.reports.words import bit_words, chip, feed, minutes


@dataclass(frozen=True, slots=True)
class Difference:
    """One value of one feature, as people read it, in the job as written and as altered."""

    feature: str
    what: str
    before: str
    after: str


def differences(before: Outcome, after: Outcome) -> tuple[Difference, ...]:
    """Every value that reads differently, in cutting order, and the minutes of the whole set last."""
    units = after.job.units
    earlier = {(s.scene.setup.name, f.name): f for s in before.setups for f in s.features}
    out: list[Difference] = []
    for setup in after.setups:
        for new in setup.features:
            old = earlier.get((setup.scene.setup.name, new.name))
            if old is not None:
                a, b = _values(old, before, units), _values(new, after, units)
                out += [Difference(new.name, what, a[what], b[what]) for what in b if a[what] != b[what]]
    total = [minutes(sum(p.minutes for p in o.programs)) for o in (before, after)]
    if total[0] != total[1]:
        out.append(Difference("all programs", "time", total[0], total[1]))
    return tuple(out)


def _values(feature: FeatureReport, outcome: Outcome, units: Units) -> dict[str, str]:
    bit = outcome.job.bits.get(feature.bit)
    cutting = feature.cutting
    return {
        "bit": feature.bit if bit is None else f"{feature.bit}: {bit_words(bit, units)}",
        "width of the line": "none" if feature.width_mm is None else show(feature.width_mm, units),
        "deepest": show(feature.deepest_mm, units),
        "passes": str(feature.passes),
        "depth of a pass": show(cutting.pass_depth, units),
        "feed": feed(cutting.feed, units),
        "chip load": chip(feature.chip_load_mm, units),
        "spindle": f"{cutting.rpm:.0f} rpm",
        "time": minutes(feature.minutes),
    }
