"""Shapes cut by a pointed bit along their middle, as deep as both walls allow; wide places level, in rings.

Each pass follows what the one before has not reached, and begins where that one ended: nothing is plunged where a
shape has a sharp corner to begin in, else the bit comes down on a ramp along its way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon

from toolpaths.core.bit import Bit
from toolpaths.core.geometry import Loop
from toolpaths.core.levels import levels
from toolpaths.core.medial import medial_axis
from toolpaths.core.offset import drawn_in, outline_and_islands
from toolpaths.core.operation import Carve
from toolpaths.core.toolpath import Pen, Section
from toolpaths.core.track import Track

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

_STRAY = 0.002
"""How far a way made of fewer pieces may stray from the axis, in plan or depth, mm."""
_NOTHING = 1e-6
_DOT = 0.5
"""A way shorter than this is a dot, mm."""
_PLUNGE = math.tan(math.radians(30.0))
"""A way that falls more steeply is a plunge. Common practice, no source."""


def carve(operation: Carve, bit: Bit, pen: Pen) -> list[Section]:
    """Sections, one a shape."""
    out: list[Section] = []
    for loop, within, name in zip(operation.loops, operation.islands, operation.names, strict=True):
        paths = outline_and_islands(loop, within)
        net = _Net.of(Polygon(paths[0], paths[1:]), operation)
        deepest = float(net.depth.max(initial=0.0))
        heights = levels(operation.top, operation.top - deepest, operation.cutting.pass_depth)
        rings = list(_rings(paths, operation)) if deepest >= operation.top - operation.floor - _NOTHING else []
        before = 0.0
        for z in heights:
            reached = operation.top - z
            for way in net.ways(before, reached):
                _follow(operation, pen, way, before, reached)
            _level(operation, pen, rings, before, reached)
            before = reached
        pen.retract()
        title = f"{name}, {len(heights)} pass{'es' if len(heights) > 1 else ''}"
        if heights:
            out.append(Section(operation.feature, operation.bit, title, pen.taken(), operation.cutting.rpm))
    return out


class _Net:
    """The axis as chains (K, 3) of x, y and depth below the top, mm, between places where they meet or end."""

    def __init__(self, chains: list[Array]) -> None:
        self.chains = chains

    @staticmethod
    def of(area: Polygon, operation: Carve) -> _Net:
        axis = medial_axis(area).with_a_place(area)
        places = np.column_stack([axis.places, (axis.radius - operation.tip / 2) / operation.spread])
        most = operation.top - operation.floor
        chains = [_marked(places[c], (0.0, most)) for c in _chains(axis.edges, len(places))]
        if not chains:
            chains = [places[[0, 0]]]
        for chain in chains:
            chain[:, 2] = np.clip(chain[:, 2], 0.0, most)
        return _Net([_fewer(chain) for chain in chains])

    @property
    def depth(self) -> Array:
        """Depths of all places, mm."""
        return np.concatenate([c[:, 2] for c in self.chains]) if self.chains else np.zeros(0)

    def ways(self, before: float, upto: float) -> Iterator[Array]:
        """Ways (K, 3) over all that is deeper than `before`, no deeper than `upto`, each without a gap.

        A way that begins where the wood is cut already goes on from there; any other comes round to its beginning.
        """
        pieces: list[Array] = []
        ends: list[tuple[tuple[float, ...], tuple[float, ...]]] = []
        for chain in self.chains:
            for part in _deeper(_marked(chain, (before, upto)), before):
                part[:, 2] = np.minimum(part[:, 2], upto)
                pieces.append(part)
                ends.append((_key(part[0]), _key(part[-1])))
        yield from _walks(pieces, ends, before)


def _chains(edges: Ints, count: int) -> Iterator[list[int]]:
    """The edges of a net in chains of places, from one that has not two edges to the next; closed ones come round."""
    beside: list[list[int]] = [[] for _ in range(count)]
    for a, b in edges.tolist():
        beside[a].append(b)
        beside[b].append(a)
    used: set[tuple[int, int]] = set()
    starts = [i for i in range(count) if len(beside[i]) not in (0, 2)]
    for start in [*starts, *range(count)]:
        for then in beside[start]:
            if (min(start, then), max(start, then)) in used:
                continue
            chain = [start, then]
            used.add((min(start, then), max(start, then)))
            while len(beside[chain[-1]]) == 2 and chain[-1] != start:
                a, b = beside[chain[-1]]
                following = b if a == chain[-2] else a
                used.add((min(chain[-1], following), max(chain[-1], following)))
                chain.append(following)
            yield chain


def _fewer(points: Array) -> Array:
    """A chain (K, 3) in as few straight pieces as stray at most `_STRAY` from it (Douglas and Peucker, from memory)."""
    keep = np.zeros(len(points), dtype=bool)
    keep[[0, -1]] = True
    stack = [(0, len(points) - 1)]
    while stack:
        i, j = stack.pop()
        if j - i < 2:
            continue
        a, way = points[i], points[j] - points[i]
        length = float(way @ way)
        inner = points[i + 1 : j] - a
        t = np.clip(inner @ way / length, 0.0, 1.0) if length > 0 else np.zeros(len(inner))
        off = np.linalg.norm(inner - t[:, None] * way, axis=1)
        k = int(np.argmax(off))
        if off[k] > _STRAY:
            keep[i + 1 + k] = True
            stack += [(i, i + 1 + k), (i + 1 + k, j)]
    return np.asarray(points[keep])


def _marked(chain: Array, depths: tuple[float, ...]) -> Array:
    """The chain with a place wherever it comes to one of the depths."""
    out: list[Array] = [chain[0]]
    for a, b in pairwise(chain):
        cuts = [
            (d - a[2]) / (b[2] - a[2]) for d in depths if min(a[2], b[2]) + _NOTHING < d < max(a[2], b[2]) - _NOTHING
        ]
        out += [a + t * (b - a) for t in sorted(cuts)]
        out.append(b)
    return np.asarray(out)


def _deeper(chain: Array, than: float) -> Iterator[Array]:
    """The stretches of a chain, whose pieces do not cross that depth, that lie below it."""
    below = np.maximum(chain[:-1, 2], chain[1:, 2]) > than + _NOTHING
    marks = np.flatnonzero(np.diff(np.concatenate([[False], below, [False]]).astype(np.int8)))
    for i, j in marks.reshape(-1, 2).tolist():
        yield chain[i : j + 1].copy()


def _key(place: Array) -> tuple[float, ...]:
    return tuple(round(float(v), 5) + 0.0 for v in place[:2])


def _walks(
    pieces: list[Array], ends: list[tuple[tuple[float, ...], tuple[float, ...]]], before: float
) -> Iterator[Array]:
    """Every piece walked at least once, without a gap: into each branch and back."""
    at: dict[tuple[float, ...], list[int]] = {}
    depth: dict[tuple[float, ...], float] = {}
    for i, (a, b) in enumerate(ends):
        for key, place in ((a, pieces[i][0]), (b, pieces[i][-1])):
            at.setdefault(key, []).append(i)
            depth[key] = float(place[2])
    # Begin where the least wood is under the bit, and at an end rather than at a fork.
    order = sorted(at, key=lambda key: (depth[key] > before + _NOTHING, len(at[key]) > 1, depth[key], key))
    used: set[int] = set()
    for start in order:
        if all(i in used for i in at[start]):
            continue
        yield _walk(start, pieces, ends, at, used, closed=depth[start] > before + _NOTHING)


def _walk(
    start: tuple[float, ...],
    pieces: list[Array],
    ends: list[tuple[tuple[float, ...], tuple[float, ...]]],
    at: dict[tuple[float, ...], list[int]],
    used: set[int],
    *,
    closed: bool,
) -> Array:
    """Into every branch that can be reached, the shallow ones first, and back; not back from the last, unless the
    way is to come round to its start."""
    way: list[Array] = []
    new = 0
    stack: list[tuple[tuple[float, ...], Array | None]] = [(start, None)]
    while stack:
        here, back = stack[-1]
        free = [i for i in at[here] if i not in used]
        if not free:
            stack.pop()
            if back is not None:
                way.append(back)
            continue
        i = min(free, key=lambda k: float(pieces[k][:, 2].max()))
        used.add(i)
        piece = pieces[i] if ends[i][0] == here else pieces[i][::-1]
        there = ends[i][1] if ends[i][0] == here else ends[i][0]
        way.append(piece)
        new = len(way)
        if there == here:
            continue
        stack.append((there, piece[::-1]))
    kept = way if closed else way[:new]
    return np.concatenate([kept[0], *(part[1:] for part in kept[1:])])


def _follow(operation: Carve, pen: Pen, way: Array, before: float, upto: float) -> None:
    """One way, from its start on; a start in wood on a ramp, whose stretch is cut to its depth at the end."""
    cutting, top = operation.cutting, operation.top
    start = float(way[0, 2])
    # A dot has no length to come down along: there a point goes straight down.
    ramped = start > before + _NOTHING and _length(way) >= _DOT
    pen.travel(float(way[0, 0]), float(way[0, 1]))
    pen.approach(top - before, cutting.descent)
    pen.cut(pen.x, pen.y, top - (before if ramped else start), cutting.plunge)
    if not ramped:
        _run(operation, pen, way)
        return
    fall = math.tan(math.radians(cutting.ramp_angle))
    done = before
    for _ in range(1 + math.ceil((upto - before) / fall / max(_length(way), _NOTHING))):
        slope, done = _eased(way, done, fall)
        _run(operation, pen, slope)
        if done >= upto - _NOTHING:
            break
    # Once more over what the ramp has not cut to its depth.
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way[:, :2], axis=0).T))])
    need = min((upto - before) / fall, float(gone[-1]))
    last = int(np.searchsorted(gone, need))
    _run(operation, pen, way[: last + 1])


def _length(way: Array) -> float:
    return float(np.sum(np.hypot(*np.diff(way[:, :2], axis=0).T)))


def _eased(way: Array, start: float, fall: float) -> tuple[Array, float]:
    """The way with its depth held above a ramp that begins at `start`; and how deep the ramp has come at its end."""
    out: list[Array] = []
    gone = 0.0
    for a, b in pairwise(way):
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        ra, rb = start + fall * gone, start + fall * (gone + length)
        if not out:
            out.append(np.array([a[0], a[1], min(a[2], ra)]))
        over_a, over_b = a[2] - ra, b[2] - rb
        if over_a * over_b < 0:
            t = over_a / (over_a - over_b)
            out.append(np.array([*(a + t * (b - a))[:2], ra + t * (rb - ra)]))
        out.append(np.array([b[0], b[1], min(b[2], rb)]))
        gone += length
    return np.asarray(out), start + fall * gone


def _run(operation: Carve, pen: Pen, way: Array) -> None:
    """The feed where the way is level or rises, the ramp's where it falls, the plunge's where it falls steeply."""
    cutting = operation.cutting
    for x, y, depth in way:
        z = operation.top - float(depth)
        run, down = math.hypot(float(x) - pen.x, float(y) - pen.y), pen.z - z
        feed = cutting.feed if down <= _NOTHING else cutting.plunge if down > _PLUNGE * run else cutting.ramp
        pen.cut(float(x), float(y), z, feed)


# Wide places


def _rings(paths: list[Array], operation: Carve) -> Iterator[list[Loop]]:
    """Rings at the greatest depth, the outermost first: it cuts the foot of the walls."""
    deep = operation.top - operation.floor
    inset = deep * operation.spread + operation.tip / 2
    while found := drawn_in(paths, inset):
        yield found
        inset += operation.step


def _level(operation: Carve, pen: Pen, rings: list[list[Loop]], before: float, upto: float) -> None:
    """A wide place at one depth, from its middle outwards, along all rings."""
    cutting = operation.cutting
    if not rings:
        return
    room = [Polygon(ring.flattened(1e-3)).buffer(2e-3) for ring in rings[0]]
    z, above = operation.top - upto, operation.top - before
    for level in reversed(rings):
        for ring in level:
            track = Track.along(ring, backwards=cutting.rough == "conventional")
            s = track.nearest(pen.x, pen.y)
            line = LineString([(pen.x, pen.y), track.at(s)])
            near = line.length <= 2.5 * operation.step
            if near and abs(pen.z - z) < _NOTHING and any(r.covers(line) for r in room):
                pen.cut(*track.at(s), z, cutting.feed)
            else:
                pen.travel(*track.at(s))
                pen.approach(above, cutting.descent)
                pen.cut(pen.x, pen.y, above, cutting.plunge)
                run = (above - z) / math.tan(math.radians(cutting.ramp_angle))
                track.run(pen, s, s + run, above, z, cutting.ramp)
                s += run
            track.run(pen, s, s + track.length, z, z, cutting.feed)
