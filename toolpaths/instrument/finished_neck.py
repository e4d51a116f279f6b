"""Thickness of the wood around a point of a neck whose back is carved: pure geometry.

The finished neck is everything above its back, `depth <= back_depth(x, y)`, between its trimmed sides. A wall is the
least distance in space from a point of a cut to where that wood ends.
Frame: x from the nut line toward the body, y from the centreline, depth below the glue face; all mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array, Mask
from toolpaths.instrument.boards import nut_shelf
from toolpaths.instrument.necks import (
    SOFT_VEE,
    back_depth,
    depth_on_centre,
    flatness,
    half_width_at,
    has_drawn_head,
    neck_end,
    neck_of,
    profile,
    side_corners,
)
from toolpaths.job.job import Instrument
from toolpaths.job.neck import Neck

_FAR = 300.0
"""Half width that stands for a headstock whose sides come from a drawing, mm."""
_COARSE, _FINE = 32, 64
"""Straight pieces of half a section. A chord lies inside the back by at most half width (1 - cos(pi / (4 n)))."""
_STEPS, _HALVINGS = 17, 14
_BATCH = 400_000


@dataclass(frozen=True, slots=True)
class FinishedNeck:
    """The neck as it will be: back carved, sides trimmed. `drop`: the headstock's face below the glue face, mm.

    `plan`: its outline seen from the face, fillets left out, so that it is never larger than the real one.
    `flanks`: its sides without the two ends; `low`, `high`: x of the ends.
    `wood`: how far the wood that it is cut from reaches below the glue face, mm. No carver takes from that side.
    """

    instrument: Instrument
    drop: float
    plan: Polygon
    flanks: BaseGeometry
    drawn: BaseGeometry | None
    low: float
    high: float
    wood: float = math.inf

    @staticmethod
    def of(
        instrument: Instrument, drop: float = 0.0, head: Polygon | None = None, wood: float = math.inf
    ) -> FinishedNeck:
        """`head`: a drawn headstock in the same frame, where the instrument has one; without it that head has no sides.

        Raises FeatureError for an instrument without a neck.
        """
        side = side_corners(instrument, 0.0)
        plan = Polygon([*((x, -y) for x, y in side), *((x, y) for x, y in reversed(side))])
        flanks: BaseGeometry = MultiLineString([side, [(x, -y) for x, y in side]])
        drawn: BaseGeometry | None = None
        low = side[0][0]
        if has_drawn_head(instrument):
            behind = shapely.box(-10 * _FAR, -_FAR, nut_shelf(instrument), _FAR)
            head = shapely.box(low - _FAR, -_FAR, low, _FAR) if head is None else head
            joined = shapely.union(plan, head.intersection(behind))
            plan = Polygon(max(getattr(joined, "geoms", [joined]), key=lambda g: g.area).exterior)
            drawn = LineString(plan.exterior.coords).intersection(behind)
            flanks = shapely.union(flanks, drawn)
            shapely.prepare(drawn)
            low = plan.bounds[0]
        shapely.prepare(plan)
        return FinishedNeck(instrument, drop, plan, flanks, drawn, low, neck_end(instrument), wood)

    @property
    def neck(self) -> Neck:
        """The instrument's neck."""
        return neck_of(self.instrument)

    def depth(self, x: Array, y: Array) -> Array:
        """Depth (N,) of the finished back at x, y (N,), mm."""
        return back_depth(self.instrument, x, y, self.drop)

    def over(self, x: Array, y: Array) -> Mask:
        """Which places (N,) lie within the trimmed outline."""
        return np.asarray(shapely.contains_xy(self.plan, x, y))

    def flat_at(self, x: Array) -> Mask:
        """Where (N,) the back is flat and the sides stand upright: headstock and heel, blends left out."""
        return np.asarray(flatness(self.instrument, x) >= 1.0)

    def in_section(self, points: Array, *, sides: bool = True, fine: bool = False) -> Array:
        """Wall (N,) about points (N, 3: x, y, depth) in their own sections across the neck, mm; at least the true one.

        Negative outside the finished wood. `sides=False`: distance to the back alone.
        """
        y, d = np.abs(points[:, 1]), points[:, 2]
        out = self._section_distance(points[:, 0], y, d, sides, fine)
        if sides and self.drawn is not None:
            # Elsewhere the drawn sides are farther off than what was found.
            near = np.nonzero(points[:, 0] - nut_shelf(self.instrument) < out)[0]
            out[near] = np.minimum(out[near], shapely.distance(shapely.points(points[near, :2]), self.drawn))
        inside = d <= self.depth(points[:, 0], points[:, 1])
        return np.minimum(np.where(inside, out, -out), self._in_wood(d))

    def least(self, points: Array, *, sides: bool = True, low: bool = True, high: bool = True) -> tuple[Array, Array]:
        """(wall (N,), nearest x (N,)) about points (N, 3: x, y, depth): the least distance in space, within 0.01 mm.

        Negative outside the finished wood. `sides=False`: the back alone; `low`, `high`: whether the end faces count.
        The sections fore and aft are searched: distance^2 = along^2 + (distance in that section)^2.
        """
        x = points[:, 0]
        own = self.in_section(points, sides=sides, fine=True)
        reach = np.abs(own)
        first, last = np.maximum(x - reach, self.low), np.minimum(x + reach, self.high)
        steps = np.linspace(0.0, 1.0, _STEPS)
        places = first[:, None] + (last - first)[:, None] * steps
        found = self._at(points, places, sides)
        best = np.argmin(found, axis=1)
        rows = np.arange(len(points))
        a, b = places[rows, np.maximum(best - 1, 0)], places[rows, np.minimum(best + 1, _STEPS - 1)]
        ratio = (math.sqrt(5.0) - 1) / 2
        for _ in range(_HALVINGS):
            inner = np.stack([b - ratio * (b - a), a + ratio * (b - a)], axis=1)
            two = self._at(points, inner, sides)
            left = two[:, 0] < two[:, 1]
            a, b = np.where(left, a, inner[:, 0]), np.where(left, inner[:, 1], b)
        middle = (a + b) / 2
        wall = np.minimum(self._at(points, middle[:, None], sides)[:, 0], found[rows, best])
        nearer = np.abs(own) <= wall
        wall, middle = np.where(nearer, np.abs(own), wall), np.where(nearer, x, middle)
        if sides:
            for counts, end in ((low, self.low), (high, self.high)):
                if counts and not (end == self.low and self.drawn is not None):
                    closer = np.abs(x - end) < wall
                    wall, middle = np.where(closer, np.abs(x - end), wall), np.where(closer, end, middle)
        return np.minimum(np.where(own < 0, -wall, wall), self._in_wood(points[:, 2])), middle

    def beside(self, points: Array) -> Array:
        """Distance (N,) of places (N, 2) from the trimmed sides, seen from the face, mm; negative outside them."""
        away = shapely.distance(shapely.points(points), self.flanks)
        return np.where(self.over(points[:, 0], points[:, 1]), away, -away)

    def steepness(self, x: Array, reach: float) -> Array:
        """How far (N,) sections at most change a mm along the neck, within `reach` mm of x (N,).

        The least wall in space is at least the wall in its own section / sqrt(1 + steepness^2).
        """
        stations = np.arange(self.low, self.high, 0.5)
        y, d = self._section(stations, _COARSE, True)
        change = np.hypot(np.diff(y, axis=0), np.diff(d, axis=0))
        # The far end of a drawn headstock's flat is no part of it; its sides are judged in plan.
        per_mm = change[:, :-1].max(axis=1) / 0.5
        around = max(1, math.ceil(reach / 0.5))
        wide = np.pad(per_mm, around, mode="edge")
        most = np.lib.stride_tricks.sliding_window_view(wide, 2 * around + 1).max(axis=1)
        index = np.clip(np.searchsorted(stations, x) - 1, 0, len(most) - 1)
        return np.asarray(most[index])

    def _in_wood(self, depth: Array) -> Array:
        """Wood (N,) below a depth (N,), mm; what the carver may take too much is added, since it is taken off later."""
        return self.wood + self.neck.wall.carver - depth

    def _at(self, points: Array, places: Array, sides: bool) -> Array:
        """Distance in space (N, M) of points (N, 3) from the sections at x (N, M)."""
        count = places.shape[1]
        y, d = np.repeat(np.abs(points[:, 1]), count), np.repeat(points[:, 2], count)
        across = self._section_distance(places.ravel(), y, d, sides, True)
        return np.hypot(places - points[:, :1], across.reshape(places.shape))

    def _section_distance(self, x: Array, y: Array, d: Array, sides: bool, fine: bool) -> Array:
        """Distance (N,) in the section at x of (y >= 0, depth) from its back, and its side where `sides`."""
        pieces = _FINE if fine else _COARSE
        out = np.empty(len(x))
        batch = max(1, _BATCH // pieces)
        for i in range(0, len(x), batch):
            part = slice(i, i + batch)
            sy, sd = self._section(x[part], pieces, sides)
            out[part] = _from_line(y[part], d[part], sy, sd)
        return out

    def _section(self, x: Array, pieces: int, sides: bool) -> tuple[Array, Array]:
        """y and depth, (N, K) each, of half sections at x (N,): from the centreline outwards, then up the side."""
        parts = _parts(self.neck, pieces)
        half, centre = half_width_at(self.instrument, x), depth_on_centre(self.instrument, x, self.drop)
        flat = flatness(self.instrument, x)
        y = half[:, None] * parts
        d = centre[:, None] * (flat[:, None] + (1 - flat[:, None]) * profile(self.neck, parts))
        if not sides:
            return y, d
        edge_y, edge_d = half.copy(), np.zeros(len(x))
        if self.drawn is not None:
            behind = x < nut_shelf(self.instrument)
            edge_y, edge_d = np.where(behind, _FAR, edge_y), np.where(behind, d[:, -1], edge_d)
        return np.column_stack([y, edge_y]), np.column_stack([d, edge_d])


# Private


def _parts(neck: Neck, pieces: int) -> Array:
    """Fractions of the half width at which a section is looked at: evenly around an ellipse, and every kink."""
    even = np.sin(np.linspace(0.0, math.pi / 2, pieces + 1))
    even[-1] = 1.0
    if neck.back == "round":
        return even
    kinks = [w for w, _ in (SOFT_VEE if neck.back == "soft vee" else neck.back)]
    return np.unique(np.concatenate([kinks, even[::4]]))


def _from_line(y: Array, d: Array, sy: Array, sd: Array) -> Array:
    """Distance (N,) of points from their own broken lines (N, K)."""
    ay, ad = sy[:, :-1] - y[:, None], sd[:, :-1] - d[:, None]
    ty, td = np.diff(sy, axis=1), np.diff(sd, axis=1)
    square = ty * ty + td * td
    with np.errstate(divide="ignore", invalid="ignore"):
        t = -(ay * ty + ad * td) / square
    t = np.clip(np.where(square > 0, t, 0.0), 0.0, 1.0)
    ay += t * ty
    ad += t * td
    return np.asarray(np.sqrt((ay * ay + ad * ad).min(axis=1)))
