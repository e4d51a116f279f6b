"""Do bores lie inside the finished part, with wood around them, and pins wholly in it or wholly in waste?"""

from __future__ import annotations

import shapely
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import show
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finished_part import finished_part
from toolpaths.verification.hole_queries import Hole, holes_in

LEAST, ROOM = 2.0, 3.0
"""Wood between a bore and the part's edge: less than the first stops, less than the second (room for a washer) is
told. mm. Common practice, no source."""
_CODE = "bore-off-part"
_SPARE = 1e-3


def check(evidence: CheckInput) -> list[Finding]:
    """Findings `bore-off-part` of the bores that this program cuts."""
    here = {o.feature for o in evidence.operations}
    bores = [h for h in holes_in(evidence.demands, evidence.scene) if h.feature in here]
    if not bores:
        return []
    # Holes are told in instrument coordinates.
    part = scale(finished_part(evidence.scene), yfact=evidence.scene.mirror, origin=(0, 0))
    waste = _kerf(evidence)
    found = [_pin(evidence, h, part, waste) if h.kind == "pin" else _bore(evidence, h, part) for h in bores]
    return shortened([f for f in found if f is not None])


def _bore(evidence: CheckInput, hole: Hole, part: BaseGeometry) -> Finding | None:
    units, name = evidence.job.units, hole.name
    if not part.covers(hole.region):
        if part.disjoint(hole.region):
            return _finding(evidence, hole, f"{name} lies beside the finished part; move it onto it")
        outside = shapely.points(shapely.get_coordinates(hole.region.difference(part)))
        over = float(shapely.distance(outside, part).max())
        return _finding(evidence, hole, f"{name} breaks out of the part's edge by {show(over, units)}; move it")
    left = float(part.boundary.distance(hole.region))
    if left >= ROOM - _SPARE:
        return None
    stop = left < LEAST - _SPARE
    return _finding(
        evidence,
        hole,
        f"{name} leaves {show(left, units)} of wood to the finished part's edge; "
        + (f"at least {show(LEAST, units)} must stay: move it inwards" if stop else "")
        + ("" if stop else f"{show(ROOM, units)} give room for a washer"),
        None if stop else Severity.warn,
    )


def _pin(evidence: CheckInput, hole: Hole, part: BaseGeometry, kerf: BaseGeometry) -> Finding | None:
    """A pin may lie in waste, but then wholly, and clear of the outline's cut."""
    units, name = evidence.job.units, hole.name
    if part.covers(hole.region):
        return _bore(evidence, hole, part)
    if not part.disjoint(hole.region):
        message = f"{name} lies across the finished part's outline; put it wholly in waste, or wholly in the part"
        return _finding(evidence, hole, message)
    if kerf.is_empty or hole.region.distance(kerf) > _SPARE:
        return None
    away = show(float(part.distance(hole.region)), units)
    return _finding(
        evidence,
        hole,
        f"{name} lies {away} beside the finished part, and the outline's cut opens it: "
        "the pin holds nothing then; move it further out",
        Severity.warn,
    )


def _finding(evidence: CheckInput, hole: Hole, message: str, severity: Severity | None = None) -> Finding:
    x, y = hole.middle
    return Finding.of(
        _CODE,
        message,
        feature=hole.feature,
        job_line=hole.job_line,
        program=evidence.program.name,
        place=(x, evidence.scene.mirror * y),
        severity=severity,
    )


def _kerf(evidence: CheckInput) -> BaseGeometry:
    """What this setup's outline cuts beside the part, instrument coordinates."""
    bands = [d.asked for d in evidence.demands if d.name == "outline"]
    if not bands:
        return shapely.Polygon()
    return scale(shapely.union_all(bands), yfact=evidence.scene.mirror, origin=(0, 0))
