"""Operations: what is to be done with one bit, without any moves. A closed union, one for each strategy."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from toolpaths.common.arrays import Array
from toolpaths.geometry.loop import Area, Loop
from toolpaths.job.feature_keys import LineDirection, MillingDirection
from toolpaths.job.placed import Lie

Limit = Literal["job", "bit", "wood", "chip", "machine", "feed", "usual"]
"""Whose limit decides a value: chip is bit and wood together, feed a part of the feed, usual common practice."""


@dataclass(frozen=True, slots=True)
class Cutting:
    """How the bit is driven. Feeds mm/min, depths mm; `reasons` says for each value which limit decided, in words,
    and `limits` whose limit that was.

    `z_limit`: the highest feed of the machine's z axis. `lines`: how the levels of lines follow each other, None where
    none are cut; `twice`: each level of a line is cut there and back. `safety`: how many times the load expected would
    break a fine or thin bit, an estimate; None for others.
    """

    rpm: float
    feed: float
    plunge: float
    ramp: float
    pass_depth: float
    step_over: float
    finish_allowance: float
    rough: MillingDirection
    finish: MillingDirection
    ramp_angle: float
    reasons: dict[str, str] = field(default_factory=dict, hash=False)
    z_limit: float = math.inf
    limits: dict[str, Limit] = field(default_factory=dict, hash=False)
    lines: LineDirection | None = None
    twice: bool = False
    safety: float | None = None

    @property
    def descent(self) -> float:
        """Feed straight down or up where there is no wood, mm/min: the limit of the z axis, at most the feed."""
        return min(self.feed, self.z_limit)

    def along_wall(self, height: float, diameter: float) -> float:
        """Feed of a skim along a wall of full height, mm/min: the ramp's where that is more than 4 diameters.

        A bit that reaches so far bends; four is this project's own, no source.
        """
        return self.ramp if height > 4.0 * diameter else self.feed

    @property
    def slope(self) -> float:
        """Fall of a ramp, mm a mm of its length: the tangent of its angle."""
        return math.tan(math.radians(self.ramp_angle))

    def ramp_reach(self, drop: float) -> float:
        """How far from its beginning a ramp down by so many mm reaches that goes there and back, mm."""
        return drop / self.slope / 2

    @property
    def both_ways(self) -> bool:
        """Whether level passes may go there and back: unless the job asks for one direction."""
        return self.limits.get("direction") != "job"

    @property
    def feeds(self) -> tuple[float, float, float, float]:
        """Every feed that a program of this operation may carry, mm/min."""
        return (self.feed, self.plunge, self.ramp, self.descent)


@dataclass(frozen=True, slots=True)
class Common:
    """The fields that every operation has. `title` is a sentence for the program's comment.

    `top`: height of the wood that it begins in, `floor`: the lowest that it cuts, mm above the bed.
    `within`: from where to where along x it is cut, where the blank lies in several places; None: all of it.
    """

    feature: str
    job_line: int
    bit: str
    cutting: Cutting
    title: str
    top: float
    floor: float
    within: tuple[float, float] | None = field(default=None, kw_only=True)


@dataclass(frozen=True, slots=True)
class Raster(Common):
    """Level passes along x over a box, off the wood at both ends. Box x0, y0, x1, y1; heights mm."""

    box: tuple[float, float, float, float]
    skim: float


@dataclass(frozen=True, slots=True)
class KeptClear:
    """A box x0, y0, x1, y1 that nothing may touch, and how far the bit's middle stays from it at least. mm."""

    box: tuple[float, float, float, float]
    by: float


@dataclass(frozen=True, slots=True)
class Skim(Common):
    """Level passes over a board, round what stands on it. Box x0, y0, x1, y1 of the bit's middle; mm.

    `along`: the axis of the rows. `clear`: what the bit goes round.
    """

    box: tuple[float, float, float, float]
    along: Literal["x", "y"]
    clear: tuple[KeptClear, ...] = ()


@dataclass(frozen=True, slots=True)
class Rebate(Common):
    """The left end of the blank taken down, off the wood on three sides, to a straight wall across at the box's x1.

    Box x0, y0, x1, y1 of the wood; heights mm; `skim` the thickness of the last level. `ramp`: the length before
    the wall over which the floor rises in an arc, 0 for an upright wall; `stair`: the highest step left in it, mm.
    """

    box: tuple[float, float, float, float]
    face: float
    skim: float
    ramp: float = 0.0
    stair: float = 0.05


@dataclass(frozen=True, slots=True)
class Lines(Common):
    """Straight grooves, (N, 2, 2) xy of the bit's centre from entry to exit; heights mm.

    `floors`: where the floor is not level, for each groove (K, 2): (distance from entry, height of the tip), straight
    between its points and curved downwards only; `floor` is then the lowest of all.
    """

    lines: Array
    names: tuple[str, ...]
    floors: tuple[Array, ...] = ()

    @property
    def depth(self) -> float:
        """Depth below the top where it is least, mm: on a floor that follows a rounded top, that below the crown."""
        return self.top - max((float(f[:, 1].max()) for f in self.floors), default=self.floor)


@dataclass(frozen=True, slots=True)
class Clear(Common):
    """Pockets cleared to a level floor, each with the outline of its finished wall, islands left standing.

    `skim`: the thickness of the last level, mm; 0 where all are even.
    """

    areas: tuple[Area, ...]
    skim: float = 0.0


@dataclass(frozen=True, slots=True)
class Corners(Common):
    """Wood that a wider bit left in pockets which it cleared to the same floor, to be cut by a smaller one.

    `areas`: the whole pockets; `before`: radius that the wider bit cut, mm.
    """

    areas: tuple[Area, ...]
    before: float


@dataclass(frozen=True, slots=True)
class Tab:
    """Wood left standing to hold the part: a point on the finished edge, its direction, size mm."""

    at: tuple[float, float]
    along: tuple[float, float]
    length: float
    height: float


@dataclass(frozen=True, slots=True)
class Contour(Common):
    """A cut around the outside of a closed outline. `kerf` is the width to open, mm (at least the bit's)."""

    loop: Loop
    kerf: float
    tabs: tuple[Tab, ...]


@dataclass(frozen=True, slots=True)
class Bore(Common):
    """Round holes. `centres` (N, 2), `diameters` (N,), mm."""

    centres: Array
    diameters: Array
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Channel(Common):
    """Straight slots of constant width, each from `ends` (N, 2, 2): the extremes of the finished cavity on its
    centre line, rounded ends included. `floor` is the lowest height; `floor_line` (K, 2): (distance from the first
    end, height), the same for all, straight between its points. `open_ends`: which ends run out of the wood, or on
    into another cavity. `squared`: closed ends are flat walls instead of half circles of the slot's width. mm.
    """

    ends: Array
    names: tuple[str, ...]
    width: float
    floor_line: Array
    open_ends: tuple[bool, bool] = (False, False)
    squared: bool = False


@dataclass(frozen=True, slots=True)
class Rulings(Common):
    """A rounded top in straight passes. `layers`: (how much higher, (lines of one side, lines of the other)), the
    finished surface last; lines (N, 2, 3) hold both ends of the tip's way, from the crown outwards. Heights mm."""

    layers: tuple[tuple[float, tuple[Array, Array]], ...]


@dataclass(frozen=True, slots=True)
class SurfaceRows(Common):
    """Passes over a curved surface. Each of `rows` is (K, 4): the tip's place, and the height of the wood over it.

    `links`: from the end of each row to the beginning of the next, as the surface has it between them, where rows lie
    side by side; empty where each stands for itself. `ridge`: height of what stays between them. mm.
    """

    rows: tuple[Array, ...]
    names: tuple[str, ...]
    links: tuple[Array, ...] = ()
    ridge: float = 0.0


@dataclass(frozen=True, slots=True)
class Engrave(Common):
    """Lines followed at one depth by the bit's middle: each path (K, 2) xy, closed where its ends meet. mm."""

    paths: tuple[Array, ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Carve(Common):
    """Shapes cut by a pointed bit along their middle, as deep as their walls allow, at most to the floor.

    `areas`: the shapes at the height `top`. `spread`: how far the bit widens on each side a
    mm of height, tan(half its angle); `tip`: width of its flat; `step`: between rings where the floor is level. mm.
    """

    areas: tuple[Area, ...]
    spread: float
    tip: float
    step: float


Operation = (
    Raster
    | Skim
    | Rebate
    | Lines
    | Clear
    | Corners
    | Contour
    | Bore
    | Channel
    | Rulings
    | SurfaceRows
    | Engrave
    | Carve
)


@dataclass(frozen=True, slots=True)
class ProgramPlan:
    """The operations of one program: one setup, and one bit unless the machine changes bits.

    `on_bed`: they cut the bare bed, before the work lies on it. `number`: its place among the plans of the whole job,
    from 0, also where only a part of it is written. `lie`: in which of its places the blank lies.
    """

    setup: str
    operations: tuple[Operation, ...]
    on_bed: bool = False
    number: int = 0
    lie: Lie | None = None

    @property
    def bits(self) -> tuple[str, ...]:
        """Bit names in order of first use."""
        return tuple(dict.fromkeys(o.bit for o in self.operations))
