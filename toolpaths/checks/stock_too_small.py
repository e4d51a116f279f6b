"""Is the blank large enough for the part, and thick enough to clean up?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.core.evidence import Evidence
from toolpaths.core.finding import Finding
from toolpaths.core.target import Demand
from toolpaths.core.units import show

_CODE = "stock-too-small"
_SPARE = 1e-6
_SEAM = 1e-3
"""Pieces of one band are joined over gaps this narrow, mm."""
_ENDS = ("left end", "near edge", "right end", "far edge")


def check(evidence: Evidence) -> list[Finding]:
    """Findings `stock-too-small` of the features that this program cuts.

    What is cut around may have its kerf off the blank, but not itself; a groove may run out, but its finished
    length may not.
    """
    here = dict.fromkeys(o.feature for o in evidence.operations)
    found: list[Finding] = []
    for feature in here:
        own = [d for d in evidence.demands if d.feature == feature]
        found += _too_thin(evidence, [d for d in own if d.everywhere])
        shapes = [d for d in own if not d.everywhere]
        if shapes and (sunk := _too_short(evidence, shapes)) is not None:
            found.append(sunk)
    return found


def _too_thin(evidence: Evidence, demands: list[Demand]) -> Iterator[Finding]:
    scene, units = evidence.scene, evidence.job.units
    x0, y0, x1, y1 = scene.stock_box
    middle = (np.array([(x0 + x1) / 2]), np.array([(y0 + y1) / 2]))
    for demand in demands:
        face = float(demand.floor.height(*middle)[0])
        if face > scene.least + _SPARE:
            yield Finding.of(
                _CODE,
                f"{show(face, units)} are to remain, and the blank is only {show(scene.least, units)} thick at its "
                f"thinnest: it will not clean up, {show(face - scene.least, units)} are missing; plane to less, or "
                "take a thicker blank",
                feature=demand.feature,
                job_line=demand.job_line,
                program=evidence.program.name,
            )


def _too_short(evidence: Evidence, demands: list[Demand]) -> Finding | None:
    units, box = evidence.job.units, evidence.scene.stock_box
    wanted = _finished(demands)
    bounds = np.array([shape.bounds for _, shape in wanted])
    beyond = np.concatenate([np.array(box[:2]) - bounds[:, :2], bounds[:, 2:] - np.array(box[2:])], axis=1)
    shape, side = np.unravel_index(int(np.argmax(beyond)), beyond.shape)
    most = float(beyond[shape, side])
    if most <= _SPARE:
        return None
    demand, region = wanted[int(shape)]
    middle = region.centroid
    return Finding.of(
        _CODE,
        f"{demand.name} reaches {show(most, units)} past the blank's {_ENDS[int(side)]}; "
        "take a larger blank, or place the part otherwise on it (nut_at, centre_at)",
        feature=demand.feature,
        job_line=demand.job_line,
        program=evidence.program.name,
        place=(middle.x, middle.y),
    )


def _finished(demands: list[Demand]) -> list[tuple[Demand, BaseGeometry]]:
    """What must lie on the blank: the part inside where the demands together are a band around one, else themselves."""
    whole = shapely.union_all([d.asked.buffer(_SEAM, join_style="mitre") for d in demands if d.may])
    holes = [shapely.Polygon(ring) for part in shapely.get_parts(whole) for ring in getattr(part, "interiors", ())]
    if holes:
        return [(demands[0], shapely.union_all(holes).buffer(_SEAM, join_style="mitre"))]
    return [(d, d.asked) for d in demands]
