"""The bonds of a cut as joints: what lies together is one, and long ones are taken in pieces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.simulation.columns import LEAST, Columns

UNSURE = 0.2
"""Height of a bond that is not counted on, mm: bed, blank and Z are not truer. Own choice."""
PIECE = 10.0
"""Length of the pieces of a long joint, mm, to the nearest whole number of pieces."""
THICKER = 1.25
"""How many times a joint's own section wood has where a joint ends. Own choice."""
LONGEST = 100.0
"""How far thin wood is followed to either side of a joint, mm."""
_STEPS = 5
"""Sides between cells that are taken as one straight line when a joint's length is measured."""
_AT_ONCE = 10.0
"""How far it is followed at a time, mm."""


@dataclass(frozen=True, slots=True)
class Bonds:
    """B bonds: `row`, `col` (B,) of the first cell and whether the other is the next `along` x (B,), else along y.

    `normal` (B, 2): unit vectors from the part's side to the holders'; `height` (B,) that is counted on, mm.
    """

    row: Ints
    col: Ints
    along: Mask
    normal: Array
    height: Array

    def __len__(self) -> int:
        return len(self.row)

    @property
    def first(self) -> tuple[Ints, Ints]:
        """Rows and columns (B,) of the first cells."""
        return self.row, self.col


@dataclass(frozen=True, slots=True)
class Joints:
    """K joints between a part and its holders.

    `middle` (K, 2) mm; `normal` (K, 2): unit vectors away from the part; `area` (K,) mm2, of the section square to
    the normal; `height`, `length` (K,) mm, whose product it is; `span` (K,) mm: how long the thin wood is, along the
    normal, from thicker wood to thicker wood.
    """

    middle: Array
    normal: Array
    area: Array
    height: Array
    length: Array
    span: Array

    def __len__(self) -> int:
        return len(self.area)


def joints_of(columns: Columns, bonds: Bonds, stiff: Mask) -> Joints:
    """The joints of a cut.

    A joint's area is the length of the sum of its bonds' areas as vectors, so that a slant counts once.
    `stiff` (rows, cols): cells of the part's core and of holders, where thin wood ends in any case.
    """
    if not len(bonds):
        return Joints(np.empty((0, 2)), np.empty((0, 2)), *(np.empty(0) for _ in range(4)))
    at = np.stack(
        [
            columns.x0 + columns.pitch * (bonds.col + 0.5 * bonds.along),
            columns.y0 + columns.pitch * (bonds.row + 0.5 * ~bonds.along),
        ],
        axis=1,
    )
    piece = _pieces(bonds, at, columns)
    own = columns.pitch * bonds.height
    whole = np.bincount(piece, own)
    middle = np.stack([np.bincount(piece, own * at[:, k]) for k in (0, 1)], axis=1) / whole[:, None]
    vector = np.stack([np.bincount(piece, own * bonds.normal[:, k]) for k in (0, 1)], axis=1)
    area = np.hypot(vector[:, 0], vector[:, 1])
    height = np.bincount(piece, own * bonds.height) / whole
    # A cut that runs back on itself has no direction of its own, and no area that bears.
    normal = np.where(area[:, None] > 0, vector / np.maximum(area, 1e-12)[:, None], [1.0, 0.0])
    length = area / height
    # The middle of a bent joint lies beside it: thin wood is followed from the bond nearest to that.
    order = np.lexsort((np.linalg.norm(at - middle[piece], axis=1), piece))
    start = at[order[np.nonzero(np.diff(piece[order], prepend=-1))[0]]]
    span = np.array([_span(columns, stiff, *joint) for joint in zip(start, normal, length, height, strict=True)])
    return Joints(middle, normal, area, height, length, span)


def _pieces(bonds: Bonds, at: Array, columns: Columns) -> Ints:
    """Number (B,) from 0 of the joint that each bond belongs to.

    A bond is seen as the side between its two cells, with a corner of cells at each end: sides that share a corner
    lie together. What is long is divided by the way along the sides from one of its ends; a ring is opened first.
    """
    from scipy.sparse.csgraph import connected_components, dijkstra, minimum_spanning_tree

    width = columns.high.shape[1] + 1
    first = (bonds.row + ~bonds.along) * width + bonds.col + bonds.along
    second = (bonds.row + 1) * width + bonds.col + 1
    graph, ends = _graph(first, second)
    count, cluster = connected_components(graph, directed=False)
    own, open_ways = cluster[ends[0]], minimum_spanning_tree(graph)
    _, seeds = np.unique(cluster, return_index=True)
    for _ in range(2):
        way = dijkstra(open_ways, directed=False, indices=seeds, unweighted=True, min_only=True)
        # The last of each cluster, ordered by the way: its farthest corner.
        order = np.lexsort((way, cluster))
        seeds = order[np.append(np.nonzero(np.diff(cluster[order]))[0], len(order) - 1)]
    farthest, nearer = way[seeds], np.minimum(way[ends[0]], way[ends[1]])
    length = _length(own, nearer, bonds.normal * columns.pitch, count)
    number = np.maximum(1, np.rint(length / PIECE))
    part = np.floor(nearer * number[own] / np.maximum(farthest[own], 1)).astype(np.int64)
    parts = int(part.max()) + 1
    graph, ends = _graph(first * parts + part, second * parts + part)
    return np.asarray(connected_components(graph, directed=False)[1][ends[0]], dtype=np.int64)


def _length(cluster: Ints, way: Array, sides: Array, count: int) -> Array:
    """Length (count,) of each cluster, mm.

    A few sides at a time are taken as one straight line: side by side a slant would be up to root 2 times as long.
    """
    some = np.floor(way / _STEPS).astype(np.int64)
    most = int(some.max()) + 1
    key, group = np.unique(cluster * most + some, return_inverse=True)
    x, y = (np.bincount(group.reshape(-1), sides[:, k]) for k in (0, 1))
    return np.asarray(np.bincount(key // most, np.hypot(x, y), minlength=count), dtype=np.float64)


def _graph(first: Ints, second: Ints) -> tuple[object, tuple[NDArray[np.int32], NDArray[np.int32]]]:
    """A graph whose nodes are the different numbers, an edge for each pair (B,); and both nodes (B,) of each edge."""
    from scipy.sparse import coo_array

    known, number = np.unique(np.concatenate([first, second]), return_inverse=True)
    # Some routines of scipy's 1.11 take 32-bit indices only.
    one, other = np.split(number.reshape(-1).astype(np.int32), 2)
    return coo_array((np.ones(len(one)), (one, other)), shape=(len(known), len(known))).tocsr(), (one, other)


# How long the thin wood is


def _span(columns: Columns, stiff: Mask, start: Array, normal: Array, length: float, height: float) -> float:
    """Length in mm of the thin wood through a joint: both ways to a section a quarter greater, or to stiff wood."""
    look = _Look(columns, stiff, start, normal, length)
    half = columns.pitch / 2
    own, _ = look.sections(np.array([-half, half]))
    thin = own[own > 0].min(initial=(2 * length + columns.pitch) * (height + UNSURE))
    return max(columns.pitch, look.reach(1, thin) + look.reach(-1, thin))


@dataclass(frozen=True, slots=True)
class _Look:
    """Sections of the wood square to a joint's normal, up to its own length to either side of a place on it."""

    columns: Columns
    stiff: Mask
    start: Array
    normal: Array
    length: float

    def reach(self, way: int, thin: float) -> float:
        """How far it is to wood of more than 1.25 times the section `thin`, one way along the normal, mm."""
        pitch = self.columns.pitch
        for near in np.arange(0.0, LONGEST, _AT_ONCE):
            away = np.arange(near + pitch / 2, near + _AT_ONCE, pitch)
            area, ends = self.sections(way * away)
            over = np.nonzero((area > THICKER * thin) | ends)[0]
            if len(over):
                return float(max(0.0, away[over[0]] - pitch / 2))
        return LONGEST

    def sections(self, away: Array) -> tuple[Array, Mask]:
        """Area (D,) mm2 of the wood that hangs together at distances (D,) along the normal; and where wood ends.

        It ends at stiff cells, at the map's edge, and where the line meets no wood.
        """
        wood, pitch = self.columns, self.columns.pitch
        aside = pitch * np.arange(-(half := max(1, round(self.length / pitch))), half + 1)
        x = self.start[0] + away[:, None] * self.normal[0] - aside * self.normal[1]
        y = self.start[1] + away[:, None] * self.normal[1] + aside * self.normal[0]
        row, col = np.rint((y - wood.y0) / pitch).astype(np.int64), np.rint((x - wood.x0) / pitch).astype(np.int64)
        rows, cols = wood.high.shape
        inside = (row >= 0) & (row < rows) & (col >= 0) & (col < cols)
        row, col = np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1)
        low, high = wood.low[row, col], np.where(inside, wood.high[row, col], 0)
        thick = np.maximum(high - low, 0)
        linked = np.minimum(high[:, 1:], high[:, :-1]) - np.maximum(low[:, 1:], low[:, :-1]) >= LEAST
        # The wood nearest the middle, and what hangs together with it.
        nearest = np.argmin(np.where(thick >= LEAST, np.abs(aside), np.inf), axis=1)
        run = np.concatenate([np.zeros((len(away), 1), dtype=np.int64), np.cumsum(~linked, axis=1)], axis=1)
        each = np.arange(len(away))
        own = run == run[each, nearest][:, None]
        none = ~(thick >= LEAST).any(axis=1)
        ends = none | (self.stiff[row, col] & inside)[each, nearest] | ~inside[:, half]
        return np.where(none, 0.0, (thick * own).sum(axis=1) * pitch), ends
