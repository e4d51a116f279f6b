"""Tabs that would hold a part while its outline is cut, as a job file takes them, by the formulas of the proof."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon

from toolpaths.common.arrays import Array
from toolpaths.common.units import Units
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.job.cut_kind import CutKind
from toolpaths.simulation.columns import Columns
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.holding.cutting_loads import CuttingLoad, cutting_loads
from toolpaths.verification.holding.held_blank import held_blank
from toolpaths.verification.holding.joint_group import Bearing, group_ratio, joint_bearings
from toolpaths.verification.holding.joints import UNSURE, Joints
from toolpaths.verification.holding.proposed_places import typed

WANTED = 2.5
"""Times the cut's force that proposed tabs bear by these formulas: a little more than the proof asks for."""
_COUNTS, _LENGTHS, _THICK = (2, 4, 6, 8, 10, 12), (8.0, 10.0, 5.0), (1.5, 2.0, 3.0, 4.0)
_FROM_CORNER, _ROOM = 20.0, 2.0
"""Tabs keep the one from an edge's ends, and the other and the bit's width between them, mm."""
_STRAIGHT = 1e-3

Edge = tuple[tuple[float, float], tuple[float, float]]


def tabs_typed(inputs: CheckInput, units: Units) -> tuple[str, str] | None:
    """(feature, `{count: 6, length: 8, height: 17.5}`) of the outline of this setup; None where none of these would do.

    `height` counts from the blank's underside: it is what the other side has cut away there, and the tab's own.
    """
    outline = next((d for d in inputs.demands if d.kind is CutKind.outline), None)
    if outline is None:
        return None
    under = _under(held_blank(inputs).columns, outline)
    loads = list(cutting_loads(inputs))
    strength = WoodStrength.of(inputs.context.wood.density).poor
    for count in _COUNTS:
        for length in _LENGTHS:
            places = _places(outline, count, length, inputs.job.part == "neck")
            for thick in _THICK if len(places) == count else ():
                height = math.ceil((under + thick) * 2) / 2
                if height < inputs.context.face and _times(outline, places, length, thick, strength, loads) >= WANTED:
                    sizes = f"length: {typed(length, units, up=True)}, height: {typed(height, units, up=True)}"
                    return outline.feature, f"{{count: {count}, {sizes}}}"
    return None


# Private


def _under(columns: Columns, outline: Demand) -> float:
    """How high the wood's underside lies, or lay, in the outline's kerf at its highest, mm."""
    low = columns.low[columns.cells(outline.asked)]
    return float(low.max()) if low.size else 0.0


def _times(
    outline: Demand, places: Sequence[tuple[float, float]], length: float, thick: float, strength: WoodStrength,
    loads: Sequence[CuttingLoad],
) -> float:  # fmt: skip
    """Times that tabs at these places bear the worst of the loads."""
    count, own = len(places), thick - UNSURE
    kerf = outline.asked.area / max(outline.asked.length / 2, 1e-9)
    sizes = (np.full(count, v) for v in (own * length, own, length, kerf))
    joints = Joints(np.array(places), np.tile([0.0, 1.0], (count, 1)), *sizes)
    members: tuple[Bearing, ...] = joint_bearings(joints, strength)
    lies: Array = shapely.get_coordinates(_inner(outline).convex_hull)
    ratios = [group_ratio(members, load.side, load.lift, load.places, lies) for load in loads]
    return min(ratios, default=math.inf)


def _places(outline: Demand, count: int, length: float, neck: bool) -> list[tuple[float, float]]:
    """Where so many tabs would stand on both long sides; fewer where the straight edges have no room for all."""
    out: list[tuple[float, float]] = []
    least = length + 2 * outline.radius + _ROOM
    for side, number in ((-1, (count + 1) // 2), (1, count // 2)):
        edges = [
            e for e in _straight(outline) if side * (e[0][1] + e[1][1]) > 0 and not (neck and e[0][0] + e[1][0] < 0)
        ]
        free = [math.dist(*e) - 2 * _FROM_CORNER - length for e in edges]
        shares = [0] * len(edges)
        for _ in range(number if edges else 0):
            shares[max(range(len(edges)), key=lambda k: free[k] / (shares[k] + 1))] += 1
        for ((ax, ay), (bx, by)), room, share in zip(edges, free, shares, strict=True):
            if share and (room < 0 or (share > 1 and room / share < least)):
                return []
            for k in range(share):
                part = (_FROM_CORNER + length / 2 + room * (k + 0.5) / share) / math.dist((ax, ay), (bx, by))
                out.append((ax + (bx - ax) * part, ay + (by - ay) * part))
    return out


def _straight(outline: Demand) -> Iterator[Edge]:
    """Straight edges of the part's finished outline that run along the grain and have room for a tab, mm."""
    ring = shapely.get_coordinates(_inner(outline).simplify(_STRAIGHT)).tolist()
    for a, b in pairwise(ring):
        if math.dist(a, b) > 2 * _FROM_CORNER and abs(b[0] - a[0]) > abs(b[1] - a[1]):
            yield (a[0], a[1]), (b[0], b[1])


def _inner(outline: Demand) -> Polygon:
    """The part within an outline's kerf: its largest hole, or all of it where tabs divide the kerf."""
    whole = shapely.union_all([outline.asked.buffer(0.01), *([] if outline.relaxed is None else [outline.relaxed])])
    holes = [Polygon(hole) for part in shapely.get_parts(whole) for hole in part.interiors]
    return max(holes, key=lambda h: h.area, default=shapely.box(*whole.bounds))
