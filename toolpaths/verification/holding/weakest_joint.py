"""The weakest wood between a part and what holds it: the least cut, by maximum flow.

Every bond between two cells may carry as much as pulls it apart: its area times the wood's strength in its direction.
The most that can flow from the part's core to the holders is what the weakest cut bears (maximum flow, minimum cut:
Ford and Fulkerson 1956). Flow on every cell of a map takes seconds. So a tile of even wood is one node at first;
then the cut is moved within a few mm of itself, cell by cell, until it gets no weaker. Each step finds only cuts that
are there, so none is weaker than the weakest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.simulation.columns import LEAST, Columns, bonds
from toolpaths.verification.holding.joints import UNSURE, Bonds, Joints, joints_of

ENOUGH = 20_000.0
"""Strength in N from which the weakest cut is no thin joint.

The slenderest joint of that strength stands along the grain, as high as a thick blank (45 mm) and narrow, in the
hardest wood. Poor ebony, pulled, bears 45 N/mm2 and bent 91: 20,000 N are a width of 9.8 mm, and a moment of
45 x 9.8^2 / 6 x 91 = 65 Nm; a side force of 60 N at the far end of a part of 700 mm is 42 Nm. Softer or thinner wood
is wider for the same strength, and wood across the grain far wider. Derived.
"""
_TILE = 1.2
"""Width of a tile, mm."""
_EVEN = 0.8
"""Least part of a tile's highest bond that its lowest may be: what is less even is taken cell by cell."""
_CLOSER = 4.0
"""How far a cut is moved at a time, mm."""
_PER_NEWTON = 100
"""Flow is reckoned in whole numbers: hundredths of a newton."""
_MOST = 2**31 - 1
"""Greatest flow that the library can tell, in hundredths of a newton."""
_PART, _HOLDERS, _END = 0, 1, 2


def weakest_joint(
    columns: Columns, core: Mask, held: Mask, strength: WoodStrength, enough: float = ENOUGH
) -> Joints | None:
    """The joints of the weakest cut between the part's core and the held cells; None where nothing is thin.

    Everything as `weakest_cut` has it.
    """
    cut = weakest_cut(columns, core, held, strength, enough)
    return None if cut is None else joints_of(columns, cut, core | held)


def weakest_cut(
    columns: Columns, core: Mask, held: Mask, strength: WoodStrength, enough: float = ENOUGH
) -> Bonds | None:
    """The bonds of the weakest cut between the part's core and the held cells; None where nothing is thin.

    `core`, `held` (rows, cols): cells that are surely the part, and cells that a holder has; those without wood count
    for nothing. `strength`: of poor wood (`WoodStrength.poor`). Nothing is thin where a holder is in the core itself,
    or where no cut bears less than `enough` N. No bonds at all where no wood joins the two.
    Raises ValueError where the core has no wood.
    """
    core, held = core & columns.wood, held & columns.wood
    if not core.any():
        raise ValueError("the part's core has no wood")
    if (core & held).any():
        return None
    net = _Net(columns, *bonds(columns), strength, enough)
    found = net.cut(net.tiles(), core, held)
    reach = max(1, round(_CLOSER / columns.pitch))
    while found is not None and found.bears:
        far = columns.wood & ~_around(found.bonds.first, core.shape, reach)
        closer = net.cut(net.cells(), core | (far & found.near), held | (far & ~found.near))
        if closer is None or closer.bears >= found.bears:
            break
        found = closer
    return None if found is None else found.bonds


@dataclass(frozen=True, slots=True)
class _Cut:
    """What parts the wood: its bonds, the hundredths of a newton that they bear, and the part's side (rows, cols)."""

    bonds: Bonds
    bears: int
    near: Mask


@dataclass(frozen=True, slots=True)
class _Net:
    """Wood and its bonds along x and along y."""

    columns: Columns
    along: NDArray[np.float32]
    across: NDArray[np.float32]
    strength: WoodStrength
    enough: float

    def cells(self) -> Ints:
        """A number (rows, cols) for each cell."""
        return np.arange(self.columns.high.size).reshape(self.columns.high.shape)

    def tiles(self) -> Ints:
        """The number (rows, cols) of the first cell of each cell's tile, if that is even, else its own."""
        own, n = self.cells(), round(_TILE / self.columns.pitch)
        out = own.copy()
        if 1 < n <= min(own.shape):
            row, col = (n * place for place in np.nonzero(_even(self.along, self.across, n)))
            for i in range(n):
                for j in range(n):
                    out[row + i, col + j] = own[row, col]
        return out

    def cut(self, numbers: Ints, core: Mask, held: Mask) -> _Cut | None:
        """The least cut, seen from the core; None where it bears `enough`. Cells of one number are one node."""
        wood = self.columns.wood
        used = np.zeros(numbers.size, dtype=bool)
        used[numbers[wood & ~core & ~held]] = True
        nodes = (np.cumsum(used) + _END)[numbers]
        count = int(used.sum()) + _END + 1
        nodes[core] = _PART
        nodes[held] = _HOLDERS
        edges = _Edges.of(self, nodes)
        flow, near = _least_cut(
            edges.one, edges.other, edges.bears, count, min(round(self.enough * _PER_NEWTON), _MOST)
        )
        if flow is None:
            return None
        crossing = near[edges.one] != near[edges.other]
        sign = np.where(near[edges.one], 1.0, -1.0)[crossing]
        along = edges.is_along[crossing]
        normal = np.where(along[:, None], [1.0, 0.0], [0.0, 1.0]) * sign[:, None]
        found = Bonds(edges.row[crossing], edges.col[crossing], along, normal, edges.height[crossing] - UNSURE)
        return _Cut(found, flow, near[nodes] & wood)


@dataclass(frozen=True, slots=True)
class _Edges:
    """E bonds between nodes: `one`, `other` (E,), what each `bears` (E,) in whole hundredths of a newton.

    `row`, `col` (E,) of the first cell, `is_along` (E,) whether the other is the next along x, `height` (E,) mm.
    """

    one: Ints
    other: Ints
    bears: Ints
    row: Ints
    col: Ints
    is_along: Mask
    height: Array

    @staticmethod
    def of(net: _Net, nodes: Ints) -> _Edges:
        pitch = net.columns.pitch
        parts = []
        for heights, one, other, is_along, degrees in (
            (net.along, nodes[:, :-1], nodes[:, 1:], True, 0.0),
            (net.across, nodes[:-1], nodes[1:], False, 90.0),
        ):
            row, col = np.nonzero((heights >= LEAST) & (one != other))
            height = heights[row, col].astype(np.float64)
            bears = np.rint(pitch * (height - UNSURE) * net.strength.pulled(degrees) * _PER_NEWTON).astype(np.int64)
            parts.append((one[row, col], other[row, col], bears, row, col, np.full(len(row), is_along), height))
        return _Edges(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _least_cut(one: Ints, other: Ints, bears: Ints, count: int, enough: int) -> tuple[int | None, Mask]:
    """Greatest flow from the part to the holders, None from `enough` on, and the nodes (count,) on the part's side."""
    from scipy.sparse import coo_array, csr_array
    from scipy.sparse.csgraph import breadth_first_order, maximum_flow

    # No edge need carry more than what ends the search, and all flow passes the last edge.
    size = np.concatenate([bears, bears, [enough]])
    start, stop = np.concatenate([one, other, [_HOLDERS]]), np.concatenate([other, one, [_END]])
    summed = coo_array((size, (start, stop)), shape=(count, count)).tocsr()
    graph = csr_array(
        (
            np.minimum(summed.data, enough).astype(np.int32),
            summed.indices.astype(np.int32),
            summed.indptr.astype(np.int32),
        ),
        shape=summed.shape,
    )
    result = maximum_flow(graph, _PART, _END)
    near = np.zeros(count, dtype=bool)
    if result.flow_value >= enough:
        return None, near
    left = (graph - result.flow).tocsr()
    left.eliminate_zeros()
    near[breadth_first_order(left, _PART, return_predecessors=False)] = True
    return int(result.flow_value), near


def _even(along: NDArray[np.float32], across: NDArray[np.float32], n: int) -> Mask:
    """Which whole tiles of n x n cells (rows / n, cols / n) are full of wood about equally high."""
    rows, cols = across.shape[0] + 1, along.shape[1] + 1
    down, right = rows // n * n, cols // n * n
    least = np.full((down // n, right // n), np.inf, dtype=np.float32)
    most = np.zeros_like(least)
    for i in range(n):
        for j in range(n - 1):
            for heights in (along[i:down:n, j:right:n], across[j:down:n, i:right:n]):
                np.minimum(least, heights, out=least)
                np.maximum(most, heights, out=most)
    return (least >= LEAST) & (least >= _EVEN * most)


def _around(cells: tuple[Ints, Ints], shape: tuple[int, int], reach: int) -> Mask:
    """(rows, cols) whether a cell lies in a square of `reach` cells around one of the cells."""
    rows, cols = shape
    row, col = cells
    corners = np.zeros((rows + 1, cols + 1), dtype=np.int32)
    for r, sign in ((np.maximum(row - reach, 0), 1), (np.minimum(row + reach + 1, rows), -1)):
        np.add.at(corners, (r, np.maximum(col - reach, 0)), sign)
        np.add.at(corners, (r, np.minimum(col + reach + 1, cols)), -sign)
    return np.asarray(corners.cumsum(axis=0).cumsum(axis=1)[:rows, :cols] > 0)
