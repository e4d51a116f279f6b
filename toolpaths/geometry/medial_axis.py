"""The medial axis of a shape: every place that is as far from one wall as from another.

The walls are sampled densely, and what lies halfway between samples of different walls is the axis: the edges of the
samples' Voronoi diagram, less those between neighbours on one wall. Source: derived here; that the edges go over into
the axis as the samples get denser is Brandt, Convergence and continuity criteria for discrete approximations of the
continuous planar skeleton, CVGIP 59 (1994), from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient
from shapely.ops import polylabel

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.geometry.loop import edge_tree

SPACING = 0.05
"""Between the samples of a wall, mm."""
_MOST = 24_000
"""Samples of one shape; a longer wall has them further apart."""
_CORNER = math.radians(15.0)
"""A wall that turns more than this from one chord to the next has a corner there. Chords of a curve turn less."""
_OPENING = math.radians(15.0)
"""What lies between walls that meet at a flatter turn than this is no middle: less than 0.3 % of the distance to the
wall is gained by following it (1 / cos(a / 2) - 1 is 0.0086 at 15 degrees, and half of that on average)."""
_BENDS = 5e-4
"""How far the distance to the wall may stray from even along a piece, mm."""
_HALVINGS = 12
_SAME = 1e-6
"""Places nearer than this are one, mm."""


@dataclass(frozen=True, slots=True)
class MedialAxis:
    """`places` (N, 2) and the distance from each to the nearest wall, `radius` (N,), mm; `edges` (E, 2) join them."""

    places: Array
    radius: Array
    edges: Ints

    def with_a_place(self, area: Polygon) -> MedialAxis:
        """This axis itself; for a circle, whose axis is one point, that point."""
        if len(self.edges):
            return self
        place = shapely.get_coordinates(polylabel(area, tolerance=_BENDS))
        return MedialAxis(place, wall_distance(area, place), np.empty((0, 2), dtype=np.int64))


def medial_axis(area: Polygon, spacing: float = SPACING) -> MedialAxis:
    """The axis of an area with or without islands, as straight pieces that run into its sharp corners.

    `radius` is exact for each place: that of the largest circle about it within the area. Between places it is within
    0.001 mm of even: over a piece of length l it bends by at most l^2 / (8 radius), where a wall is a point.
    A place lies off the true axis by about 0.1 spacing^2 / radius. Raises ValueError for an area of no extent.
    """
    area = orient(area)
    if area.is_empty or area.area <= 0:
        raise ValueError("an area of no extent has no middle")
    spacing = max(spacing, area.length / _MOST)
    walls = _sampled(area, spacing)
    lines = _between(area, walls)
    return _joined(area, _divided(area, lines[_true(walls, lines)]))


@dataclass(frozen=True, slots=True)
class _Walls:
    """Samples (N, 2) in order along the rings. `ring`, `run` (N,): which ring, and which stretch between corners,
    -1 for a sample on an inward corner itself. `first`, `count`: of each ring."""

    points: Array
    ring: Ints
    run: Ints
    first: Ints
    count: Ints

    def neighbours(self, a: Ints, b: Ints) -> Mask:
        """Whether two samples (K,) follow one another on one wall."""
        ring = self.ring[a]
        apart = np.abs(a - b)
        near = (apart == 1) | (apart == self.count[ring] - 1)
        one = (self.run[a] == self.run[b]) | (self.run[a] < 0) | (self.run[b] < 0)
        return np.asarray((ring == self.ring[b]) & near & one)


def _sampled(area: Polygon, spacing: float) -> _Walls:
    points: list[Array] = []
    rings: list[Ints] = []
    runs: list[Ints] = []
    number = 0
    for r, ring in enumerate((area.exterior, *area.interiors)):
        for stretch, closed, inward in _stretches(np.asarray(ring.coords)[:-1]):
            found = _along(stretch, spacing, closed)
            points.append(found)
            runs.append(np.full(len(found), number))
            if inward:
                points.append(stretch[-1:])
                runs.append(np.array([-1]))
            rings.append(np.full(len(found) + int(inward), r))
            number += 1
    ring_of = np.concatenate(rings).astype(np.int64)
    count = np.bincount(ring_of)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    return _Walls(np.concatenate(points), ring_of, np.concatenate(runs).astype(np.int64), first, count)


def _stretches(ring: Array) -> list[tuple[Array, bool, bool]]:
    """(points, whether it is the whole ring, whether it ends on an inward corner) from corner to corner.

    The inside is on the left.
    """
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], np.sum(before * after, axis=1))
    corners = np.nonzero(np.abs(turn) > _CORNER)[0]
    if not len(corners):
        return [(np.concatenate([ring, ring[:1]]), True, False)]
    out: list[tuple[Array, bool, bool]] = []
    for i, j in zip(corners, np.roll(corners, -1), strict=True):
        upto = j if j > i else j + len(ring)
        out.append((ring[np.arange(i, upto + 1) % len(ring)], False, bool(turn[j] < 0)))
    return out


def _along(stretch: Array, spacing: float, closed: bool) -> Array:
    """Samples along a stretch, as far from both its ends as half the spacing: then corners have them evenly beside."""
    line = shapely.LineString(stretch)
    length = line.length
    if closed:
        count = max(16, math.ceil(length / spacing))
        return shapely.get_coordinates(shapely.line_interpolate_point(line, length * np.arange(count) / count))
    end = min(spacing / 2, length / 4)
    count = max(2, math.ceil((length - 2 * end) / spacing) + 1)
    return shapely.get_coordinates(shapely.line_interpolate_point(line, np.linspace(end, length - end, count)))


def _between(area: Polygon, walls: _Walls) -> Array:
    """Lines (K, 2, 2) halfway between samples, those that lie in the area at least in part."""
    found = shapely.voronoi_polygons(shapely.MultiPoint(walls.points), only_edges=True, extend_to=area)
    xy, owner = shapely.get_coordinates(shapely.get_parts(found), return_index=True)
    same = owner[1:] == owner[:-1]
    lines = np.stack([xy[:-1][same], xy[1:][same]], axis=1)
    lines = lines[np.hypot(*(lines[:, 1] - lines[:, 0]).T) > _SAME]
    shapely.prepare(area)
    inside = shapely.contains_xy(area, lines[:, :, 0].ravel(), lines[:, :, 1].ravel()).reshape(-1, 2)
    return np.concatenate([lines[inside.all(axis=1)], _cut_off(area, lines, inside)])


def _cut_off(area: Polygon, lines: Array, inside: Mask) -> Array:
    """Lines (K, 2, 2) that leave the area, up to its wall; those into a corner end in it."""
    leaving = inside.any(axis=1) & ~inside.all(axis=1)
    lines = np.where(inside[leaving, :1, None], lines[leaving], lines[leaving][:, ::-1])
    parts, owner = shapely.get_parts(shapely.intersection(shapely.linestrings(lines), area), return_index=True)
    ends, part = shapely.get_coordinates(parts, return_index=True)
    away = np.hypot(*(ends - lines[owner[part], 0]).T)
    # Where it comes in again further on, only the way up to its first wall counts.
    whole = np.bincount(part[away < _SAME], minlength=len(parts)) > 0
    use = whole[part] & (away > _SAME)
    out = lines.copy()
    out[:, 1] = lines[:, 0]
    out[owner[part[use]], 1] = ends[use]
    return np.asarray(out[np.hypot(*(out[:, 1] - out[:, 0]).T) > _SAME])


def _true(walls: _Walls, lines: Array) -> Mask:
    """Which lines (K,) lie between two walls: not between neighbours on one, nor where the two hardly turn."""
    tree = shapely.STRtree(np.asarray(shapely.points(walls.points)))
    middle = lines.mean(axis=1)
    a = _nearest(tree, middle)
    along = lines[:, 1] - lines[:, 0]
    along = along / np.hypot(*along.T)[:, None]
    # The two samples that a line lies between are each other's image in it.
    way = walls.points[a] - middle
    b = _nearest(tree, middle + 2 * np.sum(way * along, axis=1)[:, None] * along - way)
    away = np.hypot(*way.T)
    apart = np.hypot(*(walls.points[a] - walls.points[b]).T)
    return np.asarray(~walls.neighbours(a, b) & (a != b) & (apart > 2 * away * math.sin(_OPENING / 2)))


def _nearest(tree: shapely.STRtree, points: Array) -> Ints:
    return np.asarray(tree.query_nearest(shapely.points(points), all_matches=False)[1], dtype=np.int64)


def _divided(area: Polygon, lines: Array) -> Array:
    """Lines (K, 2, 2) halved until the distance to the wall is even along each within `_BENDS`."""
    done: list[Array] = []
    for _ in range(_HALVINGS):
        middle = lines.mean(axis=1)
        t = np.linspace(0.0, 1.0, 5)[:, None, None]
        along = lines[None, :, 0] * (1 - t) + lines[None, :, 1] * t
        away = wall_distance(area, along.reshape(-1, 2)).reshape(5, -1)
        even = away[:1] + t[:, :, 0] * (away[4:] - away[:1])
        bent = np.abs(away - even).max(axis=0) > _BENDS
        done.append(lines[~bent])
        lines = np.concatenate(
            [np.stack([lines[bent, 0], middle[bent]], axis=1), np.stack([middle[bent], lines[bent, 1]], axis=1)]
        )
        if not len(lines):
            break
    return np.concatenate([*done, lines])


def _joined(area: Polygon, lines: Array) -> MedialAxis:
    """The lines as places and edges between them."""
    _, first, which = np.unique(
        np.round(lines.reshape(-1, 2) / _SAME).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    places = lines.reshape(-1, 2)[first]
    edges = np.sort(which.reshape(-1, 2), axis=1)
    edges = np.unique(edges[edges[:, 0] != edges[:, 1]], axis=0)
    return MedialAxis(places, wall_distance(area, places), edges.astype(np.int64))


def wall_distance(area: Polygon, points: Array) -> Array:
    """Distance (N,) from points (N, 2) to the nearest wall of an area, mm."""
    tree = edge_tree(area.boundary)
    _, distance = tree.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
    return np.asarray(distance, dtype=np.float64)
