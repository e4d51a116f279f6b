"""How a bit meets the wood on its way: how deep, how wide, and how much of it, from the wood that stands there.

A slot, a pass along a wall, a step-over and a move through air may all bear one feed; what tells them apart is the
wood just ahead of the bit, before that move is made. It is looked at across the bit's whole width, at a few places
of every kind of move that the text has: moves of one feature, feed, speed and height are of a kind.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Ints, Mask
from toolpaths.gcode.reader.trace import RAPID
from toolpaths.job.bit import Bit
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cylinder_sweep import ceiling, on_blank

TOUCH = 0.01
"""Less wood than this above the bit's edges is none, mm."""
SLOT = 0.95
"""Part of the bit's width from which a cut counts as a slot."""
PLUNGE = 30.0
"""Degrees below the level from which a move is a plunge and no ramp. Common practice, no source."""
LEVEL = 0.01
"""Degrees of slope up to which a move is level."""

# Where the width is divided, as parts of the diameter from either wall: finely where a skim would be.
_FROM_WALL = np.array([0.0, 0.005, 0.02, 0.05, 0.1, 0.17, 0.26, 0.38, 0.5])
_EDGES = 2 * np.concatenate([_FROM_WALL, 1 - _FROM_WALL[-2::-1]]) - 1
_ACROSS = (_EDGES[:-1] + _EDGES[1:]) / 2
"""Places across the bit, in radii from its axis, and the parts of the diameter that each stands for."""
_SHARE = np.diff(_EDGES) / 2
_CLOSER = np.arange(1, 8) / 8
"""A second look, between the last place that met wood and the next that did not."""
_INSIDE = 1e-4
"""How far inside the bit's rim the wood ahead is looked at, mm."""
_A_KIND, _ALL = 12, 400
"""Most places of one kind of move, and about the most of one program."""


@dataclass(frozen=True, slots=True)
class Engagement:
    """What the bit meets at K places of a program, each standing for moves of its kind.

    `move` (K,): index of the straight move; `kind` (K,): number of its kind; `at` (K, 3): the tip, mm;
    `slope` (K,): degrees below the level, 90 straight down, negative upwards.
    `axial` (K,): greatest height of wood in front of the edges above the tip, mm; `middle` (K,): the same before the
    middle 0.7 of the width. `radial` (K,): part of the bit's width that meets wood, 1 in a slot, 0 in air.
    `from_wall` (K,): part of the diameter from the bit's side up to the wood nearest its middle: what radial
    thinning is reckoned from; 0.5 and more where the middle itself cuts. `section` (K,): area of the wood ahead, mm2.
    `width` (K,): the bit's width that all of this is measured across, mm.
    A plunge's are those of the wood under the bit.
    """

    move: Ints
    kind: Ints
    at: Array
    slope: Array
    axial: Array
    middle: Array
    radial: Array
    from_wall: Array
    section: Array
    width: Array

    def __len__(self) -> int:
        return len(self.move)

    @property
    def cuts(self) -> Mask:
        """(K,) whether any wood is met."""
        return self.radial > 0

    @property
    def level(self) -> Mask:
        """(K,) neither up nor down."""
        return np.abs(self.slope) <= LEVEL

    @property
    def plunges(self) -> Mask:
        """(K,) steeper down than a ramp."""
        return self.slope > PLUNGE

    @property
    def slot(self) -> Mask:
        """(K,) as wide as the bit, and no plunge."""
        return (self.radial >= SLOT) & ~self.plunges


def engagement(inputs: CheckInput) -> Engagement:
    """What the program's bits meet, at a few places of every kind of move. Worked out once for all checks."""
    known = inputs.kept.get("engagement")
    if not isinstance(known, Engagement):
        move, kind, place = _places(inputs)
        known = inputs.kept["engagement"] = at_places(inputs, move, place, kind)
    return known


def at_places(inputs: CheckInput, move: Ints, part: Array, kind: Ints | None = None) -> Engagement:
    """What is met on moves (K,) at parts (K,) of their length, 0 to 1, by bits that the job knows."""
    moves = inputs.moves
    way = moves.end[move] - moves.start[move]
    at = moves.start[move] + part[:, None] * way
    run = np.hypot(way[:, 0], way[:, 1])
    slope = np.degrees(np.arctan2(-way[:, 2], run))
    along = np.where((run > 1e-9)[:, None], way[:, :2] / np.maximum(run, 1e-9)[:, None], [1.0, 0.0])
    looks = _Looks(inputs, move, at, along, slope, *_widths(inputs, move))
    above = looks.above(np.broadcast_to(_ACROSS, (len(move), len(_ACROSS))))
    meets = above > TOUCH
    radial = meets @ _SHARE
    from_wall = _innermost(looks, meets)
    # One cut along one wall is as wide as its inner side says, and that is known more closely.
    one_side = (from_wall < 0.5) & ~(
        meets[:, : len(_ACROSS) // 2].any(axis=1) & meets[:, len(_ACROSS) // 2 :].any(axis=1)
    )
    radial = np.where(one_side, from_wall, radial)
    return Engagement(
        move=move,
        kind=np.arange(len(move)) if kind is None else kind,
        at=at,
        slope=slope,
        axial=np.where(meets, above, 0.0).max(axis=1, initial=0.0),
        middle=np.where(meets & (np.abs(_ACROSS) < 0.7), above, 0.0).max(axis=1, initial=0.0),
        radial=radial,
        from_wall=from_wall,
        section=(np.maximum(above, 0.0) @ _SHARE) * 2 * looks.radius,
        width=2 * looks.radius,
    )


# Where to look


def _places(inputs: CheckInput) -> tuple[Ints, Ints, Array]:
    """Moves, their kinds, and the part of each move at which to look; all (K,)."""
    moves, trace = inputs.moves, inputs.trace
    way = moves.end - moves.start
    run, length = np.hypot(way[:, 0], way[:, 1]), np.sqrt(np.einsum("ij,ij->i", way, way))
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    feeds = (trace.kind[moves.parent] != RAPID) & (length > 1e-9) & (low < inputs.standing.top - TOUCH)
    # Straight up a bit meets no wood that it has not cut.
    feeds &= ~((run < 1e-9) & (way[:, 2] > 0)) & np.isin(moves.bit, list(inputs.bits))
    chosen = np.nonzero(feeds)[0]
    if not len(chosen):
        return chosen, chosen, np.empty(0)
    parent = moves.parent[chosen]
    slope = np.degrees(np.arctan2(-way[chosen, 2], run[chosen]))
    sort = np.where(np.abs(slope) <= LEVEL, 0, np.where(slope < 0, 1, np.where(slope > PLUNGE, 3, 2)))
    features = {name: i for i, name in enumerate(dict.fromkeys(name for name, _ in trace.sections))}
    owner = np.array([*(features[name] for name, _ in trace.sections), -1])[trace.section[parent]]
    height = np.where(sort == 0, np.round(moves.end[chosen, 2], 3), 0.0)
    kind = _numbered([owner, moves.bit[chosen], trace.feed[parent], trace.rpm[parent], sort, height])
    order = np.argsort(kind, kind="stable")
    chosen, kind = chosen[order], kind[order]
    return _spread(chosen, kind, length[chosen], sort[order] == 3)


def _numbered(columns: list[Array] | list[Ints]) -> Ints:
    """A number (K,) for each different row of some columns (K,), without gaps, from 0."""
    number = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        values, own = np.unique(column, return_inverse=True)
        _, number = np.unique(number * len(values) + own.reshape(-1), return_inverse=True)
        number = number.reshape(-1)
    return number


def _spread(chosen: Ints, kind: Ints, length: Array, down: Mask) -> tuple[Ints, Ints, Array]:
    """Places spread over all moves of a kind, which lie one after the other; a plunge's is its end."""
    starts = np.nonzero(np.diff(kind, prepend=-1))[0]
    done = np.cumsum(length)
    before = (done - length)[starts]
    total = np.diff(np.append(before, done[-1]))
    count = np.diff(np.append(starts, len(kind)))
    # A long move may be looked at in several places, a short one in none.
    most = max(2, min(_A_KIND, _ALL // len(starts)))
    looks = np.minimum(np.where(total > 3.0, np.maximum(count, most), count), most)
    owner = np.repeat(np.arange(len(starts)), looks)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(looks) - looks, looks)
    # By the golden section, which never falls into step with a shape that repeats.
    s = before[owner] + total[owner] * ((0.5 + number * (np.sqrt(5.0) - 1) / 2) % 1.0)
    i = np.clip(np.searchsorted(done, s), 0, len(chosen) - 1)
    part = np.clip((s - (done - length)[i]) / length[i], 0.0, 1.0)
    return chosen[i], owner, np.where(down[i], 1.0, part)


# What is there


@dataclass(frozen=True, slots=True)
class _Looks:
    """K places on moves, their direction in plan (K, 2), and the radius (K,) that is looked across, mm."""

    inputs: CheckInput
    move: Ints
    at: Array
    along: Array
    slope: Array
    radius: Array
    number: Ints

    def above(self, across: Array, which: Ints | None = None) -> Array:
        """Height of wood above the bit's edges (K, N) at places across it (K, N), in radii; mm, negative for none."""
        which = np.arange(len(self.move)) if which is None else which
        r, u = (self.radius[which] - _INSIDE)[:, None], self.along[which]
        aside = r * across
        ahead = np.sqrt(np.maximum(r * r - aside * aside, 0.0))
        # Straight down there is no ahead: places on either side of the middle stand for the whole disc.
        down = (self.slope[which] > PLUNGE)[:, None]
        ahead = np.where(down, ahead * _ZIGZAG[: across.shape[1]], ahead)
        x = self.at[which, 0][:, None] + ahead * u[:, :1] - aside * u[:, 1:]
        y = self.at[which, 1][:, None] + ahead * u[:, 1:] + aside * u[:, :1]
        points = np.stack([x.ravel(), y.ravel()], axis=1)
        # Ahead of the bit all wood above its profile goes; under a plunge, what lies above the profile there.
        reach = np.where(down, np.hypot(ahead, aside), np.abs(aside))
        under = np.zeros_like(reach)
        for n in np.unique(self.number[which]):
            own = self.number[which] == n
            under[own] = self.inputs.bits[int(n)][1].height_at(reach[own])
        floor = np.maximum(self.at[which, 2][:, None] + under, 0.0).ravel()
        if self.inputs.on_bed:
            floor = (self.at[which, 2][:, None] + under).ravel()
        keep = on_blank(self.inputs, points)
        owner = np.repeat(self.move[which], across.shape[1])
        keep[keep] = ceiling(self.inputs, points[keep], owner[keep]) > floor[keep] + TOUCH
        before = self.inputs.first + owner
        out = np.full(len(points), -1.0)
        out[keep] = self.inputs.standing.heights(points[keep], before=before[keep]) - floor[keep]
        return np.asarray(np.maximum(out, -1.0).reshape(across.shape))


_ZIGZAG = np.tile([0.9, -0.45, 0.0, 0.45, -0.9], 4)


def _widths(inputs: CheckInput, move: Ints) -> tuple[Array, Ints]:
    """Radius (K,) of each place's bit at the depth of its passes, and its number (K,)."""
    number = inputs.moves.bit[move]
    radius = np.zeros(len(move))
    for n in np.unique(number):
        name, bit = inputs.bits[int(n)]
        radius[number == n] = _radius(inputs, name, bit)
    return radius, number


def _radius(inputs: CheckInput, name: str, bit: Bit) -> float:
    depth = max((o.cutting.pass_depth for o in inputs.operations if o.bit == name), default=bit.diameter / 4)
    return max(bit.width_at(depth) / 2, 2 * _INSIDE)


def _innermost(looks: _Looks, meets: Mask) -> Array:
    """Part of the diameter (K,) from the bit's side to the wood nearest its middle, looked at twice; 0 in air."""
    distance = np.where(meets, np.abs(_ACROSS), np.inf)
    nearest = np.argmin(distance, axis=1)
    inner = np.abs(_ACROSS[nearest])
    out = np.where(meets.any(axis=1), (1 - inner) / 2, 0.0)
    half = len(_ACROSS) // 2
    middle = meets[:, half - 1] | meets[:, half]
    out[middle] = 0.5
    both = meets[:, half - 1] & meets[:, half]
    out[both] = np.maximum(meets[both] @ _SHARE, 0.5)
    again = np.nonzero(meets.any(axis=1) & ~middle & (looks.slope <= PLUNGE))[0]
    if not len(again):
        return out
    side = np.sign(_ACROSS[nearest[again]])
    toward = np.where(side > 0, nearest[again] - 1, nearest[again] + 1)
    a, b = inner[again], np.abs(_ACROSS[toward])
    radii = a[:, None] + (b - a)[:, None] * _CLOSER
    closer = looks.above(side[:, None] * radii, again) > TOUCH
    # The wood's edge lies between the last place that met wood and the one after it: halfway is taken.
    hits = np.where(closer, radii, a[:, None]).min(axis=1)
    step = np.abs(b - a) / 8
    out[again] = (1 - np.maximum(hits - step / 2, 0.0)) / 2
    return out
