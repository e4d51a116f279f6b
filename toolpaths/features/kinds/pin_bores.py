"""`pin_bores`: round holes for locating pins, in waste or in the part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np
from pydantic import BeforeValidator, Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size
from toolpaths.features.bored_feature import BoredFeature
from toolpaths.features.hole_rules import must_suit, tip_at
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Area, Loop
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import PinPlace, place_of
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Clear, Operation
from toolpaths.target_shape.demand import Demand


class PinBores(BoredFeature):
    """Holes for locating pins, through the blank unless a depth is given."""

    key = "pin_bores"
    cuts = frozenset({CutKind.pin_hole})
    hole = CutKind.pin_hole
    word = "pin"
    title = "holes for the locating pins"
    stage = Stage.glue

    at: Annotated[tuple[Annotated[PinPlace, BeforeValidator(place_of)], ...], AsTuple] = Field(
        min_length=1,
        max_length=200,
        description=(
            "Places of the holes: `[[x, y], ...]` or `[{x: -8, y: 0, diameter: 4}, ...]`; an x may be a fret: "
            "`fret 14`."
        ),
    )
    diameter: Size | None = Field(default=None, description="Diameter of all holes that do not have their own.")
    depth: Size | None = Field(default=None, description="Depth below the finished face; through the blank if absent.")

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc of each diameter, drawn out along x by its relief, to the depth or through to the bed."""
        for found, (x, y, d), place in zip(super().demands(context), self._holes(context), self.at, strict=True):
            yield replace(found, asked=_shape(x, y, d, place.relief).shape())

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Helical bores; straight down where the bit is as wide as the hole and may."""
        bit, units = context.bits[self.bit], context.job.units
        holes = self._holes(context)
        must_suit(self.bit, bit, [d for _, _, d in holes], units)
        if bit.shape == "drill" and any(place.relief > 0 for place in self.at):
            raise FeatureError(
                f"{self.bit} is a drill and makes round holes only, and one hole has a `relief`",
                "take a flat bit",
                "bit",
            )
        if self.depth is not None and self.depth > context.face:
            raise FeatureError(
                "the holes are deeper than the board is thick", "leave `depth` out for through holes", "depth"
            )
        floor = -context.breakthrough if self.depth is None else context.at_depth(self.depth)
        round_ones = [(i, h) for i, (h, p) in enumerate(zip(holes, self.at, strict=True), 1) if p.relief == 0]
        long_ones = [(i, h, p.relief) for i, (h, p) in enumerate(zip(holes, self.at, strict=True), 1) if p.relief > 0]
        if round_ones:
            tip = tip_at(bit, floor, units, through=self.depth is None)
            bore = self._bore(context, [h for _, h in round_ones], "", context.face, tip)
            yield replace(bore, names=tuple(f"pin {i}" for i, _ in round_ones))
        if long_ones:
            yield Clear(
                *self.operation_head(context, "longer holes for the locating pins", floor),
                areas=tuple(Area(_shape(*h, r), (), f"pin {i}, longer along X") for i, h, r in long_ones),
            )

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """Width and depth, and how far apart the two farthest are."""
        return [*near.cuts(context, self), *near.apart(context, self)]

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Nothing: pins are set when the work is turned or glued."""
        return iter(())


def _shape(x: float, y: float, diameter: float, relief: float) -> Loop:
    """A circle, or one drawn out along x by the relief."""
    r, half = diameter / 2, relief / 2
    if relief == 0:
        return Loop.circle(x, y, r)
    points = np.array([(x - half, y - r), (x + half, y - r), (x + half, y + r), (x - half, y + r)])
    return Loop(points, np.array([0.0, 1.0, 0.0, 1.0]))
