"""Find the points inside a region, and group nearby points of a map into connected patches."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array, Ints

_ROW = 1 << 32
_NEIGHBOURS = (1, _ROW - 1, _ROW, _ROW + 1)
"""Four of the eight bins around a bin, as differences of keys; the other four see it from their side."""


def points_in(region: BaseGeometry, points: Array) -> Ints:
    """Indices (K,) of those points (N, 2) that lie inside a region."""
    x0, y0, x1, y1 = region.bounds
    x, y = points[:, 0], points[:, 1]
    near = np.nonzero((x >= x0) & (x <= x1) & (y >= y0) & (y <= y1))[0]
    shapely.prepare(region)
    return np.asarray(near[shapely.contains_xy(region, x[near], y[near])])


def patches(points: Array, size: float = 1.0) -> Ints:
    """Number (N,) from 0 of the patch that each point (N, 2) belongs to.

    Points are put into square bins of `size` mm; bins that touch, corners included, make one patch.
    """
    if not len(points):
        return np.empty(0, dtype=np.int64)
    bins = np.floor(points / size).astype(np.int64)
    keys, member = np.unique(bins[:, 0] * _ROW + bins[:, 1], return_inverse=True)
    one, other = _touching(keys)
    _, label = np.unique(_joined(len(keys), one, other), return_inverse=True)
    return np.asarray(label.reshape(-1)[member.reshape(-1)], dtype=np.int64)


def _touching(keys: Ints) -> tuple[Ints, Ints]:
    ones, others = [], []
    for step in _NEIGHBOURS:
        at = np.minimum(np.searchsorted(keys, keys + step), len(keys) - 1)
        touch = np.nonzero(keys[at] == keys + step)[0]
        ones.append(touch)
        others.append(at[touch])
    return np.concatenate(ones), np.concatenate(others)


def _joined(count: int, one: Ints, other: Ints) -> Ints:
    """The smallest bin connected to each bin: the larger root is linked to the smaller, then chains are shortened."""
    root = np.arange(count)
    while True:
        a, b = root[one], root[other]
        if np.array_equal(a, b):
            return root
        np.minimum.at(root, np.maximum(a, b), np.minimum(a, b))
        while not np.array_equal(root, shorter := root[root]):
            root = shorter
