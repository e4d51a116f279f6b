"""Do the pins of the second side stand where the first side's bores are, and can the work go on only one way?"""

from __future__ import annotations

import math

from toolpaths.common.units import show
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.obstacles import ObstacleKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.standing_pins import LOOSE, MEETS, bores_of_other_setups


def check(inputs: CheckInput) -> list[Finding]:
    """Every bed bore against the bores of the side that lies on it, once, with the program that bores the bed.

    On a jig, which has those bores, every pin of the setup, told once.
    """
    if inputs.context.jig is not None:
        return _on_jig(inputs)
    if not inputs.on_bed:
        return []
    bed = [d for d in inputs.demands if d.kind is CutKind.bed_hole]
    pins = [d.mirrored() for d in inputs.other_demands if d.kind is CutKind.pin_hole]
    wrong = [("pins-apart", bore, _apart(inputs, bore, pins)) for bore in bed]
    wrong += [("pins-alike", bore, _alike([d.across for d in bed])) for bore in bed[:1]]
    return [at_feature(inputs, code, message, bore, bore.middle) for code, bore, message in wrong if message]


def _on_jig(inputs: CheckInput) -> list[Finding]:
    """The pins of the jig that this setup's blank sits on, against the bores of the work's other setups."""
    context, units = inputs.context, inputs.job.units
    bores = bores_of_other_setups(context, inputs.of_job)
    pins = [o for o in inputs.obstacles if o.kind is ObstacleKind.pin]
    out: list[Finding] = []
    for pin in pins:
        at = context.on_blank(*pin.box[:2])
        near = min(bores, key=lambda bore: math.dist(at, bore.middle), default=None)
        if near is None:
            message = f"{pin.name} has no bore in the blank to meet; bore pins in another setup (pin_bores)"
        elif (off := math.dist(at, near.middle)) > MEETS:
            message = (
                f"{pin.name} stands {show(off, units)} from the nearest bore of the blank ({near.name}); at most "
                f"{show(MEETS, units)}: give both the same place"
            )
        elif not -1e-3 <= near.across - 2 * pin.radius <= LOOSE:
            message = (
                f"{pin.name} is {show(2 * pin.radius, units)} wide and {near.name} {show(near.across, units)} across "
                "the neck: one does not fit the other"
            )
        else:
            continue
        out.append(Finding.of("pins-apart", f"setup {context.setup.name}: {message}", place=at))
    if alike := _alike([2 * pin.radius for pin in pins]):
        out.append(Finding.of("pins-alike", f"setup {context.setup.name}: {alike}"))
    return out


def _apart(inputs: CheckInput, bore: Demand, pins: list[Demand]) -> str:
    """What keeps a pin in this bore of the bed from its bore in the first side; empty where they meet."""
    units = inputs.job.units
    if not pins:
        return f"{bore.name} has no bore in the blank to meet; bore pins in the first side (pin_bores)"
    near = min(pins, key=lambda pin: math.dist(bore.middle, pin.middle))
    off = math.dist(bore.middle, near.middle)
    if off > MEETS:
        return (
            f"{bore.name} stands {show(off, units)} from the nearest bore of the first side ({near.name}); "
            f"at most {show(MEETS, units)}: give both the same place"
        )
    if not -1e-3 <= near.across - bore.across <= LOOSE:
        return (
            f"{bore.name} is {show(bore.across, units)} wide and {near.name} of the first side "
            f"{show(near.across, units)} across the neck: one pin does not fit both"
        )
    return ""


def _alike(widths: list[float]) -> str:
    """Two equal pins on the centreline also fit end for end, and a single one lets the work turn."""
    if not widths:
        return ""
    if len(widths) == 1:
        return "one pin alone lets the blank turn about it; set two, as far apart as the waste allows"
    if max(widths) - min(widths) > 0.2:
        return ""
    return "all pins are of one width, so that the blank also fits end for end; give one another diameter"
