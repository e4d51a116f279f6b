"""Are bores clear of each other, and tuners far enough apart for their washers?"""

from __future__ import annotations

from itertools import combinations

from toolpaths.common.units import show
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.hole_queries import Hole, holes_in

LEAST = 1.0
"""Wood between two bores below which it stops, mm. Common practice, no source."""
ROOM = 3.0
"""Wood that bores of a board leave between them, mm; a neck says so itself (`wall`). Common practice, no source."""
WASHER = 3.0
"""Room around a tuner's bore for its washer, mm. Common practice, no source."""
_SPARE = 1e-3


def check(evidence: CheckInput) -> list[Finding]:
    """Findings `bores-meet`, one a pair of bores that this setup has cut, once the second is cut."""
    here = {o.feature for o in evidence.operations}
    holes = [h for h in holes_in(evidence.demands, evidence.scene) if h.feature in evidence.begun]
    found: list[tuple[float, Finding]] = []
    for a, b in combinations(holes, 2):
        if not (a.feature in here or b.feature in here) or a.concentric(b):
            continue
        gap = float(a.region.distance(b.region))
        limit = _limit(evidence, a, b)
        if gap < limit - _SPARE:
            found.append((gap, _finding(evidence, a, b, gap, limit)))
    return shortened([finding for _, finding in sorted(found, key=lambda pair: pair[0])])


def _limit(evidence: CheckInput, a: Hole, b: Hole) -> float:
    neck = evidence.job.instrument.neck
    least = ROOM if neck is None else neck.wall.warn
    return max(least, 2 * WASHER) if a.kind == b.kind == "tuner" else least


def _finding(evidence: CheckInput, a: Hole, b: Hole, gap: float, limit: float) -> Finding:
    units, stop = evidence.job.units, gap < LEAST - _SPARE
    said = f"{a.name} and {b.name} " + (
        "run into each other" if gap <= 1e-9 else f"leave {show(gap, units)} of wood between them"
    )
    if stop:
        said += f"; at least {show(LEAST, units)} must stay: move them apart"
    elif a.kind == b.kind == "tuner":
        said += f"; two washers want {show(limit, units)}"
    else:
        said += f"; {show(limit, units)} are sound"
    (ax, ay), (bx, by) = a.middle, b.middle
    return Finding.of(
        "bores-meet",
        said,
        feature=b.feature,
        job_line=b.job_line,
        program=evidence.program.name,
        place=((ax + bx) / 2, evidence.scene.mirror * (ay + by) / 2),
        severity=None if stop else Severity.warn,
    )
