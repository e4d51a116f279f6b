"""Tabs that would hold a part while its outline is cut, as a job file takes them, by the formulas of the proof."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.common.units import Units
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.job.cut_kind import CutKind
from toolpaths.simulation.columns import Columns
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.holding.cutting_loads import CuttingLoad, cutting_loads
from toolpaths.verification.holding.held_blank import held_blank, part_regions
from toolpaths.verification.holding.joint_group import Bearing, group_ratio, joint_bearings
from toolpaths.verification.holding.joints import UNSURE, Joints
from toolpaths.verification.holding.proposed_places import typed

WANTED = 2.5
"""Times the cut's force that proposed tabs bear by these formulas: a little more than the proof asks for."""
_COUNTS, _LENGTHS, _THICK = (4, 6, 8, 10, 12), (8.0, 10.0), (1.5, 2.0, 3.0, 4.0)
_FROM_END = 25.0


def tabs_typed(inputs: CheckInput, units: Units) -> tuple[str, str] | None:
    """(feature, `{count: 6, length: 8, height: 17.5}`) of the outline of this setup; None where none of these would do.

    `height` counts from the blank's underside: it is what the other side has cut away there, and the tab's own.
    """
    outline = next((d for d in inputs.demands if d.kind is CutKind.outline), None)
    if outline is None:
        return None
    columns, part = held_blank(inputs).columns, shapely.union_all(list(part_regions(inputs)))
    under = _under(columns, outline)
    loads = list(cutting_loads(inputs))
    strength = WoodStrength.of(inputs.context.wood.density).poor
    kerf = outline.asked.area / max(outline.asked.length / 2, 1e-9)
    for count in _COUNTS:
        for length in _LENGTHS:
            for thick in _THICK:
                height = math.ceil((under + thick) * 2) / 2
                if height < inputs.context.face and _times(part, count, length, thick, kerf, strength, loads) >= WANTED:
                    sizes = f"length: {typed(length, units, up=True)}, height: {typed(height, units, up=True)}"
                    return outline.feature, f"{{count: {count}, {sizes}}}"
    return None


# Private


def _under(columns: Columns, outline: Demand) -> float:
    """How high the wood's underside lies in the outline's kerf, at its highest, mm."""
    cells = columns.cells(outline.asked)
    low = columns.low[cells & columns.wood]
    return float(low.max()) if low.size else 0.0


def _times(
    part: BaseGeometry, count: int, length: float, thick: float, kerf: float, strength: WoodStrength,
    loads: Sequence[CuttingLoad],
) -> float:  # fmt: skip
    places = np.array(list(_evenly(part, count)))
    if len(places) < count:
        return 0.0
    own = thick - UNSURE
    sizes = (np.full(count, v) for v in (own * length, own, length, kerf))
    joints = Joints(places, np.tile([0.0, 1.0], (count, 1)), *sizes)
    members: tuple[Bearing, ...] = joint_bearings(joints, strength)
    lies: Array = shapely.get_coordinates(part.convex_hull)
    ratios = [group_ratio(members, load.side, load.lift, load.places, lies) for load in loads]
    return min(ratios, default=math.inf)


def _evenly(part: BaseGeometry, count: int) -> Iterator[tuple[float, float]]:
    """Places on both long sides of a part."""
    x0, y0, x1, y1 = part.bounds
    for side, number in ((0, (count + 1) // 2), (1, count // 2)):
        for k in range(number):
            x = x0 + _FROM_END + (x1 - x0 - 2 * _FROM_END) * (k + 0.5) / number
            across = part.intersection(LineString([(x, y0 - 1), (x, y1 + 1)]))
            if not across.is_empty:
                yield x, across.bounds[1 + 2 * side]
