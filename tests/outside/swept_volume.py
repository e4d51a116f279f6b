"""The volume that whole programs take out of a blank, by a boolean library, from below and from above.

What a convex bit sweeps on a straight move is the convex hull of the bit at both ends, its upright sides drawn out
above the blank. The library's bits are made of facets. They lie inside the true bit once, and around it once: the
true volume lies between the two, but for arcs, which are taken as chords that stray by CHORD.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from manifold3d import Manifold, OpType
from numpy.typing import NDArray

from tests.outside.exact_wood import Form, Piece

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]

CHORD = 0.002
"""How far chords stray from an arc, mm."""
_CLEAR = 1.0


def volumes(forms: dict[int, Form], pieces: list[Piece], box: Box, top: float, around: int = 72) -> tuple[float, float]:
    """Least and greatest volume (mm3) of the wood between bed and top that the pieces take."""
    return _volume(forms, pieces, box, top, around, False), _volume(forms, pieces, box, top, around, True)


def _volume(forms: dict[int, Form], pieces: list[Piece], box: Box, top: float, around: int, outside: bool) -> float:
    bits = {number: _rings(form, around, outside) for number, form in forms.items()}
    turn = 2 * math.pi * np.arange(around) / around
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    solids = [_solid(*bits[bit], circle, a, b, top + _CLEAR) for bit, a, b in _straight(pieces, top)]
    block = Manifold.cube([box[2] - box[0], box[3] - box[1], top]).translate([box[0], box[1], 0.0])
    return float((block ^ Manifold.batch_boolean(solids, OpType.Add)).volume())


def _straight(pieces: list[Piece], top: float) -> Iterator[tuple[int, Array, Array]]:
    """(bit, start, end) of all that comes below the top, each once; arcs as chords."""
    seen: set[tuple[object, ...]] = set()
    for piece in pieces:
        count = 1
        if piece.is_arc:
            sag = min(CHORD / max(*piece.radii), 1.0)
            count = max(1, math.ceil(abs(piece.turn) / (2 * math.acos(1 - sag))))
        places = piece.at(np.linspace(0.0, 1.0, count + 1))
        for a, b in pairwise(places):
            key = (piece.bit, *sorted([tuple(a.round(7)), tuple(b.round(7))]))
            if min(a[2], b[2]) < top and key not in seen:
                seen.add(key)
                yield piece.bit, a, b


def _rings(form: Form, around: int, outside: bool) -> tuple[Array, Array]:
    """Radii and heights of the rings whose hull is the bit: on the true one, or so far out that they hold it."""
    half = math.radians(form.angle / 2)
    bend = np.linspace(0.0, math.pi / 2, 8)
    sagitta = 0.0
    if form.kind == "flat":
        radii = np.array([form.radius])
    elif form.kind in ("vee", "drill"):
        radii = np.array([form.tip / 2, form.radius])
    elif form.kind == "tapered ball":
        radii = np.append(form.tip / 2 * np.sin(bend * (math.pi / 2 - half) / (math.pi / 2)), form.radius)
        sagitta = form.tip / 2 * (1 - math.cos(bend[1] / 2))
    else:
        curve = form.radius if form.kind == "ball" else form.corner
        radii = form.radius - curve + curve * np.sin(bend)
        sagitta = curve * (1 - math.cos(bend[1] / 2))
    heights = form.end(radii)
    if outside:
        # Chords of the profile lie inside by their sagitta at most: moved out and down by it they hold the bit.
        radii, heights = (radii + sagitta) / math.cos(math.pi / around), heights - sagitta
    return radii, heights


def _solid(radii: Array, heights: Array, circle: Array, a: Array, b: Array, above: float) -> Manifold:
    corners = []
    above = max(above, a[2] + heights[-1], b[2] + heights[-1])
    for tip in (a, b):
        for radius, height in zip(radii, heights, strict=True):
            corners.append(np.column_stack([tip[:2] + radius * circle, np.full(len(circle), tip[2] + height)]))
        corners.append(np.column_stack([tip[:2] + radii[-1] * circle, np.full(len(circle), above)]))
    return Manifold.hull_points(np.concatenate(corners))
