"""Rules of thumb for what a bit is made for: pass depth, fine slot bits, wide bits, deep slots, spirals, runout.

All of them are common practice, no source, unless a line says otherwise; `docs/feeds.md` explains them.
Whether its end cuts at the centre is asked by `plunge`, its own highest speed by `spindle`.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from toolpaths.common.arrays import Array, Ints
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.operations.bit_strength import fine_pass
from toolpaths.operations.chip_load import SIXTEENTH, chip_load, softness, surface_speed
from toolpaths.operations.feeds_and_speeds import HIGHEST_SURFACE_SPEED
from toolpaths.operations.operation import Lines
from toolpaths.operations.speeds_context import FINE, WIDE, stoutness
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.engagement import Engagement, engagement
from toolpaths.verification.finding import Entry, Finding, Remedy, Severity
from toolpaths.verification.remedies import depth as typed
from toolpaths.verification.remedies import in_words, turned
from toolpaths.verification.trace_queries import at_line, at_move, feature_of, speeds_of
from toolpaths.verification.wording import loads

FINE_RAMP = 2.0
"""Degrees: how steeply a slot bit under 1 mm goes down."""
DEEP_SLOT = 2.0
"""Diameters that a slot as wide as the bit may be deep before its chips pack."""
_OPENED = 1.4
"""Diameters of a cut that chips leave. Common practice, no source."""
THIN_WORK = 10.0
"""mm of thickness up to which work bends enough to be lifted off tape or vacuum. From memory, no source."""
LARGE_RUNOUT = 0.05
"""mm: more than the 0.02 to 0.05 of a usual hobby spindle."""
_FRAYED = frozenset({CutKind.line, CutKind.fret_slot, CutKind.marker, CutKind.pocket, CutKind.engraving})
"""Kinds of features whose upper edge is seen."""
_SPARE, _STOP = 1.05, 2.0
"""Parts of a limit above which it is told, and stops."""
_BESIDE = 0.3
"""How far outside the bit's rim the wood beside a slot is looked at, mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `pass-deep`, `fine-bit`, `chips-pack`, `surface-speed`, `spiral`, `runout`; once a bit and feature."""
    met = engagement(inputs)
    bits = inputs.moves.bit[met.move]
    found: list[Finding] = []
    for number, name, bit in inputs.bits_in(bits[met.cuts]):
        mine = np.nonzero(met.cuts & (bits == number))[0]
        for rule in (_fine if bit.weak_diameter < FINE else _deep, _packed, _wide, _spiral, _runout):
            found += rule(inputs, met, name, bit, mine)
    return found


# How deep at once


def bearable_pass(bit: Bit, janka: float) -> float:
    """The deepest pass that a bit bears, mm: 0.5 D in hard wood to 1 D in soft, 0.5 D for bits up to 1.6 mm."""
    return (0.5 + 0.5 * softness(janka) * stoutness(bit.weak_diameter)) * bit.weak_diameter


def _deep(inputs: CheckInput, met: Engagement, name: str, bit: Bit, mine: Ints) -> Iterator[Finding]:
    limit = bearable_pass(bit, inputs.context.wood.janka)
    for feature, place, depth, stop, remedies in _too_deep(inputs, met, name, mine, limit):
        said = loads.pass_too_deep_for_bit(name, depth, limit, remedy=in_words(remedies, ""), units=inputs.job.units)
        line = _line(inputs, met, place)
        yield at_move(inputs, "pass-deep", said, line, feature=feature, severity=stop, remedies=remedies)


def _too_deep(
    inputs: CheckInput, met: Engagement, name: str, places: Ints, limit: float
) -> Iterator[tuple[str, int, float, Severity | None, tuple[Remedy, ...]]]:
    """The deepest pass of each feature above a limit, mm: (feature, place, depth, a stop above twice, remedies)."""
    places = places[~met.plunges[places]]
    depths = _asked(inputs, met, name, places)
    remedies: tuple[Remedy, ...] = ((Entry("pass_depth", typed(limit, inputs.job.units)),),)
    for feature, place in _worst(inputs, met, places, depths, limit * _SPARE):
        depth = float(depths[np.searchsorted(places, place)])
        yield feature, place, depth, Severity.stop if depth > limit * _STOP * _SPARE else None, remedies


def _asked(inputs: CheckInput, met: Engagement, name: str, places: Ints) -> Array:
    """Depth of wood (K,) before the middle of the bit, and no more than the job's passes in that feature: mm.

    A skim leans onto a wall of full height, for a moment, and is no pass; a text that cuts deeper than the job asks
    is `pass-depth`.
    """
    asked: dict[str, float] = {}
    for o in inputs.operations:
        if o.bit == name:
            asked[o.feature] = max(o.cutting.pass_depth, asked.get(o.feature, 0.0))
    most = max(asked.values(), default=np.inf)
    of_section = np.array([*(asked.get(feature, most) for feature, *_ in inputs.trace.sections), most])
    own = of_section[inputs.trace.section[inputs.moves.parent[met.move[places]]]]
    return np.asarray(np.minimum(met.middle[places], own))


def _fine(inputs: CheckInput, met: Engagement, name: str, bit: Bit, mine: Ints) -> Iterator[Finding]:
    """A slot bit under 1 mm: thin passes, a shallow way down, never a plunge."""
    units, limit = inputs.job.units, fine_pass(bit.weak_diameter)
    for feature, place, depth, stop, remedies in _too_deep(inputs, met, name, mine, limit):
        said = loads.fine_bit_too_deep(depth, limit, remedy=in_words(remedies, ""), units=units)
        line = _line(inputs, met, place)
        yield at_move(inputs, "fine-bit", said, line, feature=feature, severity=stop, remedies=remedies)
    passes = mine[~met.plunges[mine]]
    for feature, place in _worst(inputs, met, passes, met.slope[passes], FINE_RAMP + 0.1 + _own_slope(inputs, name)):
        said = loads.fine_bit_too_steep(float(met.slope[place]), FINE_RAMP)
        yield at_move(inputs, "fine-bit", said, _line(inputs, met, place), feature=feature)
    down = mine[met.plunges[mine]]
    for feature, place in _worst(inputs, met, down, met.axial[down], 0.0):
        said = loads.fine_bit_plunges(float(met.axial[place]), FINE_RAMP, units=units)
        line = _line(inputs, met, place)
        yield at_move(inputs, "fine-bit", said, line, feature=feature, severity=Severity.stop)


def _own_slope(inputs: CheckInput, name: str) -> float:
    """Degrees by which the floors of a bit's grooves slope on their own, where they follow a rounded top."""
    floors = [f for o in inputs.operations if isinstance(o, Lines) and o.bit == name for f in o.floors]
    steepest = max((float(np.abs(np.diff(f[:, 1]) / np.diff(f[:, 0])).max()) for f in floors), default=0.0)
    return float(np.degrees(np.arctan(steepest)))


def _packed(inputs: CheckInput, met: Engagement, name: str, bit: Bit, mine: Ints) -> Iterator[Finding]:
    """A slot as wide as the bit with walls on both sides higher than two diameters: the chips stay in it."""
    limit = DEEP_SLOT * bit.diameter
    slot = mine[met.slot[mine] & met.level[mine] & (inputs.standing.top - met.at[mine, 2] > limit * _SPARE)]
    if bit.is_pointed or not len(slot):
        return
    move, at = met.move[slot], met.at[slot]
    way = inputs.moves.end[move, :2] - inputs.moves.start[move, :2]
    aside = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(way[:, 0], way[:, 1])[:, None]
    reach = bit.radius + _BESIDE
    points = np.concatenate([at[:, :2] + reach * aside, at[:, :2] - reach * aside])
    stands = inputs.standing.heights(points, before=np.tile(inputs.first + move, 2)).reshape(2, -1)
    walls = stands.min(axis=0) - at[:, 2]
    wider = None if bit.diameter < FINE else _OPENED * bit.diameter
    for feature, place in _worst(inputs, met, slot, walls, limit * _SPARE):
        deep = float(walls[np.searchsorted(slot, place)])
        said = loads.chips_packed(deep, limit, wider=wider, units=inputs.job.units)
        # Thin passes make little of them, and a slot for a fret has no other width.
        severity = Severity.note if bit.diameter < FINE else None
        line = _line(inputs, met, place)
        yield at_move(inputs, "chips-pack", said, line, feature=feature, severity=severity)


# How fast, and what for


def _wide(inputs: CheckInput, met: Engagement, name: str, bit: Bit, mine: Ints) -> Iterator[Finding]:
    if bit.diameter <= WIDE or bit.max_rpm is not None:
        return
    for feature, place in _first(inputs, met, mine):
        parent = _line(inputs, met, place)
        feed, text_rpm = float(inputs.trace.feed[parent]), float(inputs.trace.rpm[parent])
        rpm = speeds_of(inputs, name, feed, text_rpm)[1]
        speed = surface_speed(bit.diameter, rpm)
        if speed <= HIGHEST_SURFACE_SPEED * 1.01:
            continue
        highest = np.floor(HIGHEST_SURFACE_SPEED / surface_speed(bit.diameter, 1.0) / 100) * 100
        slower = turned(inputs, name, feature, feed, highest, up=False, same_chip=True)
        said = loads.rim_too_fast(
            speed, HIGHEST_SURFACE_SPEED, remedy=in_words(slower, ""), rpm=float(highest), units=inputs.job.units
        )
        yield at_move(inputs, "surface-speed", said, parent, feature=feature, remedies=slower)


def _spiral(inputs: CheckInput, met: Engagement, name: str, bit: Bit, mine: Ints) -> Iterator[Finding]:
    if bit.spiral != "up":
        return
    setup = inputs.context.setup
    if setup.holders.adheres and inputs.context.top <= THIN_WORK and not inputs.on_bed:
        place = int(mine[np.argmin(met.move[mine])])
        by = "tape" if setup.holders.tape else "a vacuum"
        said = loads.lifts_thin_wood(inputs.context.top, THIN_WORK, by=by, units=inputs.job.units)
        yield at_move(inputs, "spiral", said, _line(inputs, met, place))
    kinds = {f.name: f.cuts for f in setup.features}
    for feature, place in _first(inputs, met, mine):
        if kinds.get(feature, frozenset()) & _FRAYED:
            line = _line(inputs, met, place)
            yield at_move(inputs, "spiral", loads.frays_the_edge(), line, feature=feature, severity=Severity.note)


def _runout(inputs: CheckInput, met: Engagement, name: str, bit: Bit, mine: Ints) -> Iterator[Finding]:
    """Only for bits under 1/16 in, and where the spindle wobbles more than is usual."""
    runout = bit.runout if bit.runout is not None else inputs.machine.runout
    if runout <= LARGE_RUNOUT or bit.working_diameter >= SIXTEENTH - 1e-6:
        return
    parent = _line(inputs, met, int(mine[np.argmin(met.move[mine])]))
    feed, text_rpm = float(inputs.trace.feed[parent]), float(inputs.trace.rpm[parent])
    rpm = speeds_of(inputs, name, feed, text_rpm)[0]
    if rpm <= 0 or (chip := chip_load(feed, rpm, bit.flutes)) >= runout:
        return
    slot = bit.cut_diameter + bit.widening(runout)
    said = loads.runout_above_the_chip(runout, chip, slot=slot, units=inputs.job.units)
    yield at_line(inputs, "runout", said, int(inputs.trace.line[parent]))


# Private


def _worst(inputs: CheckInput, met: Engagement, places: Ints, amount: Array, limit: float) -> Iterator[tuple[str, int]]:
    """(feature, place) of the greatest amount above a limit in each feature, in order of the text."""
    worst: dict[str, tuple[float, int]] = {}
    for place, much in zip(places.tolist(), amount.tolist(), strict=True):
        feature = feature_of(inputs, _line(inputs, met, place))
        if much > max(limit, worst.get(feature, (-np.inf,))[0] + 1e-6):
            worst[feature] = much, place
    yield from sorted(((f, p) for f, (_, p) in worst.items()), key=lambda pair: int(met.move[pair[1]]))


def _first(inputs: CheckInput, met: Engagement, places: Ints) -> Iterator[tuple[str, int]]:
    """(feature, place) of the first place in each feature."""
    yield from _worst(inputs, met, places, -met.move[places].astype(np.float64), -np.inf)


def _line(inputs: CheckInput, met: Engagement, place: int) -> int:
    """Index of the trace's move at a place."""
    return int(inputs.moves.parent[met.move[place]])
