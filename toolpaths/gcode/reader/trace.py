"""The parsed program: every move with its line, and the other words by line.

Coordinates are the program's own (its zero), in mm whatever its units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

RAPID, FEED, ARC_CW, ARC_CCW = 0, 1, 2, 3


@dataclass(frozen=True, slots=True)
class Header:
    """The facts in a program's first comments; None where one is missing.

    `bits`: number to name, as announced. `touch_z` and `lifted` in mm.
    """

    job_hash: str | None = None
    number: int | None = None
    count: int | None = None
    setup: str | None = None
    bits: tuple[tuple[int, str], ...] = ()
    touch_surface: str | None = None
    touch_z: float | None = None
    lifted: float = 0.0


@dataclass(frozen=True, slots=True)
class Event:
    """A word that is not a move: `M3`, `M5`, `G4`, `T`, `M6`, `G21`, `G54`, `M0`, `M30`, ...

    `before` is the index of the first move after it; `value` the number it carries (rpm, seconds, bit).
    """

    word: str
    line: int
    before: int
    value: float = 0.0


@dataclass(frozen=True, slots=True)
class Told:
    """A sentence for the operator among the comments: `what` it is about, and its values, lengths in mm.

    `line`: its first line; `before`: the index of the first move after it.
    """

    what: str
    values: tuple[str | float, ...]
    line: int = 0
    before: int = 0


@dataclass(frozen=True, slots=True)
class Trace:
    """Every move of a program, N of them, in order. Read-only arrays.

    kind (N,) RAPID, FEED, ARC_CW or ARC_CCW; start, end (N, 3) mm, NaN for an axis not yet commanded;
    centre (N, 3) mm, NaN for straight moves; plane (N,) 17, 18 or 19; line (N,) from 1;
    feed (N,) mm/min, 0 for rapids; rpm (N,) 0 while the spindle is off; bit (N,) number, 0 if unnamed;
    offset (N,) index into `offsets`; section (N,) index into `sections` (pairs of feature and title), -1 before any.
    """

    header: Header
    kind: Ints
    start: Array
    end: Array
    centre: Array
    plane: Ints
    line: Ints
    feed: Array
    rpm: Array
    bit: Ints
    offset: Ints
    offsets: tuple[str, ...]
    section: Ints
    sections: tuple[tuple[str, str], ...]
    events: tuple[Event, ...]
    lines: int
    ended: bool
    told: tuple[Told, ...] = ()

    def __len__(self) -> int:
        return len(self.kind)

    def truly(self, correction: tuple[float, float, float], lean: float = 0.0) -> Trace:
        """The real positions on a machine whose programs are multiplied by `correction` (x, y, z).

        `lean`: how far its Y leans toward higher X, radians. Where x and y differ in the correction, or Y leans, an arc
        is part of an ellipse then: its ends and its middle are right, and `flattened` must be given the trace as
        written.
        """
        if correction == (1.0, 1.0, 1.0) and lean == 0.0:
            return self
        start, end, centre = (_went(part, correction, lean) for part in (self.start, self.end, self.centre))
        return replace(self, start=start, end=end, centre=centre)


@dataclass(frozen=True, slots=True)
class Moves:
    """Straight moves, M of them: arcs as chords. start, end (M, 3) mm in the setup's frame.

    `parent` (M,) indexes the trace's moves; `bit` (M,) is the bit's number. No NaN stands in here.
    """

    start: Array
    end: Array
    parent: Ints
    bit: Ints

    def __len__(self) -> int:
        return len(self.parent)

    def unskewed(self, turn: float, shift: float, zero: tuple[float, float, float]) -> Moves:
        """The moves relative to the blank: the shift across its edge and the turn about the program's zero taken off.

        `turn` radians, `shift` mm (`SetupContext.skew`); `zero` the program's zero in the setup's frame.
        """
        if turn == 0.0 and shift == 0.0:
            return self
        c, s = math.cos(turn), math.sin(turn)
        back = np.array([[c, -s], [s, c]])  # row vectors: times this is a turn by -turn
        moved = [(part[:, :2] - zero[:2]) @ back - np.array([0.0, shift]) + zero[:2] for part in (self.start, self.end)]
        start, end = (np.column_stack([xy, part[:, 2]]) for xy, part in zip(moved, (self.start, self.end), strict=True))
        return Moves(start, end, self.parent, self.bit)

    def where(self, keep: NDArray[np.bool_] | slice) -> Moves:
        """The moves for which `keep` (M,) is true, or those of a slice."""
        return Moves(self.start[keep], self.end[keep], self.parent[keep], self.bit[keep])


def flattened(
    trace: Trace,
    zero: tuple[float, float, float],
    error: float = 0.002,
    correction: tuple[float, float, float] = (1.0, 1.0, 1.0),
    lean: float = 0.0,
) -> Moves:
    """The trace as straight moves in the setup's frame; arcs as chords that stray at most `error` mm.

    `zero` is where the program's zero lies in that frame; `correction`: by what x, y, z of the text are too large
    for this machine (`Machine.correction`), taken off again; `lean`: how far its Y leans toward higher X, radians.
    Moves from or to an unknown place are left out: the checks judge those by their words.
    """
    known = np.all(np.isfinite(trace.start) & np.isfinite(trace.end), axis=1)
    straight = known & (trace.kind <= FEED)
    starts = [trace.start[straight]]
    ends = [trace.end[straight]]
    parents = [np.nonzero(straight)[0]]
    for i in np.nonzero(known & (trace.kind >= ARC_CW))[0]:
        points = arc_points(
            trace.start[i],
            trace.end[i],
            trace.centre[i],
            int(trace.plane[i]),
            trace.kind[i] == ARC_CCW,
            error,
        )
        starts.append(points[:-1])
        ends.append(points[1:])
        parents.append(np.full(len(points) - 1, i))
    parent = np.concatenate(parents).astype(np.int64)
    order = np.argsort(parent, kind="stable")
    shift = np.asarray(zero, dtype=np.float64)
    return Moves(
        _went(np.concatenate(starts)[order], correction, lean) + shift,
        _went(np.concatenate(ends)[order], correction, lean) + shift,
        parent[order],
        trace.bit[parent[order]],
    )


def _went(told: Array, correction: tuple[float, float, float], lean: float) -> Array:
    """Where a machine goes with coordinates (N, 3), mm from the program's zero: its Y axis points `lean` off to +X."""
    went = told / np.asarray(correction, dtype=np.float64)
    if lean:
        along = went[:, 1].copy()
        went[:, 0] += along * math.sin(lean)
        went[:, 1] = along * math.cos(lean)
    return went


def arc_sweep(start: Array, end: Array, centre: Array, plane: int, ccw: bool) -> tuple[float, float, float]:
    """Radius (mm), first angle and signed sweep (radians) of an arc or helix; end = start is a full turn."""
    a, b, _ = PLANE_AXES[plane]
    radius = math.hypot(start[a] - centre[a], start[b] - centre[b])
    first = math.atan2(start[b] - centre[b], start[a] - centre[a])
    last = math.atan2(end[b] - centre[b], end[a] - centre[a])
    sweep = last - first
    if start[a] == end[a] and start[b] == end[b]:
        sweep = 2 * math.pi if ccw else -2 * math.pi
    elif ccw and sweep <= 0:
        sweep += 2 * math.pi
    elif not ccw and sweep >= 0:
        sweep -= 2 * math.pi
    return radius, first, sweep


PLANE_AXES: dict[int, tuple[int, int, int]] = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
"""First, second and normal axis of each plane, so that counter-clockwise is seen from the normal's positive end."""


def arc_points(start: Array, end: Array, centre: Array, plane: int, ccw: bool, error: float) -> Array:
    """Points (K + 1, 3) along an arc or helix, both ends exact, chord error at most `error` mm."""
    a, b, n = PLANE_AXES[plane]
    radius, first, sweep = arc_sweep(start, end, centre, plane, ccw)
    last = math.hypot(end[a] - centre[a], end[b] - centre[b])
    step = 2 * math.acos(max(-1.0, 1 - min(error / max(radius, 1e-9), 1.0)))
    count = max(1, math.ceil(abs(sweep) / max(step, 1e-4)))
    t = np.arange(count + 1) / count
    out = np.empty((count + 1, 3))
    r = radius + (last - radius) * t
    out[:, a] = centre[a] + r * np.cos(first + sweep * t)
    out[:, b] = centre[b] + r * np.sin(first + sweep * t)
    out[:, n] = start[n] + (end[n] - start[n]) * t
    out[0], out[-1] = start, end
    return out
