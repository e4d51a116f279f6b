"""Do the pins of the second side stand where the first side's bores are, and can the work go on only one way?"""

from __future__ import annotations

import math

from toolpaths.common.units import show
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_places import at_feature

APART = 0.05
"""How far a pin may stand from its bore, mm. Common practice, no source."""
_LOOSE = 0.3
"""How much wider than its pin a bore may be across the neck, mm. Common practice, no source."""


def check(inputs: CheckInput) -> list[Finding]:
    """Every bed bore against the bores of the side that lies on it, once, with the program that bores the bed."""
    if not inputs.on_bed:
        return []
    bed = [d for d in inputs.demands if d.kind is CutKind.bed_hole]
    pins = [d.mirrored() for d in inputs.other_demands if d.kind is CutKind.pin_hole]
    wrong = [("pins-apart", bore, _apart(inputs, bore, pins)) for bore in bed]
    wrong += [("pins-alike", bore, _alike(bed)) for bore in bed[:1]]
    return [at_feature(inputs, code, message, bore, _middle(bore)) for code, bore, message in wrong if message]


def _apart(inputs: CheckInput, bore: Demand, pins: list[Demand]) -> str:
    """What keeps a pin in this bore of the bed from its bore in the first side; empty where they meet."""
    units = inputs.job.units
    if not pins:
        return f"{bore.name} has no bore in the blank to meet; bore pins in the first side (pin_bores)"
    near = min(pins, key=lambda pin: math.dist(_middle(bore), _middle(pin)))
    off = math.dist(_middle(bore), _middle(near))
    if off > APART:
        return (
            f"{bore.name} stands {show(off, units)} from the nearest bore of the first side ({near.name}); "
            f"at most {show(APART, units)}: give both the same place"
        )
    if not -1e-3 <= _across(near) - _across(bore) <= _LOOSE:
        return (
            f"{bore.name} is {show(_across(bore), units)} wide and {near.name} of the first side "
            f"{show(_across(near), units)} across the neck: one pin does not fit both"
        )
    return ""


def _alike(bed: list[Demand]) -> str:
    """Two equal pins on the centreline also fit end for end, and a single one lets the work turn."""
    if len(bed) == 1:
        return "one pin alone lets the blank turn about it; set two, as far apart as the waste allows"
    widths = [_across(d) for d in bed]
    if max(widths) - min(widths) > 0.2:
        return ""
    return "all pins are of one width, so that the blank also fits end for end; give one another diameter"


def _middle(bore: Demand) -> tuple[float, float]:
    return bore.asked.centroid.x, bore.asked.centroid.y


def _across(demand: Demand) -> float:
    """Width across the neck, mm."""
    _, y0, _, y1 = demand.asked.bounds
    return float(y1 - y0)
