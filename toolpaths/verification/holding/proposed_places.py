"""Places for screws and clamps that keep clear of everything that a setup cuts, as a job file takes them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.holders import Screws
from toolpaths.job.setup_context import SetupContext
from toolpaths.simulation.columns import Columns
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.holding.cut_reach import Swept, swept

Place = tuple[float, float]

EDGE = 8.0
"""From a screw's middle to the nearest edge of the wood, mm. Common practice, no source."""
SEAT = 3.0
"""Wood that must stay under a screw's head, mm. Common practice, no source."""
APART = 250.0
"""At most so far between screws along one side, mm. Common practice, no source."""
_SPARE = 0.2
"""More than is needed, for places are typed with few digits, mm."""
_LIES = 0.05
_STEP = 2.0
_ROUND = 0.5
_FOOT, _BEHIND, _OVER = (30.0, 12.0), 20.0, 15.0
"""Length and depth of a clamp's foot, how far it stands out behind, and how high above the wood, mm."""
_SPACING = 5.0


def screw_places(
    context: SetupContext, demands: Sequence[Demand], part: BaseGeometry, columns: Columns
) -> dict[float, list[Place]]:
    """Places for the usual screws by how deep their heads are to be sunk, mm; empty where there is no room.

    In waste that stays joined, `EDGE` from all that is cut deeper than their heads; the outermost on both sides of the
    part, then evenly between, at most `APART`; shallow before deep.
    """
    usual, clear = Screws(at=((0.0, 0.0),)), context.setup.clearance
    waste = joined_waste(context, demands, part).buffer(-(EDGE + _SPARE))
    if waste.is_empty:
        return {}
    x0, y0, x1, y1 = waste.bounds
    grid = np.stack(np.meshgrid(_steps(x0, x1), _steps(y0, y1)), axis=-1).reshape(-1, 2)
    grid = grid[shapely.contains_xy(waste, grid[:, 0], grid[:, 1])]
    if not len(grid):
        return {}
    highest = _limits(swept(context, demands), np.asarray(shapely.points(grid)), usual.head / 2 + clear) - clear
    sunk = np.maximum(np.ceil((context.top + usual.head_height - highest) / _ROUND - 1e-9) * _ROUND, 0.0)
    under = columns.low[_index(grid[:, 1], columns.y0, columns, 0), _index(grid[:, 0], columns.x0, columns, 1)]
    fits = context.top - sunk - under >= SEAT
    if (fits & (under <= _LIES)).sum() > 1:
        fits &= under <= _LIES  # where the blank lies, if it does so anywhere that suits
    grid, sunk = grid[fits], sunk[fits]
    out: dict[float, list[Place]] = defaultdict(list)
    for place, deep in _spread(grid, sunk, 3 * usual.head):
        out[deep].append(place)
    return dict(sorted(out.items()))


def clamp_places(
    context: SetupContext, demands: Sequence[Demand], part: BaseGeometry
) -> list[tuple[Polygon, Polygon, float]]:
    """(box, foot, height above the bed) of up to four clamps at the blank's edges, the farthest apart."""
    height = math.ceil(context.above_bed(context.top + _OVER))
    free: list[tuple[Polygon, Polygon]] = []
    waste = joined_waste(context, demands, part)
    found = swept(context, demands)
    for whole, foot in _along_edges(context):
        limit = _limits(found, np.asarray([whole]), context.setup.clearance)[0] - context.setup.clearance
        if context.above_bed(float(limit)) >= height and waste.buffer(0.1).covers(foot):
            free.append((whole, foot))
    chosen: list[tuple[Polygon, Polygon]] = []
    while free and len(chosen) < 4:
        if chosen:
            away = [min(f[1].centroid.distance(c[1].centroid) for c in chosen) for f in free]
        else:
            away = [-f[1].centroid.x - abs(f[1].centroid.y) for f in free]
        best = int(np.argmax(away))
        if chosen and away[best] < 2 * _FOOT[0]:
            break
        chosen.append(free.pop(best))
    return [(whole, foot, float(height)) for whole, foot in chosen]


def joined_waste(context: SetupContext, demands: Sequence[Demand], part: BaseGeometry) -> BaseGeometry:
    """The wood beside a part that no kerf cuts away, in pieces that its tabs or its own wood join to it."""
    kerfs = [d.asked for d in demands if d.kind in (CutKind.outline, CutKind.waste, CutKind.inlay_piece)]
    waste = box(*context.stock_box).difference(shapely.union_all([part, *kerfs]))
    tabs = shapely.union_all([d.asked for d in demands if d.kind is CutKind.tab])
    joins = tabs if kerfs and not tabs.is_empty else part
    pieces = [p for p in shapely.get_parts(waste) if p.distance(joins) < EDGE or tabs.is_empty]
    return shapely.union_all(pieces)


def screws_typed(places: dict[float, list[Place]], units: Units) -> str:
    """Screws as a job file takes them: `{screws: [{at: [[17, -42]], sunk: 5.5}]}`."""
    groups = screw_groups(places, units)
    return f"{{screws: {groups[0] if len(groups) == 1 else '[' + ', '.join(groups) + ']'}}}"


def screw_groups(places: dict[float, list[Place]], units: Units) -> list[str]:
    """Each group of screws that are sunk alike, as a job file takes it: `{at: [[17, -42]], sunk: 5.5}`."""
    return [
        f"{{at: [{', '.join(f'[{typed(x, units)}, {typed(y, units)}]' for x, y in at)}]"
        + (f", sunk: {typed(sunk, units, up=True)}}}" if sunk else "}")
        for sunk, at in places.items()
    ]


def clamps_typed(places: Sequence[tuple[Polygon, Polygon, float]], units: Units) -> str:
    """Clamps as a job file takes them."""
    out = []
    for number, (whole, foot, height) in enumerate(places, 1):
        x0, y0, x1, y1 = (typed(v, units) for v in whole.bounds)
        a0, b0, a1, b1 = (typed(v, units) for v in foot.bounds)
        out.append(
            f"{{name: clamp {number}, x: [{x0}, {x1}], y: [{y0}, {y1}], height: {typed(height, units, up=True)}, "
            f"foot: {{x: [{a0}, {a1}], y: [{b0}, {b1}]}}}}"
        )
    return f"{{clamps: [{', '.join(out)}]}}"


def typed(mm: float, units: Units, *, up: bool = False) -> str:
    """A length as typed in a job of those units: to a tenth of a millimetre, a hundredth of an inch."""
    value, digits = (mm / MM_PER_INCH, 2) if units == "in" else (mm, 1)
    scaled = value * 10**digits
    whole = math.ceil(scaled - 1e-6) if up else round(scaled)
    return f"{whole / 10**digits:g}"


# Private


def _limits(found: Sequence[Swept], shapes: Array, aside: float) -> Array:
    """How high (N,) something may stand at shapes (N,), mm: below everything that is swept within that distance."""
    out = np.full(len(shapes), math.inf)
    for one in found:
        np.minimum(out, one.limits(shapes, aside), out=out)
    return out


def _steps(low: float, high: float) -> Array:
    """Round places from low to high, both ends as near as they are round, mm."""
    return np.arange(math.ceil(low), math.floor(high) + 0.5, _STEP)


def _index(values: Array, first: float, columns: Columns, axis: int) -> Array:
    return np.clip(np.rint((values - first) / columns.pitch), 0, columns.high.shape[axis] - 1).astype(np.int64)


def _spread(grid: Array, sunk: Array, nearest: float) -> list[tuple[Place, float]]:
    """Places evenly along both sides of the centreline, from end to end, no two nearer than that."""
    chosen: list[tuple[Place, float]] = []
    if not len(grid):
        return chosen
    low, high = float(grid[:, 0].min()), float(grid[:, 0].max())
    count = max(2, math.ceil((high - low) / APART) + 1)
    for side in (-1, 1):
        mine = np.nonzero(grid[:, 1] * side > 0)[0]
        for x in np.linspace(low, high, count):
            free = [
                i for i in mine
                if all(math.dist(grid[i], place) >= nearest for place, _ in chosen)
                and abs(grid[i, 0] - x) <= (high - low) / (2 * (count - 1)) + 1e-9
            ]  # fmt: skip
            if free:
                # As shallow as there is; then the nearest to its place along the side; then far from the middle.
                best = min(free, key=lambda i: (sunk[i], round(abs(grid[i, 0] - x)), -abs(grid[i, 1])))
                chosen.append(((float(grid[best, 0]), float(grid[best, 1])), float(sunk[best])))
    return chosen if len(chosen) > 1 else []


def _along_edges(context: SetupContext) -> list[tuple[Polygon, Polygon]]:
    """Clamps along the blank's edges: (what each takes up, its foot), mm."""
    x0, y0, x1, y1 = context.stock_box
    long, deep = _FOOT
    out: list[tuple[Polygon, Polygon]] = []
    for x in np.arange(x0, x1 - long + 1e-9, _SPACING):
        out.append((box(x, y0 - _BEHIND, x + long, y0 + deep), box(x, y0, x + long, y0 + deep)))
        out.append((box(x, y1 - deep, x + long, y1 + _BEHIND), box(x, y1 - deep, x + long, y1)))
    for y in np.arange(y0, y1 - long + 1e-9, _SPACING):
        out.append((box(x0 - _BEHIND, y, x0 + deep, y + long), box(x0, y, x0 + deep, y + long)))
        out.append((box(x1 - deep, y, x1 + _BEHIND, y + long), box(x1 - deep, y, x1, y + long)))
    return out
