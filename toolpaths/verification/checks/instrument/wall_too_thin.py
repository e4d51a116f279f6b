"""Is wood enough left under and beside every cut once the back is carved?

The error that ruins most necks is a channel that comes through the carved back. The wall is the least distance in
space from what the text's moves cut to the finished back or side, less the carver's tolerance.
Limits: `neck.wall` of the instrument; 3 mm under a rod channel is common practice, no source.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.units import Units, show
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.instrument.places import nearest_fret
from toolpaths.job.cut_kind import CutKind
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.trace_queries import job_line_of
from toolpaths.verification.wall_demands import Walls, neck_as_cut
from toolpaths.verification.wall_search import WallLeft, walls_left


def check(evidence: CheckInput) -> list[Finding]:
    """Findings `wall-too-thin`, one a feature: a stop under `neck.wall.stop`, a warning under `neck.wall.warn`."""
    if evidence.job.part != "neck" or evidence.job.instrument.neck is None or evidence.on_bed:
        return []
    neck = neck_as_cut(evidence.scene)
    left = walls_left(evidence, neck)
    thin = sorted((w.wall, f) for f, w in left.items() if w.wall < neck.neck.wall.warn - 1e-6)
    found = [_finding(evidence, neck, feature, left[feature]) for _, feature in thin]
    return [*found, *_pins_through(evidence, neck, left)]


def _finding(evidence: CheckInput, neck: FinishedNeck, feature: str, left: WallLeft) -> Finding:
    units, limits = evidence.job.units, neck.neck.wall
    stops = left.wall < limits.stop - 1e-6
    x, y, _ = left.point
    line = int(evidence.trace.line[evidence.moves.parent[left.move]]) if left.move >= 0 else 0
    where, advice = _where(evidence, neck, left)
    near = nearest_fret(evidence.job.instrument, float(x))
    until = (
        "down to the blank's underside"
        if _of_blank(neck, left)
        else f"once the back is carved, {show(limits.carver, units)} taken off for the carver's hand"
    )
    message = (
        f"{_much(evidence, neck, left)} {where} {_name(left)} at x {_at(x, units)}, y {_at(y, units)} ({near}) "
        f"{until}; {show(limits.stop, units)} must be left, {show(limits.warn, units)} should"
        f"{_stretch(evidence, left)}: {advice}"
    )
    return Finding.of(
        "wall-too-thin",
        message,
        feature=feature,
        job_line=left.cut.demand.job_line if left.cut else job_line_of(evidence, feature),
        program=evidence.program.name,
        program_line=line,
        place=(float(x), float(y)),
        severity=Severity.stop if stops else Severity.warn,
    )


def _at(mm: float, units: Units) -> str:
    """A coordinate; never minus nothing."""
    return show(round(float(mm), 3) + 0.0 if abs(mm) >= 0.005 else 0.0, units)


def _name(left: WallLeft) -> str:
    if left.cut is None:
        return "a cut that the job does not ask for"
    name = left.cut.demand.name
    return name if name[-1:].isdigit() else f"the {name}"


def _much(evidence: CheckInput, neck: FinishedNeck, left: WallLeft) -> str:
    units, carver = evidence.job.units, neck.neck.wall.carver
    if left.wall > 0:
        return f"{show(left.wall, units)} of wood is left"
    by = -left.wall if _of_blank(neck, left) else -(left.wall + carver)
    return f"no wood is left (open by {show(by, units)})" if by > 0.005 else "no wood is left"


def _of_blank(neck: FinishedNeck, left: WallLeft) -> bool:
    """Whether the blank's own underside is nearer than what the carver will leave."""
    beside = left.cut is not None and left.cut.walls is Walls.beside
    return not beside and left.wall >= neck.wood - float(left.point[2]) - 1e-6


def _where(evidence: CheckInput, neck: FinishedNeck, left: WallLeft) -> tuple[str, str]:
    """(where the wall is, what to do about it)."""
    x, y, d = (float(v) for v in left.point)
    more = neck.neck.wall.warn - left.wall
    if _of_blank(neck, left):
        return "under", f"cut it {show(more, evidence.job.units)} less deep, or take a thicker blank"
    wall = left.wall + neck.neck.wall.carver
    nearer = "set it nearer to the centreline, or make it narrower or shorter"
    only_beside = left.cut is not None and left.cut.walls is Walls.beside
    if not only_beside and abs(min(x - neck.low, neck.high - x) - wall) < 0.02:
        return "before the neck's end, at", "make it shorter, or let it run out at the end"
    gap = float(neck.depth(np.array([x]), np.array([y]))[0]) - d
    aside = float(neck.beside(np.array([[x, y]]))[0])
    if only_beside or aside < 0 or aside < min(gap, 1.3 * wall):
        return "beside", nearer
    if more > d / 2:
        return "under", nearer
    return "under", f"cut it {show(more, evidence.job.units)} less deep, or make the neck thicker there"


def _stretch(evidence: CheckInput, left: WallLeft) -> str:
    x0, x1 = left.span
    units = evidence.job.units
    return f" (less from x {_at(x0, units)} to {_at(x1, units)})" if x1 - x0 > 1.0 else ""


def _pins_through(evidence: CheckInput, neck: FinishedNeck, left: dict[str, WallLeft]) -> list[Finding]:
    """Pins are seldom meant to show at the back of the shaft: a warning where they go right through."""
    out = []
    for feature, wall in left.items():
        cut = wall.cut
        if (
            cut is None
            or cut.demand.kind is not CutKind.pin_hole
            or cut.walls is not Walls.beside
            or evidence.scene.flipped
        ):
            continue
        x, y = float(wall.point[0]), float(wall.point[1])
        if neck.flat_at(np.array([x]))[0]:
            continue
        message = (
            f"{cut.demand.name} goes right through the finished neck at x {show(x, evidence.job.units)}, "
            f"{nearest_fret(evidence.job.instrument, x)}: give the pins a `depth`, unless the hole may show at the back"
        )
        out.append(
            Finding.of(
                "wall-too-thin",
                message,
                feature=feature,
                job_line=cut.demand.job_line,
                program=evidence.program.name,
                place=(x, y),
                severity=Severity.warn,
            )
        )
    return out
