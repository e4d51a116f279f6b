"""A neck from its numbers: outline, thickness along it, the finished back.

Depths are mm below the glue face (the face that the board is glued to), positive down.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.instrument.boards import furthest_end, half_width, nut_back, nut_shelf
from toolpaths.instrument.fans import fret_x
from toolpaths.instrument.places import x_of
from toolpaths.job.job import Instrument
from toolpaths.job.neck import Neck

FILLET = 12.0
"""Radius of the hollow corners of the outline, mm: more than any bit that cuts it. Common practice, no source."""
SOFT_VEE = ((0.0, 1.0), (0.2, 0.94), (0.45, 0.80), (0.7, 0.56), (0.9, 0.27), (1.0, 0.0))
"""Profile of a soft vee, (fraction of half width, fraction of depth). Common practice, no source."""
_SEGS = 64
_HAIR, _THIN = 1e-4, 1e-3
"""Chords of a round growth stray from it by the first, and what is twice as thin as the second is left, mm."""


def neck_of(instrument: Instrument) -> Neck:
    """The instrument's neck. Raises FeatureError where it has none."""
    if instrument.neck is None:
        raise FeatureError("the instrument has no neck", "give `neck` with thickness, heel and headstock", "instrument")
    return instrument.neck


def neck_end(instrument: Instrument) -> float:
    """x of the neck's end at the body, mm: the heel's, else the board's (its further corner where it is fanned)."""
    heel = neck_of(instrument).heel
    return furthest_end(instrument) if heel is None else heel.to


def head_end(instrument: Instrument) -> float:
    """x of the headstock's end, mm (negative); the nut line where there is no headstock, NaN where it is drawn."""
    head = neck_of(instrument).headstock
    if head is None:
        return 0.0
    return math.nan if head.length is None else -head.length


def side_corners(instrument: Instrument, margin: float) -> list[tuple[float, float]]:
    """Corners (x, half width) of the outline's treble side from the head's end to the neck's end, mm.

    `margin` is added to the shaft on each side (0 for the trimmed neck). Heel and headstock have their own width.
    """
    neck, end = neck_of(instrument), neck_end(instrument)
    out: list[tuple[float, float]] = []
    head = neck.headstock
    if head is not None and head.length is not None and head.width is not None:
        shelf = nut_shelf(instrument)
        width = _shaft(instrument, shelf, margin)
        out += [(-head.length, head.width / 2), (shelf - head.flare, head.width / 2), (shelf, width)]
    elif head is not None:
        shelf = nut_shelf(instrument)
        out.append((shelf, _shaft(instrument, shelf, margin)))
    # The sides bend at the nut line: parallel behind it, the board's taper before it.
    bend = nut_back(instrument)
    out.append((bend, _shaft(instrument, bend, margin)))
    heel = neck.heel
    if heel is None:
        out.append((end, _shaft(instrument, end, margin)))
    else:
        into = heel.start - heel.blend
        out += [(into, _shaft(instrument, into, margin)), (heel.start, heel.width / 2), (end, heel.width / 2)]
    return out


def neck_outline(instrument: Instrument, margin: float, head: Polygon | None = None) -> Polygon:
    """The neck seen from the face, hollow corners rounded by FILLET, chords within 0.001 mm.

    `head`: a drawn headstock in instrument coordinates, joined to the shaft.
    """
    return _rounded(tuple(side_corners(instrument, margin)), head)


@lru_cache(maxsize=16)
def _rounded(side: tuple[tuple[float, float], ...], head: Polygon | None) -> Polygon:
    """The outline of a neck with these corners, y above 0, and a headstock. Kept: a job asks for it many times."""
    shape: BaseGeometry = Polygon([*((x, -y) for x, y in side), *((x, y) for x, y in reversed(side))])
    if head is not None:
        shape = shape.union(head)
    if shape.geom_type != "Polygon" or not shape.is_valid:
        raise FeatureError(
            "the neck's outline is not one piece", "check the heel, the headstock and its drawing", "instrument"
        )
    # Closing (out and in again) rounds hollow corners only. Grown with mitres it keeps the other corners exactly, but
    # takes in too much beside one that stands close to a hollow one: what a round growth leaves out is taken off.
    closed: BaseGeometry
    closed, rounded = (
        shape.buffer(FILLET, quad_segs=4 * _SEGS, join_style=join).buffer(-FILLET, quad_segs=4 * _SEGS)
        for join in ("mitre", "round")
    )
    beyond = [p for p in shapely.get_parts(closed.difference(rounded.buffer(_HAIR))) if not p.buffer(-_THIN).is_empty]
    if beyond:
        closed = closed.difference(shapely.union_all(beyond))
    return Polygon(shapely.get_coordinates(shapely.get_exterior_ring(closed)))


def half_width_at(instrument: Instrument, x: Array) -> Array:
    """Half width (N,) of the trimmed neck at x (N,), mm, by its corners (fillets left out); 0 beyond its ends.

    Behind the nut a drawn headstock has no width of its own here: the shaft's goes on, the drawing says the rest.
    """
    side = side_corners(instrument, 0.0)
    xs, ys = np.array([c[0] for c in side]), np.array([c[1] for c in side])
    beyond = ys[0] if has_drawn_head(instrument) else 0.0
    return np.asarray(np.interp(x, xs, ys, left=beyond, right=0.0))


def has_drawn_head(instrument: Instrument) -> bool:
    """Whether the headstock's sides come from a drawing."""
    head = neck_of(instrument).headstock
    return head is not None and head.drawing is not None


def depth_on_centre(instrument: Instrument, x: Array, head_drop: float = 0.0) -> Array:
    """Depth (N,) of the finished back below the glue face on the centreline at x (N,), mm.

    Linear between and beyond the named frets, board taken off; smoothly into the heel's over its blend, and from
    the nut into the headstock's (`head_drop`: how far its face lies below the glue face); a volute stands on top.
    Raises FeatureError for a volute at a fret that the instrument lacks.
    """
    neck = neck_of(instrument)
    x = np.asarray(x, dtype=np.float64)
    depth = _shaft_depth(instrument, x)
    heel, head = neck.heel, neck.headstock
    if heel is not None:
        depth = _eased(depth, heel.thickness - instrument.board.thickness, (x - heel.start + heel.blend) / heel.blend)
    if head is not None:
        depth = _eased(depth, head_drop + head.thickness, -x / head.blend)
    volute = neck.volute
    if volute is not None:
        half = np.clip(2 * np.abs(x - x_of(volute.at, instrument, "at")) / volute.length, 0.0, 1.0)
        depth = depth + volute.height * (1 + np.cos(np.pi * half)) / 2
    return depth


def back_depth(instrument: Instrument, x: Array, y: Array, head_drop: float = 0.0) -> Array:
    """Depth (N,) of the finished back below the glue face at x, y (N,), mm; 0 beside the trimmed neck.

    On the shaft the profile of `back` hangs from one edge of the glue face to the other (`round` is half an
    ellipse); heel and headstock are flat; in the blends one runs smoothly into the other. A drawn headstock goes on
    sideways without end: its drawing says where it stops.
    """
    x, y = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
    return depth_across(instrument, x, head_drop)(y)


def depth_across(instrument: Instrument, x: Array, head_drop: float = 0.0) -> Callable[[Array], Array]:
    """`back_depth` at x of any shape, as a function of y, whose shape must go with it: what depends on x is found once.

    For who asks at many y of the same sections.
    """
    neck, half = neck_of(instrument), half_width_at(instrument, x)
    centre, flat = depth_on_centre(instrument, x, head_drop), flatness(instrument, x)
    wide = np.where(half > 0, half, 1.0)
    behind = (x < nut_shelf(instrument)) if has_drawn_head(instrument) else np.zeros(np.shape(x), dtype=bool)

    def depth(y: Array) -> Array:
        aside = np.abs(y)
        inside = ((aside <= half) & (half > 0)) | behind
        shape = profile(neck, np.clip(aside / wide, 0.0, 1.0))
        return np.asarray(np.where(inside, centre * (flat + (1 - flat) * shape), 0.0))

    return depth


def flatness(instrument: Instrument, x: Array) -> Array:
    """0 (N,) where the back has its full profile, 1 where heel or headstock are flat, between in the blends."""
    neck = neck_of(instrument)
    out = np.zeros(np.shape(x))
    if neck.heel is not None:
        out = np.maximum(out, _ease((x - neck.heel.start + neck.heel.blend) / neck.heel.blend))
    if neck.headstock is not None:
        out = np.maximum(out, _ease(-x / neck.headstock.blend))
    return out


def profile(neck: Neck, part: Array) -> Array:
    """Depth as a fraction (N,) of the centreline's at a fraction `part` (N,) of the half width."""
    if neck.back == "round":
        return np.sqrt(np.maximum(1.0 - part**2, 0.0))
    points = SOFT_VEE if neck.back == "soft vee" else neck.back
    return np.asarray(np.interp(part, [p[0] for p in points], [p[1] for p in points]))


def _shaft(instrument: Instrument, x: float, margin: float) -> float:
    """Half width of the shaft; behind the nut it keeps the width there."""
    return float(half_width(instrument, max(x, nut_back(instrument)))) + margin


def _shaft_depth(instrument: Instrument, x: Array) -> Array:
    stations = neck_of(instrument).thickness
    xs = np.array([fret_x(instrument, s.fret) for s in stations])
    ts = np.array([s.thickness for s in stations]) - instrument.board.thickness
    if len(xs) == 1:
        return np.full(np.shape(x), ts[0])
    # Behind the nut line the thickness at the nut goes on.
    along = np.maximum(x, 0.0)
    i = np.clip(np.searchsorted(xs, along) - 1, 0, len(xs) - 2)
    return np.asarray(ts[i] + (ts[i + 1] - ts[i]) * (along - xs[i]) / (xs[i + 1] - xs[i]))


def _eased(a: Array, b: float, t: Array) -> Array:
    s = _ease(t)
    return a * (1 - s) + b * s


def _ease(t: Array) -> Array:
    """0 below 0, 1 above 1, smooth and level at both."""
    t = np.clip(t, 0.0, 1.0)
    return np.asarray(t * t * (3 - 2 * t))
