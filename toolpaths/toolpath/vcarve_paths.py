"""The paths of a carving: the middle of a shape as lines that a pointed bit can follow without a gap."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from shapely import Polygon

from toolpaths.common.arrays import Array, Ints
from toolpaths.geometry.medial_axis import medial_axis
from toolpaths.operations.operation import Carve

_STRAY = 0.002
"""How far a way made of fewer pieces may stray from the axis, in plan or depth, mm."""
NOTHING = 1e-6
"""Depths that differ by less are one, mm."""


class VcarvePaths:
    """The axis as chains (K, 3) of x, y and depth below the top, mm, between places where they meet or end."""

    def __init__(self, chains: list[Array]) -> None:
        self.chains = chains

    @staticmethod
    def of(area: Polygon, operation: Carve) -> VcarvePaths:
        """The net of one shape; of a circle one place, twice."""
        axis = medial_axis(area).with_a_place(area)
        places = np.column_stack([axis.places, (axis.radius - operation.tip / 2) / operation.spread])
        most = operation.top - operation.floor
        chains = [_marked(places[c], (0.0, most)) for c in _chains(axis.edges, len(places))]
        if not chains:
            chains = [places[[0, 0]]]
        for chain in chains:
            chain[:, 2] = np.clip(chain[:, 2], 0.0, most)
        return VcarvePaths([_fewer(chain) for chain in chains])

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
    """The chain with points added where it reaches one of the depths."""
    out: list[Array] = [chain[0]]
    for a, b in pairwise(chain):
        cuts = [(d - a[2]) / (b[2] - a[2]) for d in depths if min(a[2], b[2]) + NOTHING < d < max(a[2], b[2]) - NOTHING]
        out += [a + t * (b - a) for t in sorted(cuts)]
        out.append(b)
    return np.asarray(out)


def _deeper(chain: Array, than: float) -> Iterator[Array]:
    """The stretches of a chain, whose pieces do not cross that depth, that lie below it."""
    below = np.maximum(chain[:-1, 2], chain[1:, 2]) > than + NOTHING
    marks = np.flatnonzero(np.diff(np.concatenate([[False], below, [False]]).astype(np.int8)))
    for i, j in marks.reshape(-1, 2).tolist():
        yield chain[i : j + 1].copy()


def _key(place: Array) -> tuple[float, ...]:
    return tuple(round(float(v), 5) + 0.0 for v in place[:2])


def _walks(
    pieces: list[Array], ends: list[tuple[tuple[float, ...], tuple[float, ...]]], before: float
) -> Iterator[Array]:
    """Walks over every piece at least once, each without a gap: into each branch and back."""
    at: dict[tuple[float, ...], list[int]] = {}
    depth: dict[tuple[float, ...], float] = {}
    for i, (a, b) in enumerate(ends):
        for key, place in ((a, pieces[i][0]), (b, pieces[i][-1])):
            at.setdefault(key, []).append(i)
            depth[key] = float(place[2])
    # Begin where the least wood is under the bit, and at an end rather than at a fork.
    order = sorted(at, key=lambda key: (depth[key] > before + NOTHING, len(at[key]) > 1, depth[key], key))
    used: set[int] = set()
    for start in order:
        if all(i in used for i in at[start]):
            continue
        yield _walk(start, pieces, ends, at, used, closed=depth[start] > before + NOTHING)


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
