"""Does what is cut into the finished part lie on it, or beside it in the waste?"""

from __future__ import annotations

import numpy as np
import shapely

from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.finished_part import finished_part
from toolpaths.verification.wording.shape import beside_part, past_part

_SPARE = 0.02
"""What reaches out of the part by no more lies on it, mm: what a router holds."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `off-part` of what this program cuts, and whose feature belongs inside the finished part."""
    if inputs.on_bed:
        return []
    here = {o.feature for o in inputs.operations}
    inside = {f.name for f in inputs.context.setup.features if f.lies == "in part"} & here
    meant = [d for d in inputs.demands if d.feature in inside and d.kind is not CutKind.line_in_waste]
    demands = [d for d in meant if d.must and not d.asked.is_empty]
    if not demands:
        return []
    part = finished_part(inputs.context)
    shapely.prepare(part)
    found = [_finding(inputs, d, part) for d in demands if not part.covers(d.asked)]
    return shortened([f for f in found if f is not None])


def _finding(inputs: CheckInput, demand: Demand, part: shapely.Polygon) -> Finding | None:
    """How far one demand reaches out of the part, at the place that lies furthest out; None within `_SPARE`."""
    units, what = inputs.job.units, inputs.job.part
    edge = shapely.get_coordinates(demand.asked)
    away = np.asarray(shapely.distance(shapely.points(edge), part))
    furthest = int(np.argmax(away))
    if away[furthest] <= _SPARE:
        return None
    x, y = (float(v) for v in edge[furthest])
    nearest, by = float(part.distance(demand.asked)), float(away[furthest])
    if nearest > 0:
        message = beside_part(demand.name, what, nearest, by, units)
    else:
        message = past_part(demand.name, what, by, _SPARE, units)
    return at_feature(inputs, "off-part", message, demand, (x, y))
