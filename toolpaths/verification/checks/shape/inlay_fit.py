"""Does every inlay go into its pocket, with the clearance asked for all around?

Both walls are looked for in the wood that the two programs' texts leave, halfway down: where the pocket's side begins,
and where the piece's ends, on lines square to the piece's outline. What lies between them is the clearance.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array, Mask
from toolpaths.job.cut_kind import CutKind
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.wording.shape import does_not_go_in, fits_badly, no_walls

OFF = 0.03
"""Clearance may differ from what is asked by so much before it is told, mm. Common practice, no source."""
LEAST = 0.005
"""Less is none: the piece does not go in, mm."""
_STEP = 0.5
"""Between places along an outline, mm."""
_REACH = 0.4
"""How far to both sides of the outline a wall is looked for, mm."""
_HALVINGS = 12
_CORNER = 0.25
"""Radians between two chords from which a corner's own place is not looked at: nothing is square to it."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `inlay-fit`: one a piece, a stop where it does not go in."""
    here = {o.feature for o in inputs.operations} & inputs.finished
    pieces = [d for d in inputs.demands if d.laid is not None and d.feature in here]
    if not pieces or inputs.face is None:
        return []
    pockets = [d for d in inputs.other_demands if d.must and d.kind in (CutKind.marker, CutKind.pocket)]
    pairs = [(piece, _pocket_of(piece, pockets)) for piece in pieces]
    found = [_of(inputs, piece, pocket) for piece, pocket in pairs if pocket is not None]
    return shortened([one for one in found if one is not None])


def clearances(inputs: CheckInput, piece: Demand, pocket: Demand) -> tuple[Array, Array]:
    """(places (N, 2) on the sheet, clearance (N,) there), mm, from the wood as both texts leave it.

    NaN where a wall is not found near its place.
    """
    assert inputs.face is not None
    assert piece.laid is not None
    points, outward = _around(_inside(piece.asked))
    # Where the bit leaves a corner to the hands there is no wall yet.
    by_hand = shapely.union_all([pocket.corner_region(inputs.context.tolerance)]).buffer(0.1)
    home = points - np.asarray(piece.laid)
    keep = ~shapely.intersects_xy(by_hand, home[:, 0], home[:, 1])
    points, outward, home = points[keep], outward[keep], home[keep]
    floor = float(pocket.floor.height(home[:1, 0], home[:1, 1])[0])
    sheet = float(piece.floor.height(points[:1, 0], points[:1, 1])[0])
    pocket_wall = _wall(inputs.face, home, outward, (floor + _top(inputs.face, pocket)) / 2, rises=True)
    piece_wall = _wall(inputs.standing, points, outward, (sheet + inputs.context.top) / 2, rises=False)
    return points, pocket_wall - piece_wall


def _pocket_of(piece: Demand, pockets: Sequence[Demand]) -> Demand | None:
    """The pocket over which a piece lies once it is moved to its place; None where there is none."""
    assert piece.laid is not None
    home = translate(_inside(piece.asked), -piece.laid[0], -piece.laid[1])
    covered = [float(home.intersection(pocket.asked).area) for pocket in pockets]
    return pockets[int(np.argmax(covered))] if covered and max(covered) > 0 else None


def _of(inputs: CheckInput, piece: Demand, pocket: Demand) -> Finding | None:
    points, gap = clearances(inputs, piece, pocket)
    asked = _asked(piece, pocket)
    units, severity = inputs.job.units, Severity.stop
    least, most = int(np.argmin(gap)), int(np.argmax(gap))
    at = max((least, most), key=lambda i: abs(float(gap[i]) - asked))
    if np.isnan(gap).any():
        at = int(np.argmax(np.isnan(gap)))
        message = no_walls(piece.name, _REACH, units)
    elif gap[least] < min(LEAST, asked / 2):
        at = least
        message = does_not_go_in(piece.name, float(gap[least]), asked, units)
    elif abs(float(gap[at]) - asked) > OFF:
        severity = Severity.warn
        message = fits_badly(piece.name, float(gap[at]), asked, units)
    else:
        return None
    return at_feature(inputs, "inlay-fit", message, piece, (points[at, 0], points[at, 1]), severity=severity)


def _inside(band: BaseGeometry) -> Polygon:
    """What a band goes around."""
    holes = [Polygon(ring) for part in shapely.get_parts(band) for ring in part.interiors]
    return max(holes, key=lambda h: h.area)


def _asked(piece: Demand, pocket: Demand) -> float:
    """The clearance that the two shapes ask for, mm: from the piece's outline to the pocket's."""
    assert piece.laid is not None
    inside = _inside(piece.asked)
    points = shapely.get_coordinates(inside.exterior) - np.asarray(piece.laid)
    return float(shapely.distance(shapely.points(points), pocket.asked.boundary).min())


def _around(shape: Polygon) -> tuple[Array, Array]:
    """Places (N, 2) around an outline, and the directions outward there (N, 2); none at its corners."""
    ring = np.asarray(shapely.segmentize(shapely.normalize(shape).exterior, _STEP).coords)
    way = np.diff(ring, axis=0)
    length = np.hypot(*way.T)
    ring, way, length = ring[:-1][length > 1e-6], way[length > 1e-6], length[length > 1e-6]
    angle = np.arctan2(way[:, 1], way[:, 0])
    turn = np.abs((np.diff(angle, prepend=angle[-1]) + np.pi) % (2 * np.pi) - np.pi)
    sharp = (turn > _CORNER) | (np.roll(turn, -1) > _CORNER)
    middle, way = ring + way / 2, way / length[:, None]
    outward = np.stack([way[:, 1], -way[:, 0]], axis=1)
    probe = middle + 1e-4 * outward
    outward[shapely.contains_xy(shape, probe[:, 0], probe[:, 1])] *= -1
    # Chords of an arc are short: as many of them as lie a step apart will do.
    gone = np.floor(np.cumsum(length) / _STEP)
    keep = (np.diff(gone, prepend=-1) > 0) & ~(sharp & (length < 0.1))
    return middle[keep], outward[keep]


def _top(face: StandingWood, pocket: Demand) -> float:
    """Height of the wood beside a pocket, mm."""
    ring = shapely.get_coordinates(pocket.asked.buffer(1.5).exterior)
    return float(np.max(face.heights(ring)))


def _wall(wood: StandingWood, points: Array, outward: Array, height: float, *, rises: bool) -> Array:
    """How far outward from points (N, 2) the wood comes up to a height (`rises`), or falls below it; NaN where not."""
    low, high = np.full(len(points), -_REACH), np.full(len(points), _REACH)

    def stands(at: Array) -> Mask:
        return np.asarray(wood.heights(points + at[:, None] * outward) > height)

    missed = (stands(low) == rises) | (stands(high) != rises)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        beyond = stands(middle) == rises
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    return np.where(missed, np.nan, (low + high) / 2)
