"""Is there wood enough between what the two sides' programs cut, or does one come through into the other?"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from toolpaths.common.units import show
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finished_part import finished_part

STOP, WARN = 2.0, 3.0
"""Least web where the instrument has no neck that says otherwise, mm. Common practice, no source."""
Array = NDArray[np.float64]

_TOUCH = 0.05
"""A cut counts once it is that far below its surface, mm."""


def check(evidence: CheckInput) -> list[Finding]:
    """Where both sides are cut, the height left between the two floors, outside what is meant to go through."""
    other = evidence.other_side
    if other is None:
        return []
    scene, mine = evidence.scene, evidence.after
    # The cells that this program lowered; the other side's map at the same x and the other y, nearest cell.
    window = evidence.window
    mine_here = mine.heights[window]
    rows, cols = np.nonzero((mine_here < evidence.before.heights[window]) & (mine_here < scene.top - _TOUCH))
    rows, cols = rows + window[0].start, cols + window[1].start
    their_rows = np.rint((-mine.ys[rows] - other.y0) / other.pitch).astype(np.int64)
    their_cols = np.rint((mine.xs[cols] - other.x0) / other.pitch).astype(np.int64)
    inside = (their_rows >= 0) & (their_rows < other.heights.shape[0])
    inside &= (their_cols >= 0) & (their_cols < other.heights.shape[1])
    rows, cols, their_rows, their_cols = rows[inside], cols[inside], their_rows[inside], their_cols[inside]
    # The other side's depth below its own face is the height of this side's underside above the bed.
    under = float(other.heights.max()) - other.heights[their_rows, their_cols].astype(np.float64)
    both = under > _TOUCH
    rows, cols, under = rows[both], cols[both], under[both]
    x, y = mine.xs[cols], mine.ys[rows]
    keep = _meant(evidence, x, y)
    rows, cols, under = rows[keep], cols[keep], under[keep]
    if not len(rows):
        return []
    web = mine.heights[rows, cols] - under
    worst = int(np.argmin(web))
    least, place = float(web[worst]), (float(mine.xs[cols[worst]]), float(mine.ys[rows[worst]]))
    neck = evidence.job.instrument.neck
    stop, warn = (STOP, WARN) if neck is None else (neck.wall.stop, neck.wall.warn)
    if least >= warn:
        return []
    names = _at(place, evidence.demands), _at((place[0], -place[1]), evidence.other_demands)
    first = next((d for d in evidence.demands if d.name == names[0]), None)
    units = evidence.job.units
    left = f"only {show(least, units)} are left" if least > 0 else f"the two meet, by {show(-least, units)}"
    message = (
        f"between {names[0]} of this side and {names[1]} of the other {left}; "
        f"{show(stop, units)} must be, {show(warn, units)} should: cut one of them less deep"
    )
    return [
        Finding.of(
            "web-thin",
            message,
            feature=first.feature if first else "",
            job_line=first.job_line if first else 0,
            program=evidence.program.name,
            place=place,
            severity=Severity.stop if least < stop else Severity.warn,
        )
    ]


def _meant(evidence: CheckInput, x: Array, y: Array) -> NDArray[np.bool_]:
    """Which points (N,) lie in the finished part, where no demand of either side is meant to go through."""
    scene = evidence.scene
    keep = np.asarray(shapely.contains_xy(finished_part(scene), x, y))
    for demand in (*evidence.demands, *(d.mirrored() for d in evidence.other_demands)):
        if _goes_through(demand):
            region = demand.asked.buffer(scene.tolerance + demand.radius)
            shapely.prepare(region)
            keep[keep] = ~shapely.contains_xy(region, x[keep], y[keep])
    return keep


def _goes_through(demand: Demand) -> bool:
    """Whether a demand is meant to leave no wood: bores through, and the outline, which frees the part."""
    return demand.reach > 0 or demand.name in ("outline", "waste beside the outline") or demand.name.startswith("tab ")


def _at(place: tuple[float, float], demands: tuple[Demand, ...]) -> str:
    point = shapely.Point(place)
    inside = [d for d in demands if not d.everywhere and d.asked.distance(point) < 0.5]
    return min(inside, key=lambda d: d.asked.area).name if inside else "a cut"
