"""The map against exact solids: a boolean library cuts a block with every move's solid, and both are compared.

What a convex bit sweeps on a straight move is the convex hull of the bit at both ends. The library's bits are made of
facets that lie inside the true ones, by `facets` at most, so its wood stands a little higher and never lower. They
are made from what defines a bit (diameter, angle, tip, corner); the product's own profiles are not asked.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from manifold3d import Manifold, OpType
from shapely import STRtree

from tests.support.brute_force import KINDS, moves_of, some_bits, some_move
from toolpaths.job.bit import Bit
from toolpaths.job.bits.ball import Ball
from toolpaths.job.bits.bull import Bull
from toolpaths.job.bits.drill import Drill
from toolpaths.job.bits.flat import Flat
from toolpaths.job.bits.tapered_ball import TaperedBall
from toolpaths.job.bits.vee import Vee
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.simulate import simulate
from toolpaths.simulation.standing_wood import StandingWood

TOP = 3.0
COMMON = {"cutting_length": 20, "shank": 6, "stickout": 30}
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


def outline(bit: Bit, count: int) -> np.ndarray:
    """Radius and height (K, 2) of a bit's cutting side, joined by straight lines, from its definition alone.

    Diameter, angle, tip and corner are what a maker measures; where the side is curved, points lie evenly by slope.
    Source: elementary geometry of a cylinder, a cone, a quarter circle, and a cone that touches a ball.
    """
    r, turn = bit.diameter / 2, np.linspace(0, np.pi / 2, count)
    match bit:
        case Flat():
            points = [(0.0, 0.0), (r, 0.0)]
        case Vee() | Drill():
            tip = bit.tip / 2 if isinstance(bit, Vee) else 0.0
            points = [(0.0, 0.0), (tip, 0.0), (r, (r - tip) / np.tan(np.radians(bit.angle / 2)))]
        case Ball():
            points = [(r * np.sin(t), r * (1 - np.cos(t))) for t in turn]
        case Bull():
            level = r - bit.corner
            points = [(0.0, 0.0), *((level + bit.corner * np.sin(t), bit.corner * (1 - np.cos(t))) for t in turn)]
        case TaperedBall():
            # The cone leaves the ball where the ball is as steep: 90 degrees less half of its angle from the tip.
            half, ball = np.radians(bit.angle / 2), bit.tip / 2
            points = [(ball * np.sin(t), ball * (1 - np.cos(t))) for t in turn * (1 - half / (np.pi / 2))]
            touch, height = points[-1]
            points.append((r, height + (r - touch) / np.tan(half)))
        case _:
            raise AssertionError(bit.shape)
    return np.unique(np.array(points, dtype=np.float64), axis=0)


def solid(bit: Bit, around: int, count: int) -> np.ndarray:
    """Corners (N, 3) of a bit with its tip at the origin."""
    radius, height = outline(bit, count).T
    radius, height = np.append(radius, radius[-1]), np.append(height, height[-1] + ABOVE)
    angle = 2 * np.pi * np.arange(around) / around
    ring = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    xy = (radius[:, None, None] * ring).reshape(-1, 2)
    return np.column_stack([xy, np.repeat(height, around)])


@pytest.mark.parametrize(
    ("bit", "places"),
    [
        # A sphere of 3 mm: 0.6 deep it is 3.6 wide. A cone of 60 degrees opens 2 tan 30 = 1.1547 a mm. Derived.
        (Ball(shape="ball", diameter=6, **COMMON), [(1.8, 0.6), (3.0, 3.0)]),
        (Vee(shape="vee", diameter=4, angle=60, tip=0.2, **COMMON), [(0.1, 0.0), (2.0, 1.9 / 0.57735)]),
        (Drill(shape="drill", diameter=5, angle=90, **COMMON), [(2.5, 2.5)]),
        # A corner of 1.25: 0.25 deep it reaches 0.75 from where the flat ends.
        (Bull(shape="bull", diameter=6, corner=1.25, **COMMON), [(1.75, 0.0), (2.5, 0.25), (3.0, 1.25)]),
        # A ball of 2 mm and sides of 30 degrees each: they touch 0.5 up, 0.866 from the axis.
        (TaperedBall(shape="tapered ball", diameter=4, tip=2, angle=60, **COMMON), [(0.866025, 0.5)]),
    ],
    ids=lambda v: v.shape if isinstance(v, Bit) else "",
)
def test_the_solids_have_the_measures_of_their_bits(bit: Bit, places: list[tuple[float, float]]) -> None:
    points = outline(bit, 40_001)
    for radius, height in places:
        assert height == pytest.approx(float(np.interp(radius, *points.T)), abs=1e-5)
    assert (0.0, 0.0) == tuple(points[0])
    assert bit.diameter / 2 == pytest.approx(points[-1][0], abs=1e-12)


def facets(bit: Bit, around: int, count: int) -> float:
    """How far facets lie inside the true bit at most, mm: sagittas of the chords around and up the profile."""
    across = bit.diameter / 2 * (1 - np.cos(np.pi / around))
    curved = {
        "ball": bit.diameter / 2,
        "bull": getattr(bit, "corner", 0.0),
        "tapered ball": getattr(bit, "tip", 0.0) / 2,
    }
    return float(across + curved.get(bit.shape, 0.0) * (1 - np.cos(np.pi / 4 / max(count - 1, 1))))


def surface(cut: Manifold, points: np.ndarray) -> np.ndarray:
    """Height (N,) of a solid's upper side over points (N, 2): its highest facet there."""
    mesh = cut.to_mesh()
    corners = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3][np.asarray(mesh.tri_verts)]
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    up = np.nonzero(twice > 1e-12)[0]
    a, b, c, twice = a[up], b[up], c[up], twice[up]
    low, high = corners[up, :, :2].min(axis=1), corners[up, :, :2].max(axis=1)
    which, near = STRtree(shapely.box(*low.T, *high.T)).query(shapely.points(points))
    ab, ac, ap = (b - a)[near], (c - a)[near], points[which] - a[near, :2]
    v = (ap[:, 0] * ac[:, 1] - ap[:, 1] * ac[:, 0]) / twice[near]
    w = (ab[:, 0] * ap[:, 1] - ab[:, 1] * ap[:, 0]) / twice[near]
    inside = (v >= -1e-9) & (w >= -1e-9) & (v + w <= 1 + 1e-9)
    out = np.full(len(points), -np.inf)
    np.maximum.at(out, which[inside], (a[near, 2] + v * ab[:, 2] + w * ac[:, 2])[inside])
    return out


@pytest.mark.parametrize("name", CASES)
def test_the_map_is_what_exact_solids_leave(name: str) -> None:
    compare(name, columns=4, rows=2)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_the_map_of_many_moves_is_what_exact_solids_leave(name: str) -> None:
    # Half as many facets where the solid is round: they lie four times as far inside.
    compare(name, columns=8, rows=4, finer=0.5)


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
