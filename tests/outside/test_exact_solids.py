"""The map against exact solids: a boolean library cuts a block with every move's solid, and both are compared.

What a convex bit sweeps on a straight move is the convex hull of the bit at both ends. The library's bits are made of
facets that lie inside the true ones, by `facets` at most, so its wood stands a little higher and never lower.
"""

from __future__ import annotations

import numpy as np
import pytest
from manifold3d import Manifold, OpType

from tests.brute_force import KINDS, moves_of, some_bits, some_move
from toolpaths.core.bit import Bit
from toolpaths.core.depthmap import DepthMap
from toolpaths.core.standing import StandingWood
from toolpaths.stages.simulate import simulate

TOP = 3.0
ABOVE = 6.0
"""How far the upright sides go on above the rim, mm: well out of the block."""
# Facets around, rings up the curved part, the steepest surface that is compared closely, and how closely, mm: what a
# study of such maps measured (V-bit 5e-5, ball 6e-4; no public source). A flat bit's facets show on its ramps alone.
CASES = {
    "flat": (512, 1, 0.5, 5e-5),
    "sharp vee": (720, 1, 2.0, 5e-5),
    "tipped vee": (720, 1, 2.0, 5e-5),
    "drill": (720, 1, 2.0, 5e-5),
    "ball": (240, 61, 0.5, 6e-4),
    "bull": (240, 31, 0.5, 6e-4),
    "tapered ball": (240, 21, 0.5, 6e-4),
}


def rings(bit: Bit, count: int) -> np.ndarray:
    """Radii (K,) at which the profile is joined by straight lines, evenly by its slope where it is curved."""
    kinks = [0.0, getattr(bit, "tip", 0.0) / 2 if bit.kind == "vee" else 0.0, bit.radius]
    if count == 1:
        return np.unique(kinks)
    turn = np.linspace(0, np.pi / 2, count)
    if bit.kind == "ball":
        return bit.radius * np.sin(turn)
    if bit.kind == "bull":
        return np.append(0.0, bit.level_radius + bit.corner * np.sin(turn))
    touch = np.arccos(np.sin(np.radians(bit.angle / 2)))
    return np.append(bit.tip / 2 * np.sin(turn * touch / (np.pi / 2)), bit.radius)


def solid(bit: Bit, around: int, count: int) -> np.ndarray:
    """Corners (N, 3) of a bit with its tip at the origin."""
    radius = rings(bit, count)
    height = bit.profile(radius)
    radius, height = np.append(radius, bit.radius), np.append(height, height[-1] + ABOVE)
    angle = 2 * np.pi * np.arange(around) / around
    ring = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    xy = (radius[:, None, None] * ring).reshape(-1, 2)
    return np.column_stack([xy, np.repeat(height, around)])


def facets(bit: Bit, around: int, count: int) -> float:
    """How far facets lie inside the true bit at most, mm: sagittas of the chords around and up the profile."""
    across = bit.radius * (1 - np.cos(np.pi / around))
    curved = {"ball": bit.radius, "bull": getattr(bit, "corner", 0.0), "tapered ball": getattr(bit, "tip", 0.0) / 2}
    return float(across + curved.get(bit.kind, 0.0) * (1 - np.cos(np.pi / 4 / max(count - 1, 1))))


def surface(cut: Manifold, points: np.ndarray) -> np.ndarray:
    """Height (N,) of a solid's upper side over points (N, 2): its highest facet there."""
    mesh = cut.to_mesh()
    corners = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3][np.asarray(mesh.tri_verts)]
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    up = np.nonzero(twice > 1e-12)[0]
    a, b, c, twice = a[up], b[up], c[up], twice[up]
    low, high = corners[up, :, :2].min(axis=1), corners[up, :, :2].max(axis=1)
    out = np.full(len(points), -np.inf)
    for i, p in enumerate(points):
        near = np.nonzero(np.all((low <= p) & (high >= p), axis=1))[0]
        ab, ac, ap = b[near] - a[near], c[near] - a[near], p - a[near, :2]
        v = (ap[:, 0] * ac[:, 1] - ap[:, 1] * ac[:, 0]) / twice[near]
        w = (ab[:, 0] * ap[:, 1] - ab[:, 1] * ap[:, 0]) / twice[near]
        inside = (v >= -1e-9) & (w >= -1e-9) & (v + w <= 1 + 1e-9)
        out[i] = np.max((a[near, 2] + v * ab[:, 2] + w * ac[:, 2])[inside])
    return out


@pytest.mark.parametrize("name", CASES)
def test_the_map_is_what_exact_solids_leave(name: str) -> None:
    compare(name, columns=4, rows=3)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_the_map_of_a_hundred_moves_is_what_exact_solids_leave(name: str) -> None:
    # Half as many facets where the solid is round: they lie four times as far inside.
    compare(name, columns=10, rows=10, finer=0.5)


def compare(name: str, columns: int, rows: int, finer: float = 1.0) -> None:
    """One random move for each place of a grid, 5 mm apart, so that each crosses its neighbours."""
    bit, (around, count, steepest, within) = some_bits()[name], CASES[name]
    if count > 1:
        around, count, within = int(around * finer), 1 + int((count - 1) * finer), within / finer**2
    rng = np.random.default_rng(300)
    kinds = [k for k in KINDS if k != "nearly upright"]
    pairs = []
    for k in range(columns * rows):
        place = np.array([5.0 * (k % columns), 5.0 * (k // columns), 0.3])
        a, b = some_move(kinds[k % len(kinds)], rng, reach=4.0)
        pairs.append((a * [1, 1, 0.3] + place, b * [1, 1, 0.3] + place))
    corners = solid(bit, around, count)
    swept = [Manifold.hull_points(np.concatenate([corners + a, corners + b])) for a, b in pairs]
    box = (-5.0, -5.0, 5.0 * columns, 5.0 * rows)
    block = Manifold.cube([box[2] - box[0], box[3] - box[1], TOP + 2]).translate([box[0], box[1], -2.0])
    cut = Manifold.batch_boolean([block, *swept], OpType.Subtract)
    moves = moves_of([a for a, _ in pairs], [b for _, b in pairs], [1] * len(pairs))
    after = simulate(DepthMap.over(box, TOP, 0.8), moves, {1: bit})
    x, y = (a.ravel() for a in np.meshgrid(after.xs, after.ys))
    points = np.stack([x, y], axis=1)
    exact, found = after.heights.ravel().astype(np.float64), surface(cut, points)
    assert np.mean(exact < TOP) > 0.1
    # The library works in single precision: 6e-8 of where a corner lies, and twice as much where walls are steep.
    single = 1.2e-7 * max(box[2:])
    assert np.all(exact <= found + single)
    # Facets move a surface sideways too: what stands as far away as they lie inside bounds it from above.
    off = facets(bit, around, count)
    wood = StandingWood((-199, -199, 199, 199), TOP).after(moves, {1: bit})
    turn = 2 * np.pi * np.arange(8) / 8
    beside = points[:, None, :] + 1.1 * off * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    highest = np.maximum(wood.heights(beside.reshape(-1, 2)).reshape(-1, 8).max(axis=1), exact)
    assert np.all(found <= highest + off + single)
    # Where the surface is not steep the two agree as closely as facets allow.
    gentle = (exact < TOP) & (highest - exact <= 1.1 * off * steepest)
    assert np.count_nonzero(gentle) > 20
    assert within >= np.max((found - exact)[gentle])
