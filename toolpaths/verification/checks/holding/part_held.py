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
from toolpaths.common.units import show
from toolpaths.instrument.wood_strength import POOR, WoodStrength
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
    message = (
        "the job does not say what holds the blank (`hold`), so nothing proves that the part stays held to the end; "
        "name it, with places"
    )
    return Finding.of("part-loose", message, severity=Severity.warn)


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
        yield at_move(inputs, "part-parted", "the part falls into two pieces here: look at its depths", move)
        return
    margins = list(_margins(inputs, blank, part, body))
    worst = min(margins, key=lambda m: m.times, default=None)
    if worst is not None and worst.times < WARN:
        yield _weak(inputs, worst)
    sways = max(margins, key=lambda m: m.sways, default=None)
    if sways is not None and SWAYS_LITTLE < sways.sways < math.inf:
        yield _sways(inputs, sways)


def _loose(inputs: CheckInput, part: Mask) -> Finding:
    remedies, feature, words = _tabs(inputs)

    def free(blank: HeldBlank) -> bool:
        number, _ = blank.of_part(part)
        return not number or not blank.held(blank.body(number))

    if free(held_blank(inputs, inputs.before)):
        message = (
            f"setup {inputs.context.setup.name}: nothing holds the part against lift; stops and pins do not: hold it "
            "by screws in waste that stays joined to it, clamps, tape or a vacuum"
        )
        return Finding.of("part-loose", message)
    move = move_that_frees(inputs, free)
    message = f"here the part comes free: no wood joins it to what holds the blank; {words}"
    return at_move(inputs, "part-loose", message, move, feature=feature, remedies=remedies)


def _tabs(inputs: CheckInput) -> tuple[tuple[Remedy, ...], str, str]:
    """(remedies, the outline's name, what to do): tabs that bear the cut, where some would."""
    found = tabs_typed(inputs, inputs.job.units)
    other = "hold the part itself, by tape or a vacuum"
    if found is None:
        return (), "", f"leave tabs in the outline that stand on wood that is held, or {other}"
    feature, value = found
    remedies = ((Entry("tabs", value),),)
    return remedies, feature, f"{in_words(remedies, '')}, or {other}"


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
    units, load = inputs.job.units, margin.load
    if margin.joints is None:
        what, place = f"what holds the blank ({_listed(margin.holders)})", load.places.mean(axis=0)
    else:
        joints = margin.joints
        k = int(np.argmin(joints.area))
        what = (
            f"the wood between the part and what holds it ({len(joints)} thin places, {joints.area.sum():.0f} mm2 in "
            f"all, the smallest {show(float(joints.height[k]), units)} high and {show(float(joints.length[k]), units)} "
            "long)"
        )
        place = joints.middle[k]
    severity = Severity.stop if margin.times < STOP else Severity.warn
    said = "bears nothing that turns the part" if margin.times <= 0 else f"bears {margin.times:.1f} times the cut"
    message = (
        f"{what} {said}, at most {load.side:.0f} N aside and {load.lift:.0f} N up by {load.bit} (an estimate), in wood "
        f"of {POOR:g} of the usual strength; at least {WARN:g} times are wanted. More, longer or higher tabs, more "
        "screws, a bit that does not pull up, or less depth at once"
    )
    x, y = (float(v) for v in place)
    return Finding.of(
        "hold-weak",
        message,
        program=inputs.program.name,
        place=(x, y) if math.isfinite(x + y) else None,
        severity=severity,
    )


def _sways(inputs: CheckInput, margin: _Margin) -> Finding:
    units = inputs.job.units
    message = (
        f"the part sways by {show(margin.sways, units)} under half of the greatest force of {margin.load.bit}, "
        f"{margin.load.side / 2:.0f} N (an estimate): its tabs stand on slender strips of waste. A wider blank, more "
        "screws along the sides, or wedges between"
    )
    severity = None if margin.sways > SWAYS else Severity.note
    return Finding.of("gives-way", message, program=inputs.program.name, severity=severity)


def _listed(names: tuple[str, ...]) -> str:
    if len(names) <= 3:
        return " and ".join(names)
    return f"{names[0]}, {names[1]} and {len(names) - 2} more"
