"""Is wood enough left under and beside every cut once the back is carved?

The error that ruins most necks is a channel that comes through the carved back. The wall is the least distance in
space from what the text's moves cut to the finished back or side, less the carver's tolerance.
Limits: `neck.wall` of the instrument; 3 mm under a rod channel is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from toolpaths.common.units import Units, show
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.instrument.places import nearest_fret
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Remedy, Severity
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.remedies import in_words, shallower
from toolpaths.verification.wall_between_sides import between_sides
from toolpaths.verification.wall_demands import Walls, neck_as_cut
from toolpaths.verification.wall_search import WallLeft, walls_left

_STEPS = 401
_SPARE = 0.02
"""Added to what a cut must be less deep, mm: the least wall is found within a hundredth."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `wall-too-thin`, one a feature: a stop under `neck.wall.stop`, a warning under `neck.wall.warn`."""
    if inputs.job.part != "neck" or inputs.job.instrument.neck is None or inputs.on_bed:
        return []
    neck = neck_as_cut(inputs.context)
    left = walls_left(inputs, neck)
    thin = sorted((w.wall, f) for f, w in left.items() if w.wall < neck.neck.wall.warn - 1e-6)
    found = [_finding(inputs, neck, feature, left[feature]) for _, feature in thin]
    return [*found, *_pins_through(inputs, neck, left), *_between_sides(inputs, neck)]


def _finding(inputs: CheckInput, neck: FinishedNeck, feature: str, left: WallLeft) -> Finding:
    units, limits = inputs.job.units, neck.neck.wall
    stops = left.wall < limits.stop - 1e-6
    x, y, _ = left.point
    line = int(inputs.trace.line[inputs.moves.parent[left.move]]) if left.move >= 0 else 0
    where, more, advice = _where(neck, left)
    remedies = _less_deep(inputs, left, more)
    if more:
        advice = f"{in_words(remedies, f'cut it {show(more, units)} less deep')}, or {advice}"
    near = nearest_fret(inputs.job.instrument, float(x))
    until = (
        "down to the blank's underside"
        if _of_blank(neck, left)
        else f"once the back is carved, {show(limits.carver, units)} taken off for the carver's hand"
    )
    message = (
        f"{_much(inputs, neck, left)} {where} {_name(left)} at x {_at(x, units)}, y {_at(y, units)} ({near}) "
        f"{until}; {show(limits.stop, units)} must be left, {show(limits.warn, units)} should"
        f"{_stretch(inputs, left)}: {advice}"
    )
    of = left.cut.demand if left.cut else feature
    severity = Severity.stop if stops else Severity.warn
    found = at_feature(inputs, "wall-too-thin", message, of, (float(x), float(y)), severity=severity, remedies=remedies)
    return replace(found, program_line=line)


def _less_deep(inputs: CheckInput, left: WallLeft, more: float) -> tuple[Remedy, ...]:
    """The feature's `depth`, less by so much, where that is what made the cut as deep as it is."""
    own_depth = left.cut is not None and left.cut.demand.kind not in (CutKind.adjuster_pocket, CutKind.counterbore)
    return shallower(inputs, left.cut.demand.feature, more) if left.cut is not None and own_depth and more else ()


def _at(mm: float, units: Units) -> str:
    """A coordinate; never `-0.00`."""
    return show(round(float(mm), 3) + 0.0 if abs(mm) >= 0.005 else 0.0, units)


def _name(left: WallLeft) -> str:
    if left.cut is None:
        return "a cut that the job does not ask for"
    return _called(left.cut.demand)


def _called(demand: Demand) -> str:
    return demand.name if demand.name[-1:].isdigit() else f"the {demand.name}"


def _much(inputs: CheckInput, neck: FinishedNeck, left: WallLeft) -> str:
    units, carver = inputs.job.units, neck.neck.wall.carver
    if left.wall > 0:
        return f"{show(left.wall, units)} of wood is left"
    by = -left.wall if _of_blank(neck, left) else -(left.wall + carver)
    return f"no wood is left (open by {show(by, units)})" if by > 0.005 else "no wood is left"


def _of_blank(neck: FinishedNeck, left: WallLeft) -> bool:
    """Whether the blank's own underside is nearer than what the carver will leave."""
    beside = left.cut is not None and left.cut.walls is Walls.beside
    return not beside and left.wall >= neck.wood - float(left.point[2]) - 1e-6


def _where(neck: FinishedNeck, left: WallLeft) -> tuple[str, float, str]:
    """(where the wall is, by how much less deep it must be or 0 where that is no way, what else to do about it)."""
    x, y, d = (float(v) for v in left.point)
    if _of_blank(neck, left):
        return "under", neck.neck.wall.warn - left.wall, "take a thicker blank"
    wall = left.wall + neck.neck.wall.carver
    nearer = "set it nearer to the centreline, or make it narrower or shorter"
    only_beside = left.cut is not None and left.cut.walls is Walls.beside
    if not only_beside and abs(min(x - neck.low, neck.high - x) - wall) < 0.02:
        return "before the neck's end, at", 0.0, "make it shorter, or let it run out at the end"
    gap = float(neck.depth(np.array([x]), np.array([y]))[0]) - d
    aside = float(neck.beside(np.array([[x, y]]))[0])
    if only_beside or aside < 0 or aside < min(gap, 1.3 * wall):
        return "beside", 0.0, nearer
    more = _rise(neck, left)
    return ("under", more, "make the neck thicker there") if more else ("under", 0.0, nearer)


def _rise(neck: FinishedNeck, left: WallLeft) -> float:
    """By how much less deep the thinnest place leaves wood enough, mm; 0 where half of its depth would not do.

    Under a sloping back the nearest surface is aside of straight down: it takes more than what is missing.
    """
    limits = neck.neck.wall
    ends = {} if left.cut is None else {"low": left.cut.low, "high": left.cut.high}
    sides = left.cut is None or left.cut.walls is Walls.around
    rises = np.linspace(0.0, float(left.point[2]) / 2, _STEPS)
    wall, _ = neck.least(left.point - np.outer(rises, [0.0, 0.0, 1.0]), sides=sides, **ends)
    enough = np.nonzero(wall >= limits.warn + limits.carver)[0]
    return float(rises[enough[0]]) + _SPARE if len(enough) else 0.0


def _stretch(inputs: CheckInput, left: WallLeft) -> str:
    x0, x1 = left.span
    units = inputs.job.units
    return f" (less from x {_at(x0, units)} to {_at(x1, units)})" if x1 - x0 > 1.0 else ""


def _pins_through(inputs: CheckInput, neck: FinishedNeck, left: dict[str, WallLeft]) -> list[Finding]:
    """Pins are seldom meant to show at the back of the shaft: a warning where they go right through."""
    if inputs.context.flipped:
        return []
    out = []
    for wall in left.values():
        cut = wall.cut
        if cut is None or cut.demand.kind is not CutKind.pin_hole or cut.walls is not Walls.beside:
            continue
        x, y = float(wall.point[0]), float(wall.point[1])
        if neck.flat_at(np.array([x]))[0]:
            continue
        message = (
            f"{cut.demand.name} goes right through the finished neck at x {show(x, inputs.job.units)}, "
            f"{nearest_fret(inputs.job.instrument, x)}: give the pins a `depth`, unless the hole may show at the back"
        )
        out.append(at_feature(inputs, "wall-too-thin", message, cut.demand, (x, y), severity=Severity.warn))
    return out


def _more_of(back: Demand | None) -> str:
    """What leaves more wood at the back, by the kind of what was cut there."""
    match None if back is None else back.kind:
        case CutKind.heel_seat:
            return "a thicker heel"
        case CutKind.head_back:
            return "a thicker headstock"
        case _:
            return "a greater `leave` on the back"


def _between_sides(inputs: CheckInput, neck: FinishedNeck) -> list[Finding]:
    """Too little wood, before any carving, between a cut from the face and the kerfs and faces cut from the back."""
    units, limits, out = inputs.job.units, neck.neck.wall, []
    for one in between_sides(inputs, neck):
        x, y = one.place
        of = "the back" if one.back is None else _called(one.back)
        message = (
            f"{show(one.wood, units)} of wood is left between {_called(one.face)} and {of} at x {_at(x, units)}, "
            f"y {_at(y, units)} ({nearest_fret(inputs.job.instrument, x)}) before anything is carved; "
            f"{show(limits.stop, units)} must be left, {show(limits.warn, units)} should: {_more_of(one.back)}, or a "
            "cut less deep from the face"
        )
        severity = Severity.stop if one.wood < limits.stop - 1e-6 else Severity.warn
        mine = one.back if inputs.context.flipped and one.back is not None else one.face
        out.append(at_feature(inputs, "wall-too-thin", message, mine, one.place, severity=severity))
    return out
