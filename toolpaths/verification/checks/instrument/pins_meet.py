"""Do the pins of the second side stand where the first side's bores are, and can the work go on only one way?"""

from __future__ import annotations

import math

from toolpaths.job.cut_kind import CutKind
from toolpaths.job.obstacles import ObstacleKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.standing_pins import LOOSE, MEETS, bores_of_other_setups
from toolpaths.verification.wording import instrument as words
from toolpaths.verification.wording.message import Message


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
    return [at_feature(inputs, code, said, bore, bore.middle) for code, bore, said in wrong if said is not None]


def _on_jig(inputs: CheckInput) -> list[Finding]:
    """The pins of the jig that this setup's blank sits on, against the bores of the work's other setups."""
    context, units, setup = inputs.context, inputs.job.units, inputs.context.setup.name
    bores = bores_of_other_setups(context, inputs.of_job)
    pins = [o for o in inputs.obstacles if o.kind is ObstacleKind.pin]
    out: list[Finding] = []
    for pin in pins:
        at = context.on_blank(*pin.box[:2])
        near = min(bores, key=lambda bore: math.dist(at, bore.middle), default=None)
        if near is None:
            said = words.no_bore(pin.name, setup)
        elif (off := math.dist(at, near.middle)) > MEETS:
            said = words.off_its_bore(pin.name, near.name, off, MEETS, units=units, setup=setup)
        elif not -1e-3 <= near.across - 2 * pin.radius <= LOOSE:
            said = words.other_width(pin.name, near.name, 2 * pin.radius, near.across, units=units, setup=setup)
        else:
            continue
        out.append(Finding.of("pins-apart", said, place=at))
    alike = _alike([2 * pin.radius for pin in pins], setup)
    return out if alike is None else [*out, Finding.of("pins-alike", alike)]


def _apart(inputs: CheckInput, bore: Demand, pins: list[Demand]) -> Message | None:
    """What keeps a pin in this bore of the bed from its bore in the first side; None where they meet."""
    units = inputs.job.units
    if not pins:
        return words.no_bore(bore.name)
    near = min(pins, key=lambda pin: math.dist(bore.middle, pin.middle))
    off = math.dist(bore.middle, near.middle)
    if off > MEETS:
        return words.off_its_bore(bore.name, near.name, off, MEETS, units=units)
    if not -1e-3 <= near.across - bore.across <= LOOSE:
        return words.other_width(bore.name, near.name, bore.across, near.across, units=units)
    return None


def _alike(widths: list[float], setup: str = "") -> Message | None:
    """Two equal pins on the centreline also fit end for end, and a single one lets the work turn."""
    if len(widths) == 1:
        return words.one_pin(setup)
    return words.pins_alike(setup) if widths and max(widths) - min(widths) <= 0.2 else None
