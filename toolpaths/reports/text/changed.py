"""Differences between a run with other bits and the job as written: line width, passes, feeds, minutes."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

from toolpaths.common.units import Units, show, show_chip, show_feed
from toolpaths.reports.text.words import bit_words, minutes
from toolpaths.verification.outcome import FeatureReport, Outcome


class Difference(NamedTuple):
    """One value of one feature, as people read it, in the job as written and as altered."""

    feature: str
    what: str
    before: str
    after: str


def differences(before: Outcome, after: Outcome) -> tuple[Difference, ...]:
    """Every value that reads differently, in cutting order, and the minutes of the whole set last."""
    units = after.job.units
    earlier, now = _by_bit(before), _by_bit(after)
    out: list[Difference] = []
    for key, new in now.items():
        if (old := earlier.get(key)) is None:
            continue
        # Where a second bit follows, each row says whose it is.
        two = any((*key[:2], i) in now for i in (0, 1) if i != key[2])
        name = f"{new.name}, {new.bit}" if two else new.name
        a, b = _values(old, before, units), _values(new, after, units)
        out += [Difference(name, what, a[what], b[what]) for what in b if a[what] != b[what]]
    total = [minutes(sum(p.minutes for p in o.programs)) for o in (before, after)]
    if total[0] != total[1]:
        out.append(Difference("all programs", "time", total[0], total[1]))
    return tuple(out)


def _by_bit(outcome: Outcome) -> dict[tuple[str, str, int], FeatureReport]:
    """What each bit does, by setup, feature, and which of the feature's bits it is."""
    out: dict[tuple[str, str, int], FeatureReport] = {}
    for setup in outcome.setups:
        names: Counter[str] = Counter()
        for feature in setup.features:
            out[(setup.context.setup.name, feature.name, names[feature.name])] = feature
            names[feature.name] += 1
    return out


def _values(feature: FeatureReport, outcome: Outcome, units: Units) -> dict[str, str]:
    bit = outcome.job.bits.get(feature.bit)
    cutting = feature.cutting
    return {
        "bit": feature.bit if bit is None else f"{feature.bit}: {bit_words(bit, units)}",
        "width of the line": "none" if feature.width_mm is None else show(feature.width_mm, units),
        "deepest": show(feature.deepest_mm, units),
        "passes": str(feature.passes),
        "depth of a pass": show(cutting.pass_depth, units),
        "feed": show_feed(cutting.feed, units),
        "chip load": show_chip(feature.chip_load_mm, units),
        "spindle": f"{cutting.rpm:.0f} rpm",
        "time": minutes(feature.minutes),
    }
