"""The base of a jig's holes: places from the jobs that it serves, as seen at the machine, and how deep they may go."""

from __future__ import annotations

import math
from abc import abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, Units, show
from toolpaths.features.bored_feature import Hole, RoundHoles
from toolpaths.features.fits import Fit
from toolpaths.features.hole_rules import floor_at, must_suit, point_of
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.jig import STAYS_UNDER, ServedSetup
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation
from toolpaths.target_shape.demand import Demand

SAME = 0.01
"""Places and diameters that differ by no more are one hole, mm."""


@dataclass(frozen=True, slots=True)
class JigHole:
    """One hole of a jig as seen at the machine, mm; `of`: the setups that it serves."""

    x: float
    y: float
    diameter: float
    of: tuple[str, ...]

    def same(self, other: JigHole) -> bool:
        """Whether the two are one hole."""
        near = math.dist((self.x, self.y), (other.x, other.y)) <= SAME
        return near and abs(self.diameter - other.diameter) <= SAME

    def overlaps(self, other: JigHole) -> bool:
        """Whether no wood stays between the two."""
        return math.dist((self.x, self.y), (other.x, other.y)) < (self.diameter + other.diameter) / 2 + SAME

    def words(self, units: Units) -> str:
        """Where it is, and whose."""
        return f"x {show(self.x, units)}, y {show(self.y, units)} ({'; '.join(self.of)})"


class JigHoles(RoundHoles):
    """Round holes in a jig, each as deep below its seat."""

    piece = "jig"
    hole: ClassVar[CutKind]
    """What its holes are."""
    word: ClassVar[str]
    """What one of them is for: `pin` 1."""
    stage = Stage.before
    within = (0.0, 0.05)

    depth: Size = Field(description="Depth below the jig's seat.")

    @abstractmethod
    def asked(self, context: SetupContext) -> Iterator[JigHole]:
        """The holes that the served jobs ask for, equal ones too. Raises FeatureError where one cannot be."""

    def holes(self, context: SetupContext) -> list[JigHole]:
        """Every hole once. Raises FeatureError where there is none, or where two overlap."""
        served(context)
        out = joined(self.asked(context))
        if not out:
            raise FeatureError(f"no job that lies on this jig needs a {self.word}", f"leave `{self.key}` out")
        _must_not_overlap([(self, hole) for hole in out], context)
        return out

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc at each place, that deep below the seat."""
        bit = context.bits[self.bit]
        for number, hole in enumerate(self.holes(context), 1):
            place = seen(hole, context)
            yield replace(
                self._disc(context, self.hole, f"{self.word} {number}", place, self.depth),
                floor=floor_at(bit, place[:2], context.seat.height - self.depth, through=False),
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Bores from the surface that stands there: the seat's floor, or the jig's top."""
        bit, units, holes = context.bits[self.bit], context.job.units, self.holes(context)
        must_suit(self.bit, bit, [hole.diameter for hole in holes], units)
        floor = must_stay(context, self.depth, point_of(bit))
        named = [(f"{self.word} {number}", hole) for number, hole in enumerate(holes, 1)]
        tops = [surface_at(context, hole) for hole in holes]
        for top in sorted(set(tops)):
            mine = [one for one, own in zip(named, tops, strict=True) if own == top]
            bore = self._bore(context, [seen(hole, context) for _, hole in mine], "", top, floor)
            yield replace(bore, names=tuple(name for name, _ in mine))

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """No fits: a jig is not made of the job's wood."""
        return iter(())


def served(context: SetupContext) -> tuple[ServedSetup, ...]:
    """How blanks lie on the jig. Raises FeatureError in a job that makes none."""
    if context.job.part != "jig":
        raise FeatureError("this job does not make a jig", "put it into a job with `part: jig`")
    return context.served


def must_stay(context: SetupContext, depth: float, point: float = 0.0) -> float:
    """Height of a tip at a depth below the seat, mm. Raises FeatureError where too little of the jig stays under it."""
    floor, units = context.seat.height - depth - point, context.job.units
    if floor < STAYS_UNDER - 1e-9:
        raise FeatureError(
            f"only {show(max(floor, 0.0), units)} of the jig would be left under it; {show(STAYS_UNDER, units)} "
            "must stay "
            "above its screws and the bed",
            f"make it at most {show(context.seat.height - STAYS_UNDER - point, units)} deep, or take a thicker jig",
            "depth",
        )
    return floor


def surface_at(context: SetupContext, hole: JigHole, beside: float = 0.0) -> float:
    """Height of the jig where a hole is bored, mm: its seat where all of the hole lies in that, else its top."""
    seat, r = context.seat, hole.diameter / 2 + beside
    inside = seat.box is not None and seat.holds((hole.x - r, hole.y - r, hole.x + r, hole.y + r))
    return seat.height if inside else context.face


def seen(hole: JigHole, context: SetupContext) -> Hole:
    """A hole in instrument coordinates, of which the setup is a view."""
    return hole.x, context.mirror * hole.y, hole.diameter


def holes_in(context: SetupContext, *, before: JigHoles | None = None) -> list[tuple[JigHoles, JigHole]]:
    """All holes of a jig's setup, or those of the features before one; those that are refused left out."""
    out: list[tuple[JigHoles, JigHole]] = []
    for feature in context.setup.features:
        if before is not None and feature.name == before.name:
            break
        if isinstance(feature, JigHoles):
            try:
                out += [(feature, hole) for hole in joined(feature.asked(context))]
            except FeatureError:
                continue
    return out


def joined(holes: Iterator[JigHole]) -> list[JigHole]:
    """Equal holes once, with the names of all that they serve."""
    out: list[JigHole] = []
    for hole in holes:
        for i, known in enumerate(out):
            if known.same(hole):
                out[i] = replace(known, of=tuple(dict.fromkeys([*known.of, *hole.of])))
                break
        else:
            out.append(hole)
    return out


def _must_not_overlap(own: Sequence[tuple[JigHoles, JigHole]], context: SetupContext) -> None:
    feature, units = own[0][0], context.job.units
    for i, (_, hole) in enumerate(own):
        for other, known in (*own[:i], *holes_in(context, before=feature)):
            if hole.overlaps(known):
                raise FeatureError(
                    f"the {feature.word} at {hole.words(units)} and the {other.word} at {known.words(units)} overlap",
                    "move one of them in its own job, or give both the same place and diameter",
                )
