"""Do the pins of the second side stand where the first side's bores are, and can the work go on only one way?"""

from __future__ import annotations

import itertools
import math

from toolpaths.common.units import show
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity

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
    return [f for d in bed for f in _met(inputs, d, pins)] + _one_way(inputs, bed)


def _met(inputs: CheckInput, bore: Demand, pins: list[Demand]) -> list[Finding]:
    units = inputs.job.units
    x, y = bore.asked.centroid.x, bore.asked.centroid.y
    if not pins:
        message = f"{bore.name} has no bore in the blank to meet; bore pins in the first side (pin_bores)"
        return [_of(inputs, "pins-apart", message, bore)]
    near = min(pins, key=lambda p: math.dist((x, y), (p.asked.centroid.x, p.asked.centroid.y)))
    off = math.dist((x, y), (near.asked.centroid.x, near.asked.centroid.y))
    if off > APART:
        message = (
            f"{bore.name} stands {show(off, units)} from the nearest bore of the first side ({near.name}); "
            f"at most {show(APART, units)}: give both the same place"
        )
        return [_of(inputs, "pins-apart", message, bore)]
    slack = _across(near) - _across(bore)
    if slack < -1e-3 or slack > _LOOSE:
        message = (
            f"{bore.name} is {show(_across(bore), units)} wide and {near.name} of the first side "
            f"{show(_across(near), units)} across the neck: one pin does not fit both"
        )
        return [_of(inputs, "pins-apart", message, bore)]
    return []


def _one_way(inputs: CheckInput, bed: list[Demand]) -> list[Finding]:
    """Two equal pins on the centreline also fit end for end, and a single one lets the work turn."""
    if len(bed) == 1:
        message = "one pin alone lets the blank turn about it; set two, as far apart as the waste allows"
        return [_of(inputs, "pins-alike", message, bed[0])]
    for a, b in itertools.combinations(bed, 2):
        if abs(_across(a) - _across(b)) > 0.2:
            return []
    if not bed:
        return []
    message = "all pins are of one width, so that the blank also fits end for end; give one another diameter"
    return [_of(inputs, "pins-alike", message, bed[0])]


def _across(demand: Demand) -> float:
    """Width across the neck, mm."""
    _, y0, _, y1 = demand.asked.bounds
    return float(y1 - y0)


def _of(inputs: CheckInput, code: str, message: str, demand: Demand) -> Finding:
    place = (demand.asked.centroid.x, demand.asked.centroid.y)
    return Finding.of(
        code,
        message,
        feature=demand.feature,
        job_line=demand.job_line,
        program=inputs.program.name,
        place=place,
        severity=Severity.warn if code == "pins-alike" else None,
    )
