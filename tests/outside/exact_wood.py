"""Exact heights of wood under whole programs: the solid that each bit sweeps on each move, from its own geometry.

It shares no code with the product. A point's height is the least, over all moves, of where an upright line through it
first meets the swept solid:

- plunges, level lines and level arcs: a closed form of the distance to the path;
- ramps: a closed form for a flat bit (a leaning cylinder) and a ball (a cylinder with two round ends); for other shapes
  the height is a convex function along the move, and its least value is found by the golden section to the last digit;
- arcs that rise or fall: the bit set down every 0.01 mm, its rim found by halving, and the best place refined.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

STEP = 0.01
"""Between places where a bit is set down on a rising arc, mm, before the best of them is refined."""
_GOLD = (math.sqrt(5) - 1) / 2
_AT_ONCE = 1_500_000
_FLAT = 1e-9


@dataclass(frozen=True)
class Form:
    """A bit: its kind, half its diameter; of a vee or a tapered ball the tip's diameter and the included angle."""

    kind: str
    radius: float
    tip: float = 0.0
    angle: float = 0.0
    corner: float = 0.0

    def height(self, away: Array) -> Array:
        """Height above the tip at distances from the axis, mm; infinite beyond the rim."""
        away = np.asarray(away, dtype=np.float64)
        return np.where(away <= self.radius, self.end(np.minimum(away, self.radius)), np.inf)

    def end(self, away: Array) -> Array:
        """The same within the rim."""
        if self.kind == "flat":
            return np.zeros_like(away)
        if self.kind == "ball":
            return _bowl(away, self.radius)
        if self.kind == "bull":
            return _bowl(np.maximum(away - (self.radius - self.corner), 0.0), self.corner)
        half = math.radians(self.angle / 2)
        if self.kind in ("vee", "drill"):
            return np.maximum(away - self.tip / 2, 0.0) / math.tan(half)
        if self.kind == "tapered ball":
            # The cone is the ball's tangent where the ball is as steep as the cone's side.
            small = self.tip / 2
            at = small * math.cos(half)
            up = small - math.sqrt(small**2 - at**2)
            return np.where(away <= at, _bowl(np.minimum(away, at), small), up + (away - at) / math.tan(half))
        raise ValueError(self.kind)


@dataclass(frozen=True)
class Piece:
    """One move of a bit: `at(t)` gives places (..., 3) for t from 0 to 1. `centre`, `turn` of an arc, radians.

    `axes`: first, second and normal axis of an arc's plane; empty for a straight move.
    """

    bit: int
    start: Array
    end: Array
    axes: tuple[int, ...] = ()
    centre: tuple[float, float] = (0.0, 0.0)
    turn: float = 0.0

    @property
    def is_arc(self) -> bool:
        """Whether it is one."""
        return bool(self.axes)

    @property
    def radii(self) -> tuple[float, float]:
        """Distances of an arc's ends from its centre, mm: rounded digits make them differ a little."""
        a, b, _ = self.axes
        cx, cy = self.centre
        return (
            math.hypot(self.start[a] - cx, self.start[b] - cy),
            math.hypot(self.end[a] - cx, self.end[b] - cy),
        )

    def at(self, t: Array) -> Array:
        """Places (..., 3) of the tip."""
        t = np.asarray(t, dtype=np.float64)
        if not self.is_arc:
            return np.asarray(self.start + (self.end - self.start) * t[..., None])
        a, b, n = self.axes
        first, last = self.radii
        angle = math.atan2(self.start[b] - self.centre[1], self.start[a] - self.centre[0]) + self.turn * t
        radius = first + (last - first) * t
        out = np.empty((*t.shape, 3))
        out[..., a] = self.centre[0] + radius * np.cos(angle)
        out[..., b] = self.centre[1] + radius * np.sin(angle)
        out[..., n] = self.start[n] + (self.end[n] - self.start[n]) * t
        return out

    @property
    def length(self) -> float:
        """Mm."""
        if not self.is_arc:
            return float(np.linalg.norm(self.end - self.start))
        n = self.axes[2]
        return math.hypot(max(self.radii) * self.turn, self.end[n] - self.start[n])

    def bounds(self) -> tuple[Array, Array]:
        """Corners (3,) of a box around the path."""
        places = self.at(np.linspace(0.0, 1.0, 65 if self.is_arc else 2))
        slack = max(self.radii) * (1 - math.cos(self.turn / 128)) if self.is_arc else 0.0
        return places.min(axis=0) - slack, places.max(axis=0) + slack


@dataclass(frozen=True)
class Left:
    """Heights (N,) mm that stand at points, and the piece (N,) that left each: -1 where nothing cut."""

    heights: Array
    piece: Ints


def left(forms: dict[int, Form], pieces: Sequence[Piece], points: Array, top: float, arcs_by: float = 0.0) -> Left:
    """What pieces leave of a blank at points (N, 2).

    `arcs_by`: the bits are that much larger all around on arcs, or smaller where it is negative, mm: heights between
    the two are those of paths that stray so far from the arcs.
    """
    order = np.argsort(points[:, 0], kind="stable")
    x, y = points[order].T
    heights, owner = np.full(len(points), top), np.full(len(points), -1, dtype=np.int64)
    for number, piece in enumerate(pieces):
        form, grown = forms[piece.bit], arcs_by if piece.is_arc else 0.0
        low, high = piece.bounds()
        if low[2] - abs(grown) >= top:
            continue
        reach = form.radius + max(grown, 0.0)
        first, last = np.searchsorted(x, [low[0] - reach, high[0] + reach])
        near = first + np.nonzero((y[first:last] >= low[1] - reach) & (y[first:last] <= high[1] + reach))[0]
        # What stands lower already than the bit ever comes is not looked at again.
        near = near[heights[near] > low[2] - abs(grown)]
        if not len(near):
            continue
        found = _swept(form, piece, np.stack([x[near], y[near]], axis=1), grown)
        lower = found < heights[near]
        heights[near[lower]], owner[near[lower]] = found[lower], number
    out, who = np.empty(len(points)), np.empty(len(points), dtype=np.int64)
    out[order], who[order] = heights, owner
    return Left(out, who)


def _bowl(away: Array, radius: float) -> Array:
    # As a product: no digits are lost near the upright rim.
    return np.asarray(radius - np.sqrt(np.maximum((radius - away) * (radius + away), 0.0)))


def _swept(form: Form, piece: Piece, points: Array, grown: float) -> Array:
    radius = form.radius + grown

    def height(away: Array) -> Array:
        if grown == 0.0:
            return form.height(away)
        up = form.end(np.clip(away - grown, 0.0, form.radius)) - grown
        return np.where(away <= radius, up, np.inf)

    a, b = piece.start, piece.end
    if piece.is_arc:
        if piece.axes[2] == 2 and abs(b[2] - a[2]) < _FLAT:
            return a[2] + height(_from_arc(piece, points))
        return _densely(piece, points, height, radius)
    if math.hypot(b[0] - a[0], b[1] - a[1]) == 0.0:
        return min(a[2], b[2]) + height(np.hypot(*(points - a[:2]).T))
    if abs(b[2] - a[2]) < _FLAT:
        return a[2] + height(_from_line(a, b, points))
    return _on_ramp(form, a, b, points)


def _from_line(a: Array, b: Array, points: Array) -> Array:
    way = (b - a)[:2]
    t = np.clip((points - a[:2]) @ way / (way @ way), 0.0, 1.0)
    return np.hypot(*(points - a[:2] - t[:, None] * way).T)


def _from_arc(piece: Piece, points: Array) -> Array:
    """Distance in plan to an arc of the mean of its ends' radii."""
    centre, radius = np.array(piece.centre), sum(piece.radii) / 2
    from_centre = points - centre
    begin = math.atan2(piece.start[1] - centre[1], piece.start[0] - centre[0])
    way = (np.arctan2(from_centre[:, 1], from_centre[:, 0]) - begin) * math.copysign(1.0, piece.turn) % (2 * math.pi)
    ends = np.minimum(*(np.hypot(*(points - end[:2]).T) for end in (piece.start, piece.end)))
    return np.where(way <= abs(piece.turn), np.abs(np.hypot(*from_centre.T) - radius), ends)


def _on_ramp(form: Form, a: Array, b: Array, points: Array) -> Array:
    if form.kind == "ball":
        return _below_capsule(form.radius, a, b, points)
    way, rise = (b - a)[:2], b[2] - a[2]
    long = math.hypot(*way)
    along, aside = (points - a[:2]) @ way / long, np.abs((points - a[:2]) @ np.array([-way[1], way[0]]) / long)
    half = np.sqrt(np.maximum((form.radius - aside) * (form.radius + aside), 0.0))
    first, last = np.maximum((along - half) / long, 0.0), np.minimum((along + half) / long, 1.0)
    covered = (aside <= form.radius) & (first <= last)
    out = np.full(len(points), np.inf)
    first, last, along, aside = first[covered], last[covered], along[covered], aside[covered]

    def over(t: Array) -> Array:
        away = np.minimum(np.hypot(along - t * long, aside), form.radius)
        return a[2] + rise * t + form.end(away)

    ends = np.minimum(over(first), over(last))
    out[covered] = ends if form.kind == "flat" else np.minimum(ends, _least(over, first, last))
    return out


def _least(over: Callable[[Array], Array], first: Array, last: Array) -> Array:
    """Least values between two places each, by the golden section: exact for functions that fall, then rise."""
    low, high = first.copy(), last.copy()
    best = np.minimum(over(low), over(high))
    one, two = high - _GOLD * (high - low), low + _GOLD * (high - low)
    f, g = over(one), over(two)
    for _ in range(60):
        best = np.minimum(best, np.minimum(f, g))
        to_left = f < g
        low, high = np.where(to_left, low, one), np.where(to_left, two, high)
        one, two = high - _GOLD * (high - low), low + _GOLD * (high - low)
        f, g = over(one), over(two)
    return np.asarray(np.minimum(best, np.minimum(f, g)))


def _below_capsule(radius: float, a: Array, b: Array, points: Array) -> Array:
    """Where upright lines first meet, from below, the ball swept from a to b: two balls and a cylinder.

    The cylinder: |q - (q.u) u| = R for q on the line, u the axis, a quadratic equation for the height.
    """
    out = np.full(len(points), np.inf)
    for end in (a, b):
        out = np.minimum(out, end[2] + np.where(*_under_ball(np.hypot(*(points - end[:2]).T), radius)))
    axis = b - a
    length = math.sqrt(axis @ axis)
    u = axis / length
    q = points - a[:2]
    flat, steep = q @ u[:2], u[2]
    # |q|^2 + h^2 - (flat + h steep)^2 = R^2 for h, the height above the ball's centre at a.
    square = 1 - steep**2
    half, rest = -flat * steep, np.einsum("ij,ij->i", q, q) - flat**2 - radius**2
    root = half**2 - square * rest
    h = (-half - np.sqrt(np.maximum(root, 0.0))) / square
    on = (root >= 0) & (flat + h * steep >= 0) & (flat + h * steep <= length)
    return np.where(on, np.minimum(out, a[2] + radius + h), out)


def _under_ball(away: Array, radius: float) -> tuple[NDArray[np.bool_], Array, Array]:
    return away <= radius, _bowl(np.minimum(away, radius), radius), np.full(len(away), np.inf)


def _densely(piece: Piece, points: Array, height: Callable[[Array], Array], radius: float) -> Array:
    """The bit set down all along an arc."""
    count = max(8, math.ceil(piece.length / STEP))
    t = np.linspace(0.0, 1.0, count + 1)
    tips = piece.at(t)
    out = np.empty(len(points))
    few = max(1, _AT_ONCE // len(t))
    for i in range(0, len(points), few):
        some = points[i : i + few]
        away = np.hypot(tips[:, 0] - some[:, :1], tips[:, 1] - some[:, 1:])
        over = np.where(away <= radius, tips[:, 2] + height(away), np.inf)
        best = over.argmin(axis=1)
        value = over[np.arange(len(some)), best]
        for beside in (-1, 1):
            other = np.clip(best + beside, 0, count)
            value = np.minimum(value, _refined(piece, some, height, radius, t[best], t[other]))
        out[i : i + few] = np.where(np.isfinite(over.min(axis=1)), value, np.inf)
    return out


def _refined(
    piece: Piece, points: Array, height: Callable[[Array], Array], radius: float, best: Array, other: Array
) -> Array:
    """The least between the best place and the next, no further than the rim."""

    def over(t: Array) -> Array:
        tips = piece.at(t)
        away = np.hypot(*(points - tips[:, :2]).T)
        return np.where(away <= radius, tips[:, 2] + height(away), np.inf)

    inside, outside = best.copy(), other.copy()
    within = np.isfinite(over(outside))
    for _ in range(40):
        middle = (inside + outside) / 2
        reached = np.isfinite(over(middle))
        inside, outside = np.where(reached, middle, inside), np.where(reached, outside, middle)
    limit = np.where(within, other, inside)
    return _least(over, np.minimum(best, limit), np.maximum(best, limit))
