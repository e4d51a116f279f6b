"""Do the pins of the second side stand where the first side's bores are, and can the work go on only one way?"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from toolpaths.instrument.fans import fret_x, scale_at
from toolpaths.instrument.frets import cents_off
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.obstacles import ObstacleKind
from toolpaths.job.placed import OVERLAP, PLAY, Lie
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.standing_pins import LOOSE, MEETS, bores_of_other_setups
from toolpaths.verification.wording import instrument as words
from toolpaths.verification.wording.message import Message

FRETTED = frozenset({CutKind.line, CutKind.fret_slot})
STEP = 0.1
"""Most that a wall may be stepped at a seam, mm: a pass with a scraper. Common practice, no source."""
CENTS = 0.5
"""Most that a fret may be off by the play of pins, cents: a tenth of what is heard. From memory."""
_CUT = 0.5
"""So much lower than the face the wood is at least where a hole is bored, mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Every bed bore against the bores of the side that lies on it, once, with the program that bores the bed.

    On a jig, which has those bores, every pin of the setup, told once.
    """
    if inputs.context.jig is not None:
        return _on_jig(inputs)
    if inputs.context.setup.placed:
        return _moved(inputs)
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


def _moved(inputs: CheckInput) -> list[Finding]:
    """The pins in the bed against the blank's own bores, where it was moved along: two must meet bores that are cut."""
    context, lie, units = inputs.context, inputs.context.lie, inputs.job.units
    if lie is None or inputs.on_bed:
        return []
    bed = [d for d in inputs.demands if d.kind is CutKind.bed_hole]
    if lie.number == 1 and not (context.flipped and bed):
        return []  # it is zeroed there; turned over, it goes onto pins there too
    if len(bed) < 2:
        return [Finding.of("pins-apart", words.no_pins_to_move(lie.name, len(bed)))]
    own = [d for d in inputs.demands if d.kind is CutKind.pin_hole]
    bores = [*own, *bores_of_other_setups(context, inputs.of_job)]
    met: list[tuple[float, float]] = []
    wrong: list[tuple[Demand, Message]] = []
    for hole in bed:
        at = (hole.middle[0] + lie.shift, hole.middle[1])
        near = min(bores, key=lambda bore: math.dist(at, bore.middle), default=None)
        if near is None:
            wrong.append((hole, words.no_bore(hole.name)))
        elif (off := math.dist(at, near.middle)) > MEETS:
            wrong.append((hole, words.off_its_bore(hole.name, near.name, off, MEETS, units=units, setup=lie.name)))
        elif not -1e-3 <= near.across - hole.across <= LOOSE:
            said = words.other_width(hole.name, near.name, hole.across, near.across, units=units, setup=lie.name)
            wrong.append((hole, said))
        elif any(near is one for one in own) and _height(inputs, near.middle) > context.face - _CUT:
            wrong.append((hole, words.not_yet_bored(near.name, lie.name)))
        else:
            met.append(near.middle)
    if len(met) < 2:
        return [at_feature(inputs, "pins-apart", said, hole, hole.middle) for hole, said in wrong]
    return list(_played(inputs, lie, met)) if lie.number > 1 else []


def _height(inputs: CheckInput, place: tuple[float, float]) -> float:
    """How high the wood stands at a place when the program begins, mm."""
    return float(inputs.standing.heights(np.array([place]), before=np.array([inputs.first]))[0])


def _played(inputs: CheckInput, lie: Lie, pins: list[tuple[float, float]]) -> Iterator[Finding]:
    """What the play of the pins does to what is cut in a place: frets in cents, and the step at its first seam."""
    job, units = inputs.job, inputs.job.units
    play = PLAY if inputs.context.setup.play is None else inputs.context.setup.play
    apart = max(math.dist(a, b) for a in pins for b in pins)
    # Both pins at the ends of their play, to opposite sides, turn the blank. Derived.
    turn = 2 * play / apart
    middle = sum(x for x, _ in pins) / len(pins)
    step = play + turn * max(0.0, abs(lie.low - middle) - apart / 2)
    if step > STEP:
        said = words.step_at_seam(lie.name, step, STEP, units=units)
        yield Finding.of("place-play", said, place=(lie.low, 0.0), severity=_weight(step, STEP))
    lines = [d for d in inputs.demands if d.kind in FRETTED and d.asked.bounds[0] > lie.low - OVERLAP / 2]
    if not lines:
        return
    fret = max((f for f in range(1, job.instrument.frets + 1) if fret_x(job.instrument, f) < lie.high), default=0)
    if fret and fret_x(job.instrument, fret) > lie.low:
        cents = cents_off(scale_at(job.instrument, fret, 0.0), fret, play)
        if abs(cents) > CENTS:
            said = words.frets_beside(lie.name, fret, abs(cents), CENTS)
            yield Finding.of("place-play", said, severity=_weight(abs(cents), CENTS))


def _weight(value: float, most: float) -> Severity:
    return Severity.stop if value > 2 * most else Severity.warn


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
