"""Wood cut the plain way, from an interpreter's canonical moves: a grid of heights and the bit set down along each.

It shares no code with the product: its own shapes of bits, its own sampling, its own reading of the job's numbers.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from tests.outside.interpreter import Move

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

RAPID, FEED, CW = 0, 1, 2
"""As the canonical moves are numbered: 3 is an arc the other way."""
_AT_ONCE = 2_000_000


@dataclass(frozen=True)
class Shape:
    """A bit: radius, and the height of its end above its tip at a distance from its axis, mm."""

    kind: str
    radius: float
    tip: float = 0.0
    angle: float = 0.0

    def height(self, away: Array) -> Array:
        """Infinite beyond the radius."""
        if self.kind == "flat":
            up = np.zeros_like(away)
        elif self.kind == "vee":
            up = np.maximum(away - self.tip / 2, 0.0) / math.tan(math.radians(self.angle / 2))
        elif self.kind == "drill":
            up = away / math.tan(math.radians(self.angle / 2))
        elif self.kind == "ball":
            up = self.radius - np.sqrt(np.maximum(self.radius**2 - away**2, 0.0))
        else:
            raise ValueError(self.kind)
        return np.where(away <= self.radius, up, np.inf)


class Field:
    """Heights of a blank over a box (x0, y0, x1, y1), mm, in a program's own coordinates."""

    def __init__(self, box: tuple[float, float, float, float], top: float, pitch: float) -> None:
        self.box, self.pitch = box, pitch
        cols, rows = math.ceil((box[2] - box[0]) / pitch), math.ceil((box[3] - box[1]) / pitch)
        self.x0, self.y0 = box[0] + 0.37 * pitch, box[1] + 0.41 * pitch
        self.z = np.full((rows, cols), top)

    @property
    def places(self) -> tuple[Array, Array]:
        """x and y of every cell, (rows, cols)."""
        rows, cols = self.z.shape
        x, y = np.meshgrid(self.x0 + self.pitch * np.arange(cols), self.y0 + self.pitch * np.arange(rows))
        return x, y

    def copy(self) -> Field:
        """The same, apart."""
        other = object.__new__(Field)
        other.box, other.pitch, other.x0, other.y0, other.z = self.box, self.pitch, self.x0, self.y0, self.z.copy()
        return other

    def lowered_to(self, other: Field) -> None:
        """No higher than another field of the same box, near each cell: its cells may be larger."""
        low = ndimage.minimum_filter(other.z, size=3)
        x, y = self.places
        rows = np.clip(np.rint((y - other.y0) / other.pitch), 0, low.shape[0] - 1).astype(np.int64)
        cols = np.clip(np.rint((x - other.x0) / other.pitch), 0, low.shape[1] - 1).astype(np.int64)
        np.minimum(self.z, low[rows, cols], out=self.z)

    def cut(self, bit: Shape, tips: Array) -> None:
        """Lowered by a bit set down at tips (N, 3)."""
        for rows, cols, away, tip in self._under(bit.radius, tips):
            heights = (tip[:, None, None] + bit.height(away)).ravel()
            inside = np.isfinite(heights) & self._within(rows, cols)
            np.minimum.at(self.z, (rows[inside], cols[inside]), heights[inside])

    def wood_over(self, bit: Shape, tips: Array) -> Array:
        """How far the wood stands above a bit set down at each of tips (N, 3), within 0.7 of its radius, mm."""
        out = np.full(len(tips), -np.inf)
        done = 0
        for rows, cols, away, tip in self._under(0.7 * bit.radius, tips):
            inside = self._within(rows, cols) & (away.ravel() <= 0.7 * bit.radius)
            wood = np.full(rows.shape, -np.inf)
            wood[inside] = self.z[rows[inside], cols[inside]]
            over = wood.reshape(away.shape) - tip[:, None, None] - np.where(away <= bit.radius, bit.height(away), 0.0)
            out[done : done + len(tip)] = over.max(axis=(1, 2))
            done += len(tip)
        return out

    def _under(self, radius: float, tips: Array) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64], Array, Array]]:
        """Cells under a disc at each tip: rows and columns (K,), distances (n, m, m), heights (n,), some at once."""
        reach = math.ceil(radius / self.pitch) + 1
        step = np.arange(-reach, reach + 1)
        few = max(1, _AT_ONCE // len(step) ** 2)
        for i in range(0, len(tips), few):
            x, y, z = tips[i : i + few].T
            col, row = np.rint((x - self.x0) / self.pitch), np.rint((y - self.y0) / self.pitch)
            cols = (col[:, None, None] + step[None, None, :]).astype(np.int64)
            rows = (row[:, None, None] + step[None, :, None]).astype(np.int64)
            away = np.hypot(
                self.x0 + self.pitch * cols - x[:, None, None], self.y0 + self.pitch * rows - y[:, None, None]
            )
            shape = away.shape
            yield np.broadcast_to(rows, shape).ravel(), np.broadcast_to(cols, shape).ravel(), away, z

    def _within(self, rows: NDArray[np.int64], cols: NDArray[np.int64]) -> Flags:
        return np.asarray((rows >= 0) & (rows < self.z.shape[0]) & (cols >= 0) & (cols < self.z.shape[1]))


def sampled(move: Move, start: tuple[float, float, float], step: float) -> Array:
    """Places (N, 3) along a canonical move, no more than a step apart; none further than 2 m, where no bench is."""
    a, b = np.asarray(start), np.asarray(move.end)
    if move.kind in (RAPID, FEED):
        count = min(max(1, math.ceil(float(np.linalg.norm(b - a)) / step)), 20_000)
        return np.asarray(a + (b - a) * np.linspace(0.0, 1.0, count + 1)[:, None])
    first, second, up = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[move.plane]
    cx, cy = move.centre
    r = math.hypot(a[first] - cx, a[second] - cy)
    begin, end = math.atan2(a[second] - cy, a[first] - cx), math.atan2(b[second] - cy, b[first] - cx)
    turn = (begin - end if move.kind == CW else end - begin) % (2 * math.pi)
    turn = turn if turn > 1e-6 else 2 * math.pi
    count = min(max(2, math.ceil(r * turn / step)), 20_000)
    part = np.linspace(0.0, 1.0, count + 1)
    angle = begin + (-turn if move.kind == CW else turn) * part
    out = np.empty((count + 1, 3))
    out[:, first], out[:, second] = cx + r * np.cos(angle), cy + r * np.sin(angle)
    out[:, up] = a[up] + (b[up] - a[up]) * part
    return out


@dataclass
class Ran:
    """What came of running moves over wood: the wood, and the first harm on the way."""

    field: Field
    harm: str = ""


def run(field: Field, bit: Shape, moves: Sequence[Move], *, spun: bool) -> Ran:
    """The moves cut into a copy of the wood. `spun`: the program itself turns the spindle on.

    Harm: a rapid through wood, or wood cut while the spindle stands still.
    """
    out = Ran(field.copy())
    wood, step = out.field, field.pitch / 2
    waiting: list[Array] = []
    here: tuple[float, float, float] | None = None
    for move in moves:
        tips = sampled(move, move.end if here is None else here, step)
        up = here is not None and move.end[:2] == here[:2] and move.end[2] >= here[2]
        here = move.end
        if move.kind != RAPID:
            if spun and move.rpm == 0.0 and not out.harm:
                _flush(wood, bit, waiting)
                if wood.wood_over(bit, tips).max() > 0.05:
                    out.harm = "cuts with the spindle off"
            waiting.append(tips)
            continue
        if out.harm or up:
            continue
        _flush(wood, bit, waiting)
        if wood.wood_over(bit, tips[1:]).max() > 0.05:
            out.harm = "a rapid through wood"
    _flush(wood, bit, waiting)
    return out


def _flush(field: Field, bit: Shape, waiting: list[Array]) -> None:
    if waiting:
        field.cut(bit, np.concatenate(waiting))
        waiting.clear()


def differences(old: Field, new: Field, slack: float) -> tuple[Flags, Flags]:
    """Cells cut deeper than before, and cells left higher: by more than `slack`, and not for a step aside."""
    low = ndimage.minimum_filter(old.z, size=3)
    high = ndimage.maximum_filter(old.z, size=3)
    return new.z < low - slack, new.z > high + slack


def near(cells: Flags, distance: float, pitch: float) -> Flags:
    """Cells no further than a distance from any of some cells."""
    return np.asarray(ndimage.distance_transform_edt(~cells) * pitch <= distance)


def every(moves: Iterable[Move]) -> list[tuple[int, float, float, float]]:
    """Moves as plain numbers, to be set side by side."""
    return [(m.kind, *m.end) for m in moves]
