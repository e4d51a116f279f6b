"""One setup with its job, its machine and its reference heights.

Frame of a setup: x from the nut line toward the bridge, y from the centreline away from the operator,
z up from the blank's underside, which lies on the bed or on what is laid under it; all mm, as seen at the machine.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from toolpaths.geometry.blank_top import BlankTop
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.holders import Screws
from toolpaths.job.jig import STAYS_UNDER, Jig, Seat, ServedSetup, seat_of
from toolpaths.job.job import Job
from toolpaths.job.machine import Machine
from toolpaths.job.obstacles import Obstacle, bores_screw_holes, obstacles_of, screws_of
from toolpaths.job.placed import Lie
from toolpaths.job.setup import Setup
from toolpaths.job.stock import Stock
from toolpaths.job.wood import Wood


@dataclass(frozen=True, slots=True)
class FoundInSetup:
    """What was measured of the blank in one setup and the job has no key for.

    `measured_top`: the blank's top at six places; None where it counts as level. `aside`: how far in x and y this
    setup's programs cut beside where the other side's are, mm, as a ring about a bore has shown. `thinner`: how much
    lower than asked for the face was found, mm: so much thinner the part is, and stays. `raised`: how much higher above
    the bed the blank lies than the job knows, mm. `machine`: with its X as measured; None where nobody measured that.
    """

    measured_top: BlankTop | None = None
    aside: tuple[float, float] = (0.0, 0.0)
    thinner: float = 0.0
    raised: float = 0.0
    machine: Machine | None = None


@dataclass(frozen=True, slots=True)
class SetupContext:
    """One setup with all that it depends on. Heights mm above the blank's underside.

    `top`: highest measured point of the blank as it enters the setup; `least`: its thinnest; `face`: the surface
    that this setup's cuts begin at (planed here, or the top); `glue`: the plane that all depths are measured from,
    which lies on the bed once the work is turned over; `folder`: the job file's, where drawings lie. `jig`: what the
    blank lies on; *the bed* is its seat then. `served`: of a jig, how the blanks of other jobs lie on it.
    `found`: what was measured, and is no part of the job. `lie`: in which of its places the blank lies; None where the
    setup has only one, or no place is meant.
    """

    job: Job
    machine: Machine
    wood: Wood
    setup: Setup
    top: float
    least: float
    face: float
    glue: float
    folder: Path = Path()
    jig: Jig | None = None
    served: tuple[ServedSetup, ...] = ()
    found: FoundInSetup = FoundInSetup()
    lie: Lie | None = None

    def at(self, lie: Lie | None) -> SetupContext:
        """The setup with the blank in one of its places; the setup itself for none.

        What stands in the way stays where it is on the machine; holders go with the blank, or are the place's own.
        """
        if lie is None:
            return self
        by, hold = lie.shift, lie.placed.hold
        keep_out = tuple(k.model_copy(update={"x": (k.x[0] + by, k.x[1] + by)}) for k in self.setup.keep_out)
        update = {"keep_out": keep_out, "hold": self.setup.hold if hold is None else hold}
        return replace(self, setup=self.setup.model_copy(update=update), lie=lie)

    @property
    def bits(self) -> Mapping[str, Bit]:
        """Bits by name."""
        return self.job.bits

    @property
    def stock(self) -> Stock:
        """The blank, or the piece of its own that the setup cuts."""
        return self.job.stock if self.setup.stock is None else self.setup.stock

    @property
    def apart(self) -> bool:
        """Whether the setup cuts a piece of its own, not the instrument's blank."""
        return self.setup.stock is not None

    @property
    def travel_height(self) -> float:
        """Height of the tip on its way over stock and clamps, mm above the blank's underside."""
        return max([self.top, *(o.top for o in self.obstacles)]) + self.machine.safe_height

    @property
    def obstacles(self) -> tuple[Obstacle, ...]:
        """What stands on bed or blank: holders, and what is in the way. Pins, which stand below, are not among it.

        After them what stands on the jig that the blank lies on.
        """
        own = obstacles_of(self.setup, self.bed, self.top, self.as_it_lies)
        of_jig = () if self.jig is None else self.jig.obstacles
        return (*own, *(replace(it, top=it.top + self.bed) for it in of_jig))

    @property
    def screws(self) -> list[tuple[str, Screws, tuple[float, float]]]:
        """Name, group and place on the blank, mm, of each of the setup's screws, however the blank lies."""
        bored = bores_screw_holes(self.setup)
        return [(name, group, at if bored else self.on_blank(*at)) for name, group, at in screws_of(self.setup)]

    @property
    def jig_top(self) -> float:
        """Height of the planed top of the jig that the blank lies on, mm; the bed's without a jig."""
        return self.bed + (0.0 if self.jig is None else self.jig.rise)

    @property
    def seat(self) -> Seat:
        """Of a jig: the plane that blanks are to lie on."""
        return seat_of(self.job, self.served, self.glue)

    @property
    def bed(self) -> float:
        """Height of the bed: below 0 where something lies between it and the blank, mm."""
        return -self.setup.under_thickness - self.found.raised

    @property
    def breakthrough(self) -> float:
        """How far a through cut goes below the blank, mm: into the bed, or through the tape into half the backing.

        Common practice, no source. Into a jig never so far that less than `STAYS_UNDER` of it stays.
        """
        if self.jig is not None:
            return max(0.0, min(self.machine.bed_allowance, self.jig.under - STAYS_UNDER))
        allowance, backing = self.machine.bed_allowance, self.setup.under.backing
        return self.setup.under_thickness - backing + min(allowance, backing / 2) if backing else allowance

    def above_bed(self, height: float) -> float:
        """A height of the setup's frame as it is measured from the bed, mm."""
        return height - self.bed

    def as_it_lies(self, x: float, y: float) -> tuple[float, float]:
        """Where a place of the blank truly is, as it lies askew, mm in the setup's frame."""
        px, py = turned((x, y), self.zero, self.skew)
        return px + self.zero[0], py + self.zero[1]

    def on_blank(self, x: float, y: float) -> tuple[float, float]:
        """The place of the blank that lies at a place of the machine, mm in the setup's frame: of `as_it_lies`."""
        (turn, shift), (zx, zy, _) = self.skew, self.zero
        px, py = x - zx, y - zy
        back = px * math.cos(turn) + py * math.sin(turn), py * math.cos(turn) - px * math.sin(turn) - shift
        return back[0] + zx, back[1] + zy

    @property
    def touch_top(self) -> float:
        """Height of the blank's top where a bit is set on it: its highest, where it was measured at six places."""
        return self.top if self.found.measured_top is None else self.found.measured_top.highest[1]

    @property
    def flipped(self) -> bool:
        """Whether the work lies on its face."""
        return self.setup.flip is not None

    @property
    def surface(self) -> str:
        """Name of the highest surface in this setup, at `face`, once it is planed."""
        return "back face" if self.flipped else "finished face" if self.setup.stand is None else "upper edge"

    @property
    def faces_away(self) -> bool:
        """Whether a board on edge faces away from the operator: a right-handed one does with its bass edge up."""
        return (self.setup.stand == "bass edge up") == (self.mirror > 0)

    def at_depth(self, depth: float) -> float:
        """Height of a floor at a depth from the plane of the finished face, mm above the blank's underside."""
        return depth if self.flipped else self.glue - depth

    @property
    def centre_at(self) -> float:
        """From the operator's edge of the stock, as it lies, to the centreline, mm."""
        own = self.setup.centre_at
        if own is not None:
            return own
        for other in self.job.setups:
            if not self.apart and other.stock is None and other.centre_at is not None:
                return other.centre_at if other.flip == self.setup.flip else self.stock.width - other.centre_at
        return self.stock.width / 2

    @property
    def skew(self) -> tuple[float, float]:
        """(turn, shift): how the blank lies askew, radians counter-clockwise, and mm across its measured edge.

        A place of the work is turned about the program's zero, then moved square to the edge by the shift.
        """
        if self.setup.skew is None:
            return 0.0, 0.0
        # The machine told the places by its own measure.
        (x0, y0), (x1, y1) = (self.machine.truly(x, y) for x, y in self.setup.skew.points)
        turn = math.atan2(y1 - y0, x1 - x0)
        # The edge was touched before anybody knew that the sides lie aside of each other.
        edge = self.stock_box[1] - (self.zero[1] - self.found.aside[1])
        return turn, -x0 * math.sin(turn) + y0 * math.cos(turn) - edge

    @property
    def stock_box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of the blank in the setup's frame, mm."""
        x0, y0 = -self.setup.nut_at, -self.centre_at
        return (x0, y0, x0 + self.stock.length, y0 + self.stock.width)

    @property
    def mirror(self) -> float:
        """1 where the setup sees the instrument as written, -1 where y is mirrored: turned over, or left-handed."""
        return -1.0 if (self.job.handed == "left") != self.flipped else 1.0

    @property
    def instrument_box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of the blank in instrument coordinates, mm."""
        x0, y0, x1, y1 = self.stock_box
        return (x0, y0, x1, y1) if self.mirror > 0 else (x0, -y1, x1, -y0)

    @property
    def zero(self) -> tuple[float, float, float]:
        """Where the program's zero lies in the setup's frame, mm: beside its place where the two sides are.

        Where the blank was moved along, the zero stays where it is on the machine.
        """
        z = self.setup.zero
        x0, y0, _, _ = self.stock_box
        return (
            (x0 if z.x == "stock end" else 0.0) + self.found.aside[0] + (0.0 if self.lie is None else self.lie.shift),
            (y0 if z.y == "stock edge" else 0.0) + self.found.aside[1],
            self.touch_top if z.z == "stock top" else self.bed,
        )

    def told(self, x: float, y: float) -> tuple[float, float]:
        """The coordinates, mm, that bring this machine to a place of the setup's frame, as the blank lies askew."""
        return self.machine.told(*turned((x, y), self.zero, self.skew))

    @property
    def tolerance(self) -> float:
        """eps of the comparison: 0.02 + chord tolerance + half an output digit, mm."""
        return 0.02 + self.machine.chord_error + self.machine.half_digit


def turned(
    place: tuple[float, float], zero: tuple[float, float, float], skew: tuple[float, float]
) -> tuple[float, float]:
    """A place of a setup's frame in its program's coordinates, mm: shifted across the edge, then turned about zero."""
    (x, y), (turn, shift) = (place[0] - zero[0], place[1] - zero[1]), skew
    if turn == 0.0 and shift == 0.0:
        return x, y
    y += shift
    return x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)


def setup_context_of(
    job: Job,
    machine: Machine,
    wood: Wood,
    setup: Setup,
    folder: Path = Path(),
    jig: Jig | None = None,
    served: tuple[ServedSetup, ...] = (),
    found: FoundInSetup = FoundInSetup(),
) -> SetupContext:
    """The context of one setup, from what it and the earlier ones plane, and from what was measured.

    The plane of the finished face is the lowest that any unturned setup planes, else the blank's top.
    Turned over, the work lies on that plane; it is as thick as the face is high, less what earlier turned setups plane.
    """
    machine = found.machine or machine
    if setup.stock is not None:
        thick = setup.stock.thickness
        return SetupContext(job, machine, wood, setup, thick.max, thick.min, thick.max, thick.max, folder)
    thickness = job.stock.thickness
    glue = min([thickness.max, *(leave for s in job.setups if s.flip is None for leave in planed_to(s))])
    earlier = [s for s in job.setups[: job.setups.index(setup)] if s.flip == setup.flip]
    already = [leave for s in earlier for leave in planed_to(s)]
    top, least = thickness.max, thickness.min
    if setup.flip is not None and glue < top:
        top = least = glue
    if already:
        top = least = min([*already, top])
    face = min([top, *planed_to(setup)])
    return SetupContext(job, machine, wood, setup, top, least, face, glue, folder, jig, served, found)


def planed_to(setup: Setup) -> list[float]:
    """Heights at which it planes the whole face, mm."""
    heights = (planed_height(feature) for feature in setup.features)
    return [height for height in heights if height is not None]


def planed_height(feature: FeatureKeys) -> float | None:
    """Height at which a feature planes the whole face, mm; None where it does not."""
    return float(getattr(feature, "leave")) if CutKind.face in feature.cuts else None  # noqa: B009
