"""Is wood enough left under and beside every cut once the back is carved?

The error that ruins most necks is a channel that comes through the carved back. The wall is the least distance in
space from what the text's moves cut to the finished back or side, less the carver's tolerance.
Limits: `neck.wall` of the instrument; 3 mm under a rod channel is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.instrument.places import fret_near
from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Remedy, Severity
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.remedies import in_words, shallower
from toolpaths.verification.wall_between_sides import between_sides
from toolpaths.verification.wall_demands import Walls, neck_as_cut
from toolpaths.verification.wall_search import WallLeft, walls_left
from toolpaths.verification.wording import walls as words

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
    limits = neck.neck.wall
    stops = left.wall < limits.stop - 1e-6
    x, y = float(left.point[0]), float(left.point[1])
    line = int(inputs.trace.line[inputs.moves.parent[left.move]]) if left.move >= 0 else 0
    where, more, other = _where(neck, left)
    remedies = _less_deep(inputs, left, more)
    said = words.wall_too_thin(
        left.wall, limits.stop if stops else limits.warn, where, fret_near(inputs.job.instrument, x),
        opens=_opens(neck, left), in_job=left.cut is not None, remedy=in_words(remedies, ""), more=more, other=other,
        units=inputs.job.units,
    )  # fmt: skip
    of = left.cut.demand if left.cut else feature
    severity = Severity.stop if stops else Severity.warn
    found = at_feature(inputs, "wall-too-thin", said, of, (x, y), severity=severity, remedies=remedies)
    return replace(found, program_line=line)


def _less_deep(inputs: CheckInput, left: WallLeft, more: float) -> tuple[Remedy, ...]:
    """The feature's `depth`, less by so much, where that is what made the cut as deep as it is."""
    own_depth = left.cut is not None and left.cut.demand.kind not in (CutKind.adjuster_pocket, CutKind.counterbore)
    return shallower(inputs, left.cut.demand.feature, more) if left.cut is not None and own_depth and more else ()


def _opens(neck: FinishedNeck, left: WallLeft) -> float | None:
    """By how much a cut comes through, mm; 0 where only a carver's slip would open it, None where wood is left."""
    if left.wall > 0:
        return None
    by = -left.wall if _of_blank(neck, left) else -(left.wall + neck.neck.wall.carver)
    return by if by > 0.005 else 0.0


def _of_blank(neck: FinishedNeck, left: WallLeft) -> bool:
    """Whether the blank's own underside is nearer than what the carver will leave."""
    beside = left.cut is not None and left.cut.walls is Walls.beside
    return not beside and left.wall >= neck.wood - float(left.point[2]) - 1e-6


def _where(neck: FinishedNeck, left: WallLeft) -> tuple[str, float, str]:
    """(where the wall is, by how much less deep it must be or 0 where that is no way, what else to do about it)."""
    x, y, d = (float(v) for v in left.point)
    if _of_blank(neck, left):
        return words.BELOW, neck.neck.wall.warn - left.wall, words.THICKER_BLANK
    wall = left.wall + neck.neck.wall.carver
    only_beside = left.cut is not None and left.cut.walls is Walls.beside
    if not only_beside and abs(min(x - neck.low, neck.high - x) - wall) < 0.02:
        return words.BEFORE_END, 0.0, words.SHORTER
    gap = float(neck.depth(np.array([x]), np.array([y]))[0]) - d
    aside = float(neck.beside(np.array([[x, y]]))[0])
    if only_beside or aside < 0 or aside < min(gap, 1.3 * wall):
        return words.BESIDE, 0.0, words.NARROWER
    more = _rise(neck, left)
    return (words.BELOW, more, words.THICKER_NECK) if more else (words.BELOW, 0.0, words.NARROWER)


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
        said = words.pin_through(cut.demand.name, fret_near(inputs.job.instrument, x))
        out.append(at_feature(inputs, "wall-too-thin", said, cut.demand, (x, y), severity=Severity.warn))
    return out


def _more_of(back: Demand | None) -> str:
    """What leaves more wood at the back, by the kind of what was cut there."""
    match None if back is None else back.kind:
        case CutKind.heel_seat:
            return words.THICKER_HEEL
        case CutKind.head_back:
            return words.THICKER_HEAD
        case _:
            return words.MORE_ON_BACK


def _between_sides(inputs: CheckInput, neck: FinishedNeck) -> list[Finding]:
    """Too little wood, before any carving, between a cut from the face and the kerfs and faces cut from the back."""
    limits, out = neck.neck.wall, []
    for one in between_sides(inputs, neck):
        stops = one.wood < limits.stop - 1e-6
        said = words.sides_too_close(
            one.face.name, None if one.back is None else one.back.name,
            one.wood, limits.stop if stops else limits.warn,
            more=_more_of(one.back), units=inputs.job.units,
        )  # fmt: skip
        severity = Severity.stop if stops else Severity.warn
        mine = one.back if inputs.context.flipped and one.back is not None else one.face
        out.append(at_feature(inputs, "wall-too-thin", said, mine, one.place, severity=severity))
    return out
