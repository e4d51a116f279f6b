"""Join drawn lines into outlines: straight edges and arcs end to end, closed or open, each with its name.

Readers of drawings make trails; `chained` joins those whose ends meet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import DrawingError
from toolpaths.geometry.arc_fit import arcs_along
from toolpaths.geometry.loop import Loop, arc_chords

MEET = 0.01
"""Ends that lie no further apart meet, mm."""
FURTHEST = 1e5
"""No drawing of a neck reaches further from its zero, mm."""
MOST_POINTS = 100_000
"""Vertices that one drawing may come to."""
_FLAT = 1e-5
"""An arc that rises no further than this from its chord is straight, mm."""
_PART = 0.25
"""Part of the allowed error that chords use up; arcs found again in them use the rest."""


@dataclass(frozen=True, slots=True)
class Polyline:
    """`points` (K, 2) mm and `bulges` (K - 1,) of the edges between them; closed where the last point is the first."""

    points: Array
    bulges: Array
    name: str

    @property
    def closed(self) -> bool:
        """Whether it ends where it begins."""
        return len(self.points) > 2 and bool(np.all(self.points[0] == self.points[-1]))

    def backwards(self) -> Polyline:
        """The same, drawn the other way."""
        return Polyline(self.points[::-1], -self.bulges[::-1], self.name)

    def loop(self) -> Loop:
        """The closed outline, counter-clockwise."""
        x, y = self.chords(_FLAT).T
        area = float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))
        upright = self if area >= 0 else self.backwards()
        return Loop(upright.points[:-1], upright.bulges)

    def chords(self, error: float) -> Array:
        """Points (M, 2) along it, arcs as chords within `error` mm; the last is the first of a closed one."""
        pairs = zip(self.points[:-1], self.points[1:], self.bulges, strict=True)
        return np.concatenate([*(arc_chords(a, b, float(k), error) for a, b, k in pairs), self.points[-1:]])


def straight(points: Sequence[tuple[float, float]] | Array, name: str) -> Polyline:
    """Straight edges through points."""
    array = _checked(np.asarray(points, dtype=np.float64).reshape(-1, 2), name)
    return Polyline(array, np.zeros(max(len(array) - 1, 0)), name)


def bulged(points: Sequence[tuple[float, float]] | Array, bulges: Sequence[float] | Array, name: str) -> Polyline:
    """Edges with bulges (K - 1,) through points (K, 2). An arc that hardly leaves its chord is straight."""
    array = _checked(np.asarray(points, dtype=np.float64).reshape(-1, 2), name)
    given = np.asarray(bulges, dtype=np.float64)
    sagitta = _checked(given * np.hypot(*np.diff(array, axis=0).T) / 2, name)
    return Polyline(array, np.where(np.abs(sagitta) < _FLAT, 0.0, given), name)


def swing(centre: Array, u: Array, v: Array, start: float, sweep: float, error: float, name: str) -> Polyline:
    """The curve centre + u cos t + v sin t, t from `start` over `sweep` (radians): arcs where it is round.

    Else chords and arcs within `error` mm. A sweep of a whole turn closes.
    """
    flat = _checked(np.concatenate([centre, u, v, [start, sweep]]), name)
    if not np.any(flat[2:6]):
        raise DrawingError(f"{name} has no size", "take it out of the drawing")
    cu, cv = math.hypot(u[0], u[1]), math.hypot(v[0], v[1])
    is_round = abs(cu - cv) <= 1e-9 * max(cu, cv) and abs(float(u @ v)) <= 1e-9 * cu * cv
    whole = abs(abs(sweep) - 2 * math.pi) < 1e-12
    if is_round:
        count = max(1, math.ceil(abs(sweep) / math.pi - 1e-9))
    else:
        # The second derivative is nowhere longer than the longer half axis.
        longest = float(np.linalg.norm(np.stack([u, v]), 2))
        count = _count(abs(sweep) * math.sqrt(longest / (8 * _PART * error)), name)
    t = start + sweep * np.arange(count + 1) / count
    # Rounded, so that the sine of half a turn is 0.
    points = centre + np.round(np.cos(t), 15)[:, None] * u + np.round(np.sin(t), 15)[:, None] * v
    if whole:
        points[-1] = points[0]
    if not is_round:
        return _fitted(points, error, name)
    turn = math.copysign(1.0, u[0] * v[1] - u[1] * v[0])
    bulge = turn * math.tan(sweep / count / 4)
    # A half turn is a half turn, so that a circle is known as one.
    bulge = math.copysign(1.0, bulge) if abs(abs(bulge) - 1) < 1e-9 else bulge
    return Polyline(points, np.full(count, bulge), name)


def bezier(control: Array, error: float, name: str, weights: Array | None = None) -> Polyline:
    """A Bezier curve of any degree from its control points (D + 1, 2), as chords and arcs within `error` mm.

    A chord over 1/n of the parameter strays at most |B''| / (8 n^2), and |B''| is at most D (D - 1) times the
    longest second difference of the control points (derived from the convex hull property). With `weights` (D + 1,)
    that are not all the same no such bound is at hand: chords are halved until points between them lie close enough.
    """
    control = _checked(np.asarray(control, dtype=np.float64), name)
    degree = len(control) - 1
    if degree < 2 and weights is None:
        return straight(control, name)
    weights = np.ones(degree + 1) if weights is None else _checked(weights, name) / float(np.max(weights))
    second = degree * (degree - 1) * float(np.max(np.hypot(*np.diff(control, 2, axis=0).T), initial=0.0))
    count = _count(math.sqrt(second / (8 * _PART * error)), name)
    points = _on_curve(control, weights, count)
    while np.ptp(weights) > 1e-12:
        between = _on_curve(control, weights, 4 * count)
        if _strays(between, 4) <= _PART * error:
            break
        count = _count(2 * count, name)
        points = _on_curve(control, weights, count)
    return _fitted(points, error, name)


def joined(trails: Sequence[Polyline], name: str) -> Polyline:
    """Trails end to end, each beginning exactly where the one before ends."""
    points = np.concatenate([trails[0].points, *(t.points[1:] for t in trails[1:])])
    return Polyline(points, np.concatenate([t.bulges for t in trails]), name)


def chained(trails: Sequence[Polyline]) -> list[Polyline]:
    """Trails joined where two ends meet within MEET, closed where a chain comes round; the rest as it was.

    Where three or more ends meet, nothing is joined. What is shorter than MEET is dropped. A closed one stays.
    """
    trails = [t for t in (_clean(t) for t in trails) if t is not None]
    out = [(i, t) for i, t in enumerate(trails) if t.closed]
    loose = [(i, t) for i, t in enumerate(trails) if not t.closed]
    ends = np.array([p for _, t in loose for p in (t.points[0], t.points[-1])]).reshape(-1, 2)
    node, places = _nodes(ends)
    at: dict[int, list[int]] = {}
    for end, n in enumerate(node):
        at.setdefault(n, []).append(end)
    used: set[int] = set()
    # Chains first that begin at an end or a fork; what is then left over goes round.
    order = sorted(range(len(loose)), key=lambda k: all(len(at[node[2 * k + e]]) == 2 for e in (0, 1)))
    for k in order:
        if k in used:
            continue
        free = [e for e in (2 * k, 2 * k + 1) if len(at[node[e]]) != 2]
        end = free[0] if free else 2 * k
        out.append((loose[k][0], _walk(end, [t for _, t in loose], node, at, places, used)))
    return [t for t in (_clean(t) for _, t in sorted(out, key=lambda pair: pair[0])) if t is not None]


# Private


def _walk(
    end: int, loose: Sequence[Polyline], node: list[int], at: dict[int, list[int]], places: Array, used: set[int]
) -> Polyline:
    """The chain that begins at an end (2 k or 2 k + 1 of trail k), as far as it goes."""
    first, chain = node[end], []
    while True:
        k = end // 2
        used.add(k)
        trail = loose[k] if end % 2 == 0 else loose[k].backwards()
        points = trail.points.copy()
        points[0], points[-1] = places[node[end]], places[node[end ^ 1]]
        chain.append(Polyline(points, trail.bulges, trail.name))
        here = node[end ^ 1]
        onward = [e for e in at[here] if e != end ^ 1]
        if here == first or len(at[here]) != 2 or onward[0] // 2 in used:
            break
        end = onward[0]
    rest = len({t.name for t in chain}) - 1
    name = chain[0].name + (f" and {rest} more joined to it" if rest else "")
    return joined(chain, name)


def _clean(trail: Polyline) -> Polyline | None:
    """The trail without edges of zero length, ends that nearly meet joined; None where nothing is left."""
    keep = np.concatenate([[True], np.hypot(*np.diff(trail.points, axis=0).T) > 1e-9])
    if not keep.all():
        last = trail.points[-1]
        points, bulges = trail.points[keep], trail.bulges[keep[1:]]
        if len(points) < 2:
            return None
        points = points.copy()
        points[-1] = last
        trail = Polyline(points, bulges, trail.name)
    if len(trail.points) < 2:
        return None
    reach = np.hypot(*(trail.points - trail.points[0]).T)
    if reach.max() <= MEET:
        return None
    if len(trail.points) > 2 and not trail.closed and reach[-1] <= MEET:
        points = trail.points.copy()
        points[-1] = points[0]
        return Polyline(points, trail.bulges, trail.name)
    return trail


def _nodes(ends: Array) -> tuple[list[int], Array]:
    """(which place each end belongs to, the places (N, 2)): ends within MEET of one another share one."""
    parent = list(range(len(ends)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    # Not by a search tree, which gives all pairs at once: of many ends in one place that is more than the memory holds.
    cells: dict[tuple[int, int], list[int]] = {}
    for i, (x, y) in enumerate(ends.tolist()):
        cx, cy = math.floor(x / MEET), math.floor(y / MEET)
        for dx in (-1, 0, 1):
            for dy in (-1, 0, 1):
                for j in cells.get((cx + dx, cy + dy), ()):
                    if math.hypot(ends[j, 0] - x, ends[j, 1] - y) <= MEET:
                        parent[root(i)] = root(j)
        cells.setdefault((cx, cy), []).append(i)
    roots = [root(i) for i in range(len(ends))]
    numbers = {r: n for n, r in enumerate(dict.fromkeys(roots))}
    node = [numbers[r] for r in roots]
    places = np.zeros((len(numbers), 2))
    count = np.zeros(len(numbers))
    np.add.at(places, node, ends)
    np.add.at(count, node, 1)
    return node, places / np.maximum(count, 1)[:, None]


def _on_curve(control: Array, weights: Array, count: int) -> Array:
    """Points (count + 1, 2) at even steps of the parameter, by de Casteljau's algorithm."""
    t = np.linspace(0.0, 1.0, count + 1)[:, None]
    level = [np.broadcast_to([*p * w, w], (count + 1, 3)) for p, w in zip(control, weights, strict=True)]
    while len(level) > 1:
        level = [a + t * (b - a) for a, b in pairwise(level)]
    points = level[0][:, :2] / level[0][:, 2:]
    points[0], points[-1] = control[0], control[-1]
    return np.asarray(points)


def _strays(points: Array, every: int) -> float:
    """How far points (N * every + 1, 2) lie from the chords between each `every`-th of them, mm."""
    a, b = points[:-1:every], points[every::every]
    length = np.maximum(np.hypot(*(b - a).T), 1e-12)
    between = [points[k::every][: len(a)] - a for k in range(1, every)]
    return max(float(np.max(np.abs(d[:, 0] * (b - a)[:, 1] - d[:, 1] * (b - a)[:, 0]) / length)) for d in between)


def _fitted(points: Array, error: float, name: str) -> Polyline:
    found, bulges = arcs_along(points, (1 - _PART) * error)
    return Polyline(found, bulges, name)


def _count(count: float, name: str) -> int:
    if not count <= MOST_POINTS:
        raise DrawingError(f"{name} is a curve too large to be cut so finely", "check its size and the units")
    return max(8, math.ceil(count))


def _checked(values: Array, name: str) -> Array:
    if not np.all(np.isfinite(values)):
        raise DrawingError(f"{name} has a number that is not finite", "draw it again")
    if values.size and float(np.abs(values).max()) > FURTHEST:
        raise DrawingError(f"{name} reaches further than {FURTHEST / 1000:.0f} m", "check the drawing's units")
    return values
