"""Wood left between what was cut from a neck's face and what the back's programs have cut, from both maps.

Each cell of a cut from the face is a column that ends at its floor; each cell of the back one that begins there. The
least distance between two columns is that between their nearest ends, or straight aside where they overlap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.job.cut_kind import BACK_SURFACES, FREES
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.region_cells import covered
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.wall_demands import Walls, neck_as_cut, walled_cuts

BLOCK = 0.25
"""Cells are looked at together in squares of this size, by their deepest and their lowest, then one by one, mm."""
_GONE = -1e9
_WALLED = (Walls.around, Walls.under)


@dataclass(frozen=True, slots=True)
class Between:
    """The least wood between a cut from the face and one from the back, mm; `place`: x, y in the setup's frame."""

    wood: float
    place: tuple[float, float]
    face: Demand
    back: Demand | None


def between_sides(inputs: CheckInput, neck: FinishedNeck) -> Iterator[Between]:
    """For each cut from the face that must have wood around it: the least to what the back's surfaces have lost.

    Only where this program cuts one of the two, only under `neck.wall.warn` mm.
    """
    context, other = inputs.context, inputs.other_side
    if other is None or context.apart or inputs.on_bed:
        return
    flipped = context.flipped
    here = {o.feature for o in inputs.operations}
    sides = [(c, demands) for c, demands in inputs.of_job if not c.apart]
    cuts = [walled for c, demands in sides if not c.flipped for walled in walled_cuts(c, demands, neck_as_cut(c))]
    of_back = [d for c, demands in sides if c.flipped for d in demands]
    back = [d for d in of_back if d.kind in BACK_SURFACES and d.must]
    own = {d.feature for d in back} if flipped else {w.demand.feature for w in cuts}
    if not back or not own & here:
        return
    above, below = (inputs.after, other) if flipped else (other, inputs.after)
    part = _turned(neck.plan) if flipped else neck.plan
    others = [d for d in of_back if d.kind not in BACK_SURFACES and not d.everywhere]
    lost = part.intersection(_turned(_all(back))).difference(_turned(_all(others, BLOCK)))
    opened = _all((w.demand for w in cuts if w.walls is Walls.beside or w.demand.kind in FREES), BLOCK)
    for walled in cuts:
        if walled.walls in _WALLED:
            region = walled.demand.asked.intersection(part).difference(opened)
            found = _least(region, lost, (below, above), context.glue, neck.neck.wall.warn)
            if found is not None:
                wood, (x, y) = found
                yield Between(wood, (x, -y if flipped else y), walled.demand, _lowest(back, x, -y))


def _turned(region: BaseGeometry) -> BaseGeometry:
    return scale(region, yfact=-1.0, origin=(0, 0))


def _all(demands: Iterable[Demand], more: float = 0.0) -> BaseGeometry:
    """All that some demands ask for, grown by so much, mm."""
    return shapely.union_all([d.asked for d in demands]).buffer(more)


def _lowest(back: Sequence[Demand], x: float, y: float) -> Demand | None:
    """Of the back's demands about a place the one with the lowest floor there."""
    at = shapely.Point(x, y)
    near = [d for d in back if d.asked.distance(at) <= 2 * BLOCK]
    return min(near, key=lambda d: float(d.floor.height(np.array([x]), np.array([y]))[0]), default=None)


def _least(
    region: BaseGeometry, lost: BaseGeometry, maps: tuple[DepthMap, DepthMap], glue: float, limit: float
) -> tuple[float, tuple[float, float]] | None:
    """(least wood, x and y in the face's frame) about a cut to what is `lost` from the back; None from the limit on.

    `maps`: of the face and of the back. Lengths mm.
    """
    below, above = maps
    found = covered(region.buffer(limit), below)
    if found is None or not region.buffer(limit).intersects(lost):
        return None
    rows, cols, _ = found
    xs, ys = below.xs[cols], below.ys[rows]
    depth = np.where(_within(region, below, rows, cols), glue - below.heights[rows, cols].astype(np.float64), _GONE)
    back = np.where(_within(lost, below, rows, cols), _back(above, xs, ys), -_GONE)
    block = max(1, round(BLOCK / below.pitch))
    deep, high = _blocks(depth, block, np.maximum), _blocks(back, block, np.minimum)
    if high.min() - deep.max() >= limit:
        return None
    reach = math.ceil(limit / (block * below.pitch)) + 1
    best, place = limit, (0, 0)
    spread = np.pad(high, reach, constant_values=-_GONE)
    cells = [_cells(values, block) for values in (depth, back)]
    shifts = [(i, j) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1)]
    for i, j in sorted(shifts, key=lambda shift: math.hypot(*shift)):
        least = below.pitch * math.hypot(*(max((abs(k) - 1) * block, 0) for k in (i, j)))
        if least >= best:
            continue
        part = spread[reach + i : reach + i + deep.shape[0], reach + j : reach + j + deep.shape[1]]
        near = np.nonzero((deep > _GONE) & (np.hypot(least, np.maximum(part - deep, 0.0)) < best))
        if len(near[0]):
            wood, at = _between_cells(cells[0], cells[1], near, (i, j), below.pitch)
            k = int(np.argmin(wood))
            if wood[k] < best:
                best, place = float(wood[k]), (int(at[0][k]), int(at[1][k]))
    if best >= limit:
        return None
    row, col = (min(n, size - 1) for n, size in zip(place, (len(ys), len(xs)), strict=True))
    return best, (float(xs[col]), float(ys[row]))


def _cells(values: Array, block: int) -> Array:
    """The cells of each block, (rows of blocks, columns of blocks, block, block); NaN beyond the edges."""
    rows, cols = (-(-size // block) for size in values.shape)
    out = np.full((rows * block, cols * block), np.nan)
    out[: values.shape[0], : values.shape[1]] = values
    return out.reshape(rows, block, cols, block).swapaxes(1, 2)


def _between_cells(
    face: Array, back: Array, near: tuple[Ints, ...], shift: tuple[int, int], pitch: float
) -> tuple[Array, tuple[Ints, Ints]]:
    """(least wood (K,) between the cells of K blocks of the face's and those so far aside, row and column of its cell).

    A wall stands anywhere between the last cell that is cut and the next: from middle to middle two such walls lie
    further apart than the wood between them, by a cell on the average, which is taken off.
    """
    block, count = face.shape[2], len(near[0])
    rows, cols = near[0] + shift[0], near[1] + shift[1]
    inside = (rows >= 0) & (rows < back.shape[0]) & (cols >= 0) & (cols < back.shape[1])
    wood, at = np.full(count, np.inf), (near[0] * block, near[1] * block)
    own, other = face[near[0][inside], near[1][inside]], back[rows[inside], cols[inside]]
    found = np.full(len(own), np.inf)
    places = np.zeros((2, len(own)), dtype=np.int64)
    for a, b, c, d in np.ndindex(block, block, block, block):
        far = (abs(shift[0] * block + c - a), abs(shift[1] * block + d - b))
        aside = pitch * math.hypot(*(max(k - 1, 0) for k in far))
        gap = np.hypot(aside, np.maximum(other[:, c, d] - own[:, a, b], 0.0))
        gap[~(own[:, a, b] > _GONE)] = np.inf
        closer = gap < found
        found[closer] = gap[closer]
        places[:, closer] = np.array([[a], [b]])
    wood[inside] = found
    at[0][inside] += places[0]
    at[1][inside] += places[1]
    return wood, at


def _within(region: BaseGeometry, depth_map: DepthMap, rows: slice, cols: slice) -> Mask:
    """Which cells of a window lie in a region, (rows, cols)."""
    out = np.zeros(depth_map.heights.shape, dtype=bool)
    found = covered(region, depth_map)
    if found is not None:
        out[found[0], found[1]] = found[2]
    return np.asarray(out[rows, cols])


def _back(above: DepthMap, xs: Array, ys: Array) -> Array:
    """Depth below the glue face at which the wood ends at the back, over places of the face's frame; (rows, cols)."""
    rows = np.clip(np.rint((-ys - above.y0) / above.pitch).astype(np.int64), 0, above.heights.shape[0] - 1)
    cols = np.clip(np.rint((xs - above.x0) / above.pitch).astype(np.int64), 0, above.heights.shape[1] - 1)
    return above.heights[rows][:, cols].astype(np.float64)


def _blocks(values: Array, block: int, choose: np.ufunc) -> Array:
    """The greatest or the least of each square of `block` cells a side; those at the edges may be smaller."""
    rows, cols = (np.arange(0, size, block) for size in values.shape)
    return np.asarray(choose.reduceat(choose.reduceat(values, rows, axis=0), cols, axis=1))
