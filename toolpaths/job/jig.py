"""What a jig's job reads of the jobs that it serves, and what those read of their jig.

A jig lies on the bed and stays; x counts from the nut line and y from the centreline, which board, neck and jig share.
All places are as seen at the machine, mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from pydantic import Field

from toolpaths.common.units import Depth, Size
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.holders import Screws
from toolpaths.job.job import Job
from toolpaths.job.obstacles import Obstacle, ObstacleKind, Present
from toolpaths.job.stock import KeepOut

Box = tuple[float, float, float, float]
Part = Literal["board", "neck"]

STAYS_UNDER = 5.0
"""What stays of a jig under everything that is cut into it, mm: below are its own screws and the bed. Common
practice, no source."""
_SAME = 1e-6


class SeatKeys(FeatureKeys):
    """The keys of a jig's seat: whose blank it is as large as, how deep, and how much larger than the blank."""

    of: Part = Field(
        alias="for", description="Whose blank lies in it, `board` or `neck`: the longest and widest blank of that job."
    )
    depth: Size = Field(description="Depth below the jig's planed face.")
    room: Depth = Field(default=1.0, description="How much longer and wider than the blank it is, in total.")


@dataclass(frozen=True, slots=True)
class ServedSetup:
    """One way in which a board's or a neck's blank lies on the jig.

    `box`: x0, y0, x1, y1 of the blank; `pins`: x, y, diameter of each.
    """

    part: Part
    setup: str
    box: Box
    pins: tuple[tuple[float, float, float], ...]
    screws: tuple[Screws, ...]
    stops: tuple[KeepOut, ...]

    @property
    def name(self) -> str:
        """What it is called: `neck, back`."""
        return f"{self.part}, {self.setup}"

    @property
    def cut(self) -> tuple[object, ...]:
        """All of it that a program of the jig may depend on, plain."""
        screws = [(group.at, group.diameter, group.into_bed) for group in self.screws]
        return self.name, self.box, self.pins, screws, [(stop.x, stop.y) for stop in self.stops]


@dataclass(frozen=True, slots=True)
class Seat:
    """The plane that blanks lie on, mm above the jig's underside; `box` of its pocket, None without one."""

    height: float
    box: Box | None = None

    def holds(self, box: Box, by: float = 0.0) -> bool:
        """Whether a box lies in the pocket by so much on all sides; everywhere where there is none."""
        if self.box is None:
            return True
        (x0, y0, x1, y1), (px0, py0, px1, py1) = box, self.box
        return px0 + by <= x0 + _SAME and py0 + by <= y0 + _SAME and x1 <= px1 - by + _SAME and y1 <= py1 - by + _SAME


@dataclass(frozen=True, slots=True)
class Jig:
    """The jig under a blank.

    `job_hash`: of its job; `under`: what of it is under the blank, `rise`: how far its planed top stands above its
    seat; `obstacles`: what stands on it, heights above the seat. mm.
    """

    title: str
    job_hash: str
    box: Box
    under: float
    rise: float
    obstacles: tuple[Obstacle, ...]


def seat_of(job: Job, served: Sequence[ServedSetup], face: float) -> Seat:
    """The seat of a jig whose planed face is so high, mm."""
    for setup in job.setups:
        for feature in setup.features:
            if isinstance(feature, SeatKeys):
                boxes = [one.box for one in served if one.part == feature.of]
                return Seat(face - feature.depth, _around(boxes, feature.room / 2) if boxes else None)
    return Seat(face)


def walls_of(seat: Seat, whole: Box, face: float) -> Iterator[Obstacle]:
    """What stands of the jig around its seat, as obstacles that those see whose blank lies on it."""
    if seat.box is None:
        return
    rise = face - seat.height
    (x0, y0, x1, y1), (a, b, c, d) = seat.box, whole
    for box in ((a, b, x0, d), (x1, b, c, d), (x0, b, x1, y0), (x0, y1, x1, d)):
        if box[0] < box[2] and box[1] < box[3]:
            yield Obstacle(ObstacleKind.keep_out, "wall of the jig's seat", box, rise, of_jig=True)


def on_seat(it: Obstacle, seat: Seat) -> Obstacle:
    """What stands on a jig, as those see it whose blank lies on its seat."""
    name = f"the jig's {it.name}"[:60]
    return replace(it, name=name, top=it.top - seat.height, present=Present.always, of_jig=True)


def _around(boxes: Sequence[Box], by: float) -> Box:
    """The box around boxes, by so much wider on every side."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0) - by, min(y0) - by, max(x1) + by, max(y1) + by
