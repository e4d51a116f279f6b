"""Is there wood enough between what the two sides' programs cut, or does one come through into the other?"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import scale

from toolpaths.core.evidence import Evidence
from toolpaths.core.finding import Finding, Severity
from toolpaths.core.raster import covered
from toolpaths.core.target import Demand
from toolpaths.core.units import show
from toolpaths.trade.boards import corners
from toolpaths.trade.necks import neck_outline

STOP, WARN = 2.0, 3.0
"""Least web where the instrument has no neck that says otherwise, mm. Common practice, no source."""
_TOUCH = 0.05
"""A cut counts once it is that far below its surface, mm."""


def check(evidence: Evidence) -> list[Finding]:
    """Where both sides are cut, the height left between the two floors, outside what is meant to go through."""
    if evidence.other_side is None:
        return []
    scene, mine = evidence.scene, evidence.after
    theirs = _seen_from_here(evidence)
    if theirs is None:
        return []
    # The other side's depth below its own face is the height of this side's underside above the bed.
    face = float(np.nanmax(theirs))
    under = face - theirs
    cut = (under > _TOUCH) & (mine.heights < scene.top - _TOUCH) & (mine.heights < evidence.before.heights)
    part = covered(_part(evidence), mine)
    if part is None:
        return []
    rows, cols, mask = part
    within = np.zeros_like(cut)
    within[rows, cols] = mask
    cut &= within
    through = [d for d in (*evidence.demands, *(d.mirrored() for d in evidence.other_demands)) if _goes_through(d)]
    for demand in through:
        found = covered(demand.asked.buffer(scene.tolerance + demand.radius), mine)
        if found is not None:
            cut[found[0], found[1]] &= ~found[2]
    if not cut.any():
        return []
    neck = evidence.job.instrument.neck
    stop, warn = (STOP, WARN) if neck is None else (neck.wall.stop, neck.wall.warn)
    web = np.where(cut, mine.heights - under, np.inf)
    row, col = np.unravel_index(int(np.argmin(web)), web.shape)
    least = float(web[row, col])
    if least >= warn:
        return []
    place = (float(mine.xs[col]), float(mine.ys[row]))
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


def _seen_from_here(evidence: Evidence) -> NDArray[np.float64] | None:
    """The other side's map on this side's cells (rows, cols): the same x, y of the other sign, nearest cell."""
    other, mine = evidence.other_side, evidence.after
    if other is None:
        return None
    rows = np.rint((-mine.ys - other.y0) / other.pitch).astype(int)
    cols = np.rint((mine.xs - other.x0) / other.pitch).astype(int)
    rows, cols = np.clip(rows, 0, other.heights.shape[0] - 1), np.clip(cols, 0, other.heights.shape[1] - 1)
    return np.asarray(other.heights[np.ix_(rows, cols)], dtype=np.float64)


def _part(evidence: Evidence) -> Polygon:
    """The finished part as seen in this setup: what lies in waste need not hold."""
    instrument = evidence.job.instrument
    if evidence.job.part == "neck":
        return scale(neck_outline(instrument, 0.0), yfact=evidence.scene.mirror, origin=(0, 0))
    return Polygon(corners(instrument))


def _goes_through(demand: Demand) -> bool:
    """Whether a demand is meant to leave no wood: bores through, and the outline, which frees the part."""
    return demand.reach > 0 or demand.name in ("outline", "waste beside the outline") or demand.name.startswith("tab ")


def _at(place: tuple[float, float], demands: tuple[Demand, ...]) -> str:
    point = shapely.Point(place)
    inside = [d for d in demands if not d.everywhere and d.asked.distance(point) < 0.5]
    return min(inside, key=lambda d: d.asked.area).name if inside else "a cut"
