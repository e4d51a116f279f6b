"""The base of features that bore round holes: places, demands, the operation, a backing, the coupon's piece."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar

import numpy as np
from pydantic import BeforeValidator, Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size, show
from toolpaths.features.feature import Feature
from toolpaths.features.fits import Fit, hole_fit
from toolpaths.features.hole_rules import BACKING, floor_at, hole_floor, must_suit, tip_at
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.headstocks import wood_top
from toolpaths.instrument.places import x_of
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import HolePlace, place_of
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Bore, Operation
from toolpaths.target_shape.demand import Demand

Hole = tuple[float, float, float]
"""(x, y, diameter), mm."""


Places = Annotated[tuple[Annotated[HolePlace, BeforeValidator(place_of)], ...], AsTuple]


class RoundHoles(Feature):
    """Round holes, wherever they are."""

    title: ClassVar[str]
    """Of its operation, in the program."""
    lies = "anywhere"

    def _disc(self, context: SetupContext, kind: CutKind, name: str, hole: Hole, depth: float | None) -> Demand:
        (x, y, d), bit, through = hole, context.bits[self.bit], depth is None
        return Demand(
            *self.demand_head(context, name),
            kind=kind,
            asked=Loop.circle(x, y, d / 2).shape(),
            floor=floor_at(bit, (x, y), context.at_depth(depth or 0.0), through=through),
            radius=bit.radius,
            reach=context.breakthrough if through else 0.0,
        )

    def _bore(self, context: SetupContext, holes: list[Hole], name: str, top: float, floor: float) -> Bore:
        return Bore(
            *self.operation_head(context, self.title, floor, top=top),
            centres=np.asarray([(x, y) for x, y, _ in holes], dtype=np.float64),
            diameters=np.asarray([d for _, _, d in holes], dtype=np.float64),
            names=tuple(name.format(i) for i in range(1, len(holes) + 1)),
        )

    def _backing(self, context: SetupContext) -> Handwork:
        """What must be under holes that go through. A backing that the job does not know would make every Z wrong."""
        deep, units, backing = context.breakthrough, context.job.units, context.setup.under.backing
        if backing:
            into = show(deep - context.setup.under_thickness + backing, units)
            words = (
                f"the backing of {show(backing, units)} must lie flat under all the holes, so that they do not break "
                f"out below. The bit goes {into} into it."
            )
        else:
            words = (
                "the bed under the holes must be flat waste wood, so that they do not break out below. The bit goes "
                f"{show(deep, units)} below the blank. If you lay a backing on the bed, first set `under: {{backing: "
                "...}` in this setup to its thickness, and write the programs again."
            )
        return Handwork(self.name, f"Before setup {context.setup.name}: {words}", when="before the setup")


class BoredFeature(RoundHoles):
    """Round holes of one kind, through unless a depth is given."""

    hole: ClassVar[CutKind]
    """What its holes are."""
    word: ClassVar[str]
    """What one of them is called: `tuner` 1."""
    stage = Stage.holes
    within = (0.0, 0.05)

    at: Places | None = Field(min_length=1, max_length=200, description="Places of the holes, as in `pin_bores`.")
    diameter: Size | None = Field(default=None, description="Diameter of all holes that do not have their own.")
    depth: Size | None = Field(
        default=None, description="Depth below the plane of the finished face; through if absent."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc of each diameter, to the depth or through to the bed."""
        for i, hole in enumerate(self._holes(context), 1):
            yield self._disc(context, self.hole, f"{self.word} {i}", hole, self.depth)

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Helical bores, from the lowered face where the headstock has one; straight down where the bit fills them."""
        bit, holes = context.bits[self.bit], self._holes(context)
        must_suit(self.bit, bit, [d for _, _, d in holes], context.job.units)
        tops = [wood_top(context, x, d / 2, y) for x, y, d in holes]
        floor = hole_floor(context, self.depth, min(tops))
        tip = tip_at(bit, floor, context.job.units, through=self.depth is None)
        yield self._bore(context, holes, f"{self.word} {{}}{self._after}", max(tops), tip)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """A backing before through holes."""
        if self.depth is None:
            yield self._backing(context)

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """A hole of each diameter."""
        for d in dict.fromkeys([p.diameter or self.diameter for p in self.at or ()] or [self.diameter]):
            if d is not None:
                yield hole_fit(self, bit, self.word, f"bore for a {self.word}", d, self.depth)

    @property
    def _after(self) -> str:
        return f", through, {BACKING}" if self.depth is None else ""

    def _holes(self, context: SetupContext) -> list[Hole]:
        """(x, y, diameter) of each, mm. Raises FeatureError for one without a diameter."""
        out: list[Hole] = []
        for place in self.at or ():
            d = place.diameter or self.diameter
            if d is None:
                raise FeatureError("a hole has no diameter", "give `diameter` once, or with each place", "at")
            out.append((x_of(place.x, context.job.instrument, "at"), place.y, d))
        return out
