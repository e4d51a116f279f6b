"""Does every bolt's hole stand wholly within the heel's seat, where the job cuts one?

Beside the seat a bolt pulls on wood that does not lie on the body. Asked of the shapes that the whole job wants, in
instrument coordinates, in whichever order and from whichever side they are cut.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.job.cut_kind import CutKind
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cut_solids import cut_solid
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.wording.walls import bolt_off_seat

_SPARE = 0.02
"""What reaches over the seat's edge by no more stands within it, mm: what a router holds."""
_BOLTS = (CutKind.bolt_hole, CutKind.counterbore)


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `bolt-off-seat` of the bolt holes and counterbores that this program cuts."""
    if inputs.on_bed or inputs.context.apart or inputs.job.part != "neck":
        return []
    here = {o.feature for o in inputs.operations} & inputs.finished
    bolts = [d for d in inputs.demands if d.kind in _BOLTS and d.feature in here]
    if not bolts:
        return []
    seats = [
        cut_solid(context, d).demand.asked
        for context, demands in inputs.of_job
        for d in demands
        if d.kind is CutKind.heel_seat
    ]
    if not seats:
        return []
    seat = shapely.union_all(seats)
    found = [_finding(inputs, d, seat) for d in bolts]
    return shortened([f for f in found if f is not None])


def _finding(inputs: CheckInput, demand: Demand, seat: BaseGeometry) -> Finding | None:
    """How far one hole reaches over the seat's edge; None where it stands within. `seat`: in instrument coordinates."""
    edge = shapely.get_coordinates(cut_solid(inputs.context, demand).demand.asked)
    away = np.asarray(shapely.distance(shapely.points(edge), seat))
    furthest = int(np.argmax(away))
    if away[furthest] <= _SPARE:
        return None
    x, y = float(edge[furthest, 0]), inputs.context.mirror * float(edge[furthest, 1])
    said = bolt_off_seat(demand.name, float(away[furthest]), units=inputs.job.units)
    return at_feature(inputs, "bolt-off-seat", said, demand, (x, y))
