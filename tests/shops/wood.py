"""The true wood of a shop: programs' texts read by the tests' own reader, cut by the true bits, asked at any point.

Nothing of the product is used. A setup's frame: x from the nut line, y from the centreline as seen at the machine, z
from the blank's underside as it lies there. Turned over, the wood lies on its face, and y is mirrored.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tests.property.plain_part import Part
from tests.shops.shop import Shop
from tests.support.plain_wood import Lay
from tests.support.text_moves import TextMove, TextReader
from tests.tamper.field import Shape

Array = NDArray[np.float64]
STRAY = 0.0005
"""A chord of an arc strays by no more than this, mm."""
BARE_BED = "cuts the bare bed"
_NUMBER = r"(-?\d+(?:\.\d+)?)"


@dataclass(frozen=True)
class Sweep:
    """Straight ways of one bit's tip, from `start` to `end` (N, 3), mm in the frame of the wood as it lies."""

    bit: Shape
    start: Array
    end: Array

    @staticmethod
    def of(bit: Shape, start: Array, end: Array) -> Sweep:
        """Without ways over which the bit goes once more and nowhere higher: turns and passes repeat one another."""
        order = np.argsort(start[:, 2] + end[:, 2], kind="stable")
        start, end = start[order], end[order]
        _, first, same = np.unique(
            np.round(np.hstack([start[:, :2], end[:, :2]]), 6), axis=0, return_index=True, return_inverse=True
        )
        low = first[same.ravel()]
        again = (low != np.arange(len(start))) & (start[low, 2] <= start[:, 2]) & (end[low, 2] <= end[:, 2])
        return Sweep(bit, start[~again], end[~again])

    def heights(self, points: Array) -> Array:
        """The lowest that is left at points (N, 2) by a flat bit: exact; infinite out of reach."""
        out = np.full(len(points), np.inf)
        low = np.minimum(self.start[:, :2], self.end[:, :2]) - self.bit.radius
        high = np.maximum(self.start[:, :2], self.end[:, :2]) + self.bit.radius
        near = ((low <= points.max(axis=0)) & (high >= points.min(axis=0))).all(axis=1)
        if not near.any():
            return out
        a, way = self.start[near], (self.end - self.start)[near]
        wx, wy, wz = way.T
        run = np.hypot(wx, wy)
        moves = run > 0
        length = np.where(moves, run, 1.0)
        ux, uy = wx / length, wy / length
        px, py = points[:, :1] - a[:, 0], points[:, 1:] - a[:, 1]
        along = px * ux + py * uy
        left = self.bit.radius**2 - (px * px + py * py - along * along)
        reach = np.sqrt(np.maximum(left, 0.0))
        # Where on its way the bit is over a place; one that only goes down is over it all the time.
        first = np.where(moves, np.maximum((along - reach) / length, 0.0), 0.0)
        last = np.where(moves, np.minimum((along + reach) / length, 1.0), 1.0)
        z = a[:, 2] + wz * np.where(wz < 0, last, first)
        return np.asarray(np.where((left >= 0) & (first <= last), z, np.inf).min(axis=1))


@dataclass(frozen=True)
class Side:
    """One side of the wood, or the bed: what has cut it."""

    sweeps: tuple[Sweep, ...] = ()

    def heights(self, points: Array) -> Array:
        """What was left by the cuts alone (N,)."""
        out = np.full(len(points), np.inf)
        for sweep in self.sweeps:
            out = np.minimum(out, sweep.heights(points))
        return out


@dataclass
class Wood:
    """A blank on its way through a shop. `parts`: the job's setups, read plainly; `sides` by what is cut.

    `faces`: how high the planed face is, by how much of it is cut: looked for once.
    """

    shop: Shop
    parts: dict[str, Part]
    sides: dict[str, Side] = field(default_factory=dict)
    faces: dict[int, float] = field(default_factory=dict)

    def cut(self, number: int, text: str) -> None:
        """One program, counted from 0 over the job; its text alone says what is done."""
        setup = _said(text, r"Program \d+ of \d+, setup (.+?)\)")
        part = self.parts[setup]
        bits = re.findall(r"^\(Bit \d+: ([^,]+),", text, re.M)
        assert len(bits) == 1, "one program a bit"
        assert re.search(r"^G21\b", text, re.M), "in mm"
        on_bed = BARE_BED in text
        surface, entered = re.findall(rf"\(Touch off: (.+), Z {_NUMBER}", text)[0]
        z0 = self._touched(part, surface, text) + self.shop.set_off(number)
        x, y = (0.0, 0.0) if on_bed else self.shop.aside[setup]
        zero, lay = np.array([*part.zero[:2], z0]), Lay(part)
        points = [_points(move) for move in TextReader().read(text.splitlines()) if np.isfinite(move.start).all()]
        scale = np.array(self.shop.scale)
        true = [(p - [0.0, 0.0, float(entered)]) * scale + zero for p in points]
        # What lies askew, and then a little aside of that.
        true = [np.column_stack([*lay.on_blank(p[:, 0], p[:, 1]), p[:, 2]]) - [x, y, 0.0] for p in true]
        shape = part.bit(bits[0])
        assert shape.kind == "flat"
        thin = replace(shape, radius=shape.radius - self.shop.thinner[bits[0]] / 2)
        sweep = Sweep.of(thin, np.concatenate([p[:-1] for p in true]), np.concatenate([p[1:] for p in true]))
        side = self._name(part, on_bed)
        self.sides[side] = Side((*self.sides.get(side, Side()).sweeps, sweep))

    def heights(self, setup: str, points: Array, *, on_bed: bool = False) -> Array:
        """Heights of the wood (N,) at points (N, 2) in a setup's frame, mm; of the bare bed."""
        part, points = self.parts[setup], np.asarray(points, dtype=np.float64).reshape(-1, 2)
        cut = self.sides.get(self._name(part, on_bed), Side()).heights(points)
        if on_bed:
            return np.minimum(cut, -part.under)
        return np.minimum(cut, self._uncut(part, points))

    def lifted(self, setup: str) -> float:
        """How high the blank truly lies above the bed, mm."""
        return self.parts[setup].under + self.shop.tape[setup]

    def through(self, setup: str, points: Array) -> Array:
        """How thick the wood is (N,) at points of a setup's frame, what the other side has lost taken off, mm."""
        part = self.parts[setup]
        other = next((n for n, p in self.parts.items() if p.flipped != part.flipped), None)
        here = self.heights(setup, points)
        if other is None:
            return here
        mirrored = np.asarray(points, dtype=np.float64).reshape(-1, 2) * [1.0, -1.0]
        return here + self.heights(other, mirrored) - self.planed

    @property
    def planed(self) -> float:
        """How high the planed face is over the underside; of a wood that nobody planed its highest corner."""
        cuts = len(self.sides.get("face", Side()).sweeps)
        if cuts not in self.faces:
            part = next(p for p in self.parts.values() if not p.flipped)
            x0, y0, x1, y1 = part.blank
            corners = np.array([[x, y] for x in (x0 + 1, x1 - 1) for y in (y0 + 1, y1 - 1)])
            self.faces[cuts] = float(self.heights(str(part.setup["name"]), corners).max())
        return self.faces[cuts]

    # Private

    @staticmethod
    def _name(part: Part, on_bed: bool) -> str:
        return f"bed of {part.setup['name']}" if on_bed else "back" if part.flipped else "face"

    def _uncut(self, part: Part, points: Array) -> Array:
        """The blank as it was; turned over its underside, above the face that it lies on."""
        if not part.flipped:
            return self._bought(part, points)
        return np.full(len(points), self.planed)

    def _bought(self, part: Part, points: Array) -> Array:
        x0, y0, x1, y1 = part.blank
        u, v = (points[:, 0] - x0) / (x1 - x0), (points[:, 1] - y0) / (y1 - y0)
        a, b, c, d = self.shop.corners
        return np.asarray((1 - v) * ((1 - u) * a + u * b) + v * ((1 - u) * c + u * d))

    def _touched(self, part: Part, surface: str, text: str) -> float:
        """How high a surface truly is over the blank's underside."""
        if surface == "bed":
            return -self.lifted(part.setup["name"])
        assert surface in ("stock top", "planed face"), surface
        told = re.findall(rf"is thickest, .* at X {_NUMBER} mm, Y {_NUMBER} mm", re.sub(r"\)\n\([+\s]*", " ", text))
        if told and surface == "stock top":
            place = [[float(told[0][k]) * self.shop.scale[k] + part.zero[k] for k in (0, 1)]]
            return float(self.heights(part.setup["name"], np.array(place))[0])
        # Of the stock's top the highest point is asked for; a planed face is as high everywhere.
        x0, y0, x1, y1 = part.blank
        corners = np.array([[x, y] for x in (x0 + 5, x1 - 5) for y in (y0 + 5, y1 - 5)])
        return float(self.heights(part.setup["name"], corners).max())


def _said(text: str, pattern: str) -> str:
    found = re.findall(pattern, text)
    assert len(found) == 1, pattern
    return str(found[0])


def _points(move: TextMove) -> Array:
    step = math.sqrt(8 * move.radius * STRAY) if move.sweep else math.inf
    return np.array(list(move.points(step)))


def line(at: Sequence[float], axis: Sequence[float], along: Array) -> Array:
    """Points (N, 2) at distances along an axis."""
    return np.asarray(at, dtype=np.float64) + along[:, None] * np.asarray(axis, dtype=np.float64)
