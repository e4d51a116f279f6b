"""Does the part stay joined to what holds it until the program ends, and does that bear the cut?

Wood joins from 1 mm of height on; its strength is that of the weakest piece in twenty, the force is the greatest that
is likely. Holders and the wood between them and the part are reckoned as a group of fasteners.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Mask
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Entry, Finding, Remedy, Severity
from toolpaths.verification.holding.coming_free import move_that_frees
from toolpaths.verification.holding.cutting_loads import CuttingLoad, cutting_loads
from toolpaths.verification.holding.held_blank import HeldBlank, Holder, held_blank, nothing_to_hold, within
from toolpaths.verification.holding.joint_group import Bearing, group_ratio, joint_bearings, outermost
from toolpaths.verification.holding.joints import Joints
from toolpaths.verification.holding.proposed_tabs import tabs_typed
from toolpaths.verification.holding.sway import part_sway, strips_of
from toolpaths.verification.holding.weakest_joint import weakest_joint
from toolpaths.verification.remedies import in_words
from toolpaths.verification.trace_queries import at_move
from toolpaths.verification.wording import holding as words

STOP, WARN = 0.5, 2.0
"""Times the greatest force that must be borne. Under a half the likely force, half of the greatest, breaks poor wood;
under twice nothing is left for a dull edge. This project's own."""
SWAYS, SWAYS_LITTLE = 0.5, 0.1
"""How far a part may sway, mm: above the first its edge shows it; from the second on it is noted. Own choice."""
_CORE = 3.0
"""How far inside its outline a part is surely itself, mm."""
_PARTED = 0.1
"""Share of the part from which a piece of it counts."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `part-loose`, `part-parted`, `hold-weak` and `gives-way`."""
    setup = inputs.context.setup
    if nothing_to_hold(inputs):
        return []
    if setup.hold is None:
        return [_unsaid()]
    if setup.unplaced is not None:
        return []  # `holder-unplaced` says so
    return [finding for part in held_blank(inputs).parts for finding in _of_part(inputs, part)]


# Private


@dataclass(frozen=True, slots=True)
class _Margin:
    """How many times what holds a part bears a bit's load. `joints`: the wood between, where that is what is weak.

    `sways`: how far the part moves across where that wood stands on slender waste, mm.
    """

    times: float
    load: CuttingLoad
    holders: tuple[str, ...]
    joints: Joints | None = None
    sways: float = 0.0


def _unsaid() -> Finding:
    return Finding.of("part-loose", words.hold_not_given(), severity=Severity.warn)


def _of_part(inputs: CheckInput, part: Mask) -> Iterator[Finding]:
    blank = held_blank(inputs)
    number, shares = blank.of_part(part)
    if not number:
        return  # `gouge` says so
    body = blank.body(number)
    if not blank.held(body):
        yield _loose(inputs, part)
        return
    pieces = [n for n, share in shares if share >= _PARTED]
    if len(pieces) > 1:
        move = move_that_frees(inputs, lambda b: len([s for _, s in b.of_part(part)[1] if s >= _PARTED]) > 1)
        yield at_move(inputs, "part-parted", words.part_in_two(), move)
        return
    margins = list(_margins(inputs, blank, part, body))
    worst = min(margins, key=lambda m: m.times, default=None)
    if worst is not None and worst.times < WARN:
        yield _weak(inputs, worst)
    sways = max(margins, key=lambda m: m.sways, default=None)
    if sways is not None and SWAYS_LITTLE < sways.sways < math.inf:
        yield _sways(inputs, sways)


def _loose(inputs: CheckInput, part: Mask) -> Finding:
    remedies, feature = _tabs(inputs)

    def free(blank: HeldBlank) -> bool:
        number, _ = blank.of_part(part)
        return not number or not blank.held(blank.body(number))

    if free(held_blank(inputs, inputs.before)):
        return Finding.of("part-loose", words.nothing_holds_down(inputs.context.setup.name))
    move, said = move_that_frees(inputs, free), words.part_comes_free(in_words(remedies, ""))
    return at_move(inputs, "part-loose", said, move, feature=feature, remedies=remedies)


def _tabs(inputs: CheckInput) -> tuple[tuple[Remedy, ...], str]:
    """(remedies, the outline's name): tabs that bear the cut, where some would."""
    found = tabs_typed(inputs, inputs.job.units)
    return ((), "") if found is None else (((Entry("tabs", found[1]),),), found[0])


def _margins(inputs: CheckInput, blank: HeldBlank, part: Mask, body: Mask) -> Iterator[_Margin]:
    columns = blank.columns
    mine = [h for h in blank.holders if (h.cells & body).any()]
    names = tuple(h.name for h in mine)
    whole = [bearing for h in mine for bearing in h.on(columns, body)]
    lies = outermost(columns, body & blank.lies)
    strength = WoodStrength.of(inputs.context.wood.density).poor
    core = within(part & body, _CORE, columns.pitch)
    held = np.zeros_like(core)
    for holder in mine:
        if holder.lifts:
            held |= holder.cells & body
    joints = weakest_joint(columns, core, held, strength)
    strips = [] if joints is None or not len(joints) else strips_of(columns, part, held, joints)
    for load in (load.near(columns, body) for load in cutting_loads(inputs)):
        if not len(load.places):
            continue
        yield _Margin(group_ratio(whole, load.side, load.lift, load.places, lies), load, names)
        if joints is not None:
            between = [*joint_bearings(joints, strength), *_in_part(mine, core)]
            under = outermost(columns, part & body & blank.lies)
            times = group_ratio(between, load.side, load.lift, load.places, under)
            sways = part_sway(strips, strength.elasticity, load.side / 2, load.places[:, 0]) if strips else 0.0
            yield _Margin(times, load, names, joints, sways)


def _in_part(holders: list[Holder], core: Mask) -> Iterator[Bearing]:
    """Pins that stand in the part itself help the joints."""
    for holder in holders:
        if not holder.lifts and (holder.cells & core).any():
            yield from holder.bears


def _weak(inputs: CheckInput, margin: _Margin) -> Finding:
    load, joints, times = margin.load, margin.joints, margin.times
    if joints is None:
        said = words.holders_too_weak(margin.holders, times, WARN, aside=load.side, up=load.lift)
        place = load.places.mean(axis=0)
    else:
        said = words.wood_too_weak(len(joints), times, WARN, aside=load.side, up=load.lift)
        place = joints.middle[int(np.argmin(joints.area))]
    severity = Severity.stop if times < STOP else Severity.warn
    x, y = (float(v) for v in place)
    return Finding.of(
        "hold-weak",
        said,
        program=inputs.program.name,
        place=(x, y) if math.isfinite(x + y) else None,
        severity=severity,
    )


def _sways(inputs: CheckInput, margin: _Margin) -> Finding:
    severity, most = (None, SWAYS) if margin.sways > SWAYS else (Severity.note, SWAYS_LITTLE)
    said = words.part_sways(margin.sways, most, force=margin.load.side / 2, units=inputs.job.units)
    return Finding.of("gives-way", said, program=inputs.program.name, severity=severity)
