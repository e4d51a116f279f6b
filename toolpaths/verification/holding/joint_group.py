"""What joints and holders bear together: an elastic group of fasteners, sideways, turning and lifted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from toolpaths.common.arrays import Array, Mask
from toolpaths.instrument.wood_strength import WoodStrength
from toolpaths.simulation.columns import Columns
from toolpaths.verification.holding.joints import Joints

PATCH = 20.0
"""Width of the squares in which an area that holds is reckoned, mm."""
_NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class Bearing:
    """One thing that bears: a joint, a screw, a pin, a corner of a clamp's foot, a patch of tape.

    `middle`: x, y in mm. `along`, `across`: N that it bears sideways along its normal (a unit vector) and square to it.
    What has no normal bears the same in any direction: both are equal. `lift`: N that it bears upwards.
    """

    middle: tuple[float, float]
    along: float
    across: float
    lift: float
    normal: tuple[float, float] | None = None


def joint_bearings(joints: Joints, strength: WoodStrength) -> tuple[Bearing, ...]:
    """What each joint bears, in two halves; `strength` of poor wood (`WoodStrength.poor`).

    A short beam built in at both ends (M = V s / 2), A its area, t its height, l its length, s its span:
    pulled f A, pushed sideways the lesser of b t l^2 / (3 s) and tau A / 1.5, lifted that of b l t^2 / (3 s) and
    tau A / 1.5; f and b pulled and bent at the normal's angle to the grain, tau the shear. Source: elementary
    mechanics; 1.5 is the greatest over the mean shear in a rectangle.
    """
    out = []
    for k in range(len(joints)):
        nx, ny = joints.normal[k].tolist()
        degrees = math.degrees(math.atan2(abs(ny), abs(nx)))
        area, t, l, s = (float(v[k]) for v in (joints.area, joints.height, joints.length, joints.span))  # noqa: E741
        bent, sheared = strength.bent(degrees) / (3 * s), strength.shear * area / 1.5
        x, y = joints.middle[k].tolist()
        # In two halves a sixth of its length to either side: together they bear the moment t l^2 / 6 x f of the whole.
        for aside in (-l / 6, l / 6):
            out.append(
                Bearing(
                    middle=(x - ny * aside, y + nx * aside),
                    along=strength.pulled(degrees) * area / 2,
                    across=min(bent * t * l * l, sheared) / 2,
                    lift=min(bent * l * t * t, sheared) / 2,
                    normal=(nx, ny),
                )
            )
    return tuple(out)


def area_bearings(columns: Columns, cells: Mask, sideways: float, lift: float) -> tuple[Bearing, ...]:
    """What an area bears that holds as a whole, like tape: one thing for each square of 20 mm or less.

    `cells` (rows, cols) that are held; `sideways`, `lift` in N/mm2.
    """
    row, col = np.nonzero(cells)
    if not len(row):
        return ()
    # A small area in nine squares or so: one alone would bear no turning.
    wide = min(PATCH, math.sqrt(len(row)) * columns.pitch / 3)
    n = max(1, round(wide / columns.pitch))
    _, patch = np.unique((row // n) * (cells.shape[1] // n + 1) + col // n, return_inverse=True)
    patch = patch.reshape(-1)
    count = np.bincount(patch)
    x, y = np.bincount(patch, columns.xs[col]) / count, np.bincount(patch, columns.ys[row]) / count
    area = count * columns.pitch**2
    return tuple(
        Bearing((float(x[k]), float(y[k])), sideways * float(a), sideways * float(a), lift * float(a))
        for k, a in enumerate(area)
    )


def outermost(columns: Columns, cells: Mask) -> Array:
    """Centres (P, 2), mm, of the first and last cell of each row: their hull is that of all the cells (rows, cols)."""
    row = np.nonzero(cells.any(axis=1))[0]
    first = cells[row].argmax(axis=1)
    last = cells.shape[1] - 1 - cells[row, ::-1].argmax(axis=1)
    return np.stack([columns.xs[np.concatenate([first, last])], np.tile(columns.ys[row], 2)], axis=1)


def group_ratio(members: Sequence[Bearing], side: float, lift: float, places: Array, lies: Array) -> float:
    """How many times the members bear a side force and a lift, N, wherever the bit cuts and whichever way it pushes.

    `places` (K, 2): where the bit cuts, mm; `lies` (P, 2): places at which the piece lies on the bed, mm, which it may
    tip about (`outermost` has them). 0 where nothing bears, infinite where nothing pushes or
    no place is cut.
    """
    if not len(places):
        return math.inf
    if not members:
        return 0.0
    places = _hull(places)
    return min(_sideways(members, side, places), _lifted(members, lift, places, lies))


def _sideways(members: Sequence[Bearing], force: float, places: Array) -> float:
    """Times that the members bear a side force (N) in any direction at any of the places (K, 2).

    The elastic method for groups of fasteners: each has a stiffness k, here the less of its two strengths, and takes
    k (F / sum k + M x r / J), J = sum k r^2 about the mean place weighted by k. Its use is |along| / N + |across| / V,
    without a normal the whole force / N. Over all directions of F the first is greatest at the longer of the two
    vectors that the signs allow, the second at the matrix's norm: derived. Both are convex in the place of F, so the
    hull's corners are the worst. Without J nothing bears turning: 0.
    Source: elementary mechanics of bolt groups.
    """
    if force <= 0:
        return math.inf
    at = np.array([m.middle for m in members])
    along, across = np.array([m.along for m in members]), np.array([m.across for m in members])
    k = np.minimum(along, across)
    bears = k > _NOTHING
    if not bears.any():
        return 0.0
    at, k, along, across = at[bears], k[bears], along[bears], across[bears]
    known = np.array([m.normal is not None for m in members])[bears]
    normal = np.array([m.normal or (1.0, 0.0) for m in members])[bears]
    middle = k @ at / k.sum()
    r = at - middle
    turning = float(k @ (r * r).sum(axis=1))
    if turning <= _NOTHING * k.sum():
        return 0.0
    square = np.stack([-normal[:, 1], normal[:, 0]], axis=1)
    # M = px Fy - py Fx; a member at r takes k (-ry, rx) M / J of it.
    arm = np.stack([-(places - middle)[:, 1], (places - middle)[:, 0]], axis=1)
    around = np.stack([-r[:, 1], r[:, 0]], axis=1)

    def part(direction: Array, bears: Array) -> Array:
        """(members, K, 2): the vector whose product with F is a member's use in one direction."""
        moved = direction / k.sum()
        turned = np.einsum("mi,mi->m", direction, around)[:, None, None] * arm[None] / turning
        return np.asarray((k / bears)[:, None, None] * (moved[:, None] + turned))

    one, other = part(normal, along), part(square, across)
    lengths = np.maximum(np.linalg.norm(one + other, axis=2), np.linalg.norm(one - other, axis=2))
    whole = np.linalg.norm(np.stack([one, other], axis=2), ord=2, axis=(2, 3))
    return 1.0 / (float(np.where(known[:, None], lengths, whole).max()) * force)


def _lifted(members: Sequence[Bearing], force: float, places: Array, lies: Array) -> float:
    """Times that the members bear a lift (N) at any of the places (K, 2), straight up or tipping the piece.

    It tips about an edge of the hull of what lies on the bed; a member at a distance d inside the edge bears in
    proportion to d: sum(V d^2) / max d against force x distance. Where it does not lie on an area, the members keep it
    down as well as up, and their places count for the hull. Source: elementary mechanics, derived.
    """
    if force <= 0:
        return math.inf
    bears = np.array([m.lift for m in members])
    at = np.array([m.middle for m in members])
    ratio = float(bears.sum()) / force
    edge = _hull(lies)
    if len(edge) < 3:
        edge = _hull(np.concatenate([np.reshape(lies, (-1, 2)), at]))
    if len(edge) < 2:
        return ratio
    # Corners run counter-clockwise, so the piece lies to the left of every edge; a line has two edges.
    for a, b in zip(edge, np.roll(edge, -1, axis=0), strict=True):
        inward = np.array([a[1] - b[1], b[0] - a[0]]) / math.hypot(*(b - a))
        arm = np.maximum((at - a) @ inward, 0.0)
        load = float(((places - a) @ inward).max())
        if load > _NOTHING:
            most = float(arm.max())
            moment = float(bears @ (arm * arm)) / most if most > _NOTHING else 0.0
            ratio = min(ratio, moment / (force * load))
    return ratio


def _hull(points: Array) -> Array:
    """Corners (K, 2) of the convex hull of points (N, 2), counter-clockwise; one or two where it has no area."""
    points = np.reshape(np.asarray(points, dtype=np.float64), (-1, 2))
    if len(points) < 2:
        return points
    corners = shapely.get_coordinates(shapely.normalize(shapely.MultiPoint(points).convex_hull))
    if len(corners) < 4:
        return corners
    corners = corners[:-1]
    x, y = corners[:, 0], corners[:, 1]
    return corners if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0 else corners[::-1]
