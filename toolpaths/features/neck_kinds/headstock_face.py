"""`headstock_face`: the headstock lower than the glue face, from a wall at the nut to the blank's end."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

import shapely
from pydantic import BeforeValidator, Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import box_polygon
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.operation import Operation, Rebate
from toolpaths.target_shape.demand import ArcFloor, Demand, Level

LAST_SKIM = 0.3
"""Thickest last skim of a planed face, mm. Common practice, no source."""
STAIR = 0.05
"""Highest step that the passes across leave in the ramp, mm."""
_BEYOND = 1.0
"""The way off the blank is free over the bit's width and so much more, mm."""


def _level_head(value: Any) -> Any:
    raise ValueError(
        "tilted-back headstocks are not cut by this tool: leave `angle` out for a level headstock; "
        "a tilted one needs a scarf joint or a tilted fixture"
    )


class HeadstockFace(Feature):
    """Take the headstock's face down below the glue face."""

    key = "headstock_face"
    cuts = frozenset({CutKind.step})
    stage = Stage.off_router
    lies = "anywhere"
    order = "face"

    leaves = "the headstock's face"

    drop: Size = Field(description="How far below the glue face.")
    start: AlongNeck = Field(alias="from", description="Where its wall stands, from the nut line; negative.")
    ramp: Size | None = Field(default=None, description="Length of an arc up to the wall; an upright wall if absent.")
    angle: Annotated[Any, BeforeValidator(_level_head)] = Field(default=None, description="Not cut by this tool.")

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The blank left of the wall, at the drop below the glue face; open to the end and to both sides."""
        x0, y0, x1, y1 = context.instrument_box
        wall, radius = min(self._wall(context), x1), context.bits[self.bit].radius
        asked, off = box_polygon(x0, y0, wall, y1), 2 * radius + _BEYOND
        z = context.at_depth(self.drop)
        ramp = self.ramp and ArcFloor(wall - 2 * self.ramp, wall, z + self.drop, z, rising=True)
        yield Demand(
            *self.demand_head(context, "headstock face"),
            kind=CutKind.step,
            asked=asked,
            floor=ramp or Level(z),
            radius=radius,
            run_out=shapely.difference(box_polygon(x0 - off, y0 - off, wall, y1 + off), asked),
            scallop=0.0 if self.ramp is None else STAIR,
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Level passes along the grain up to the wall, which is skimmed last; a ramp in passes across."""
        units = context.machine.units
        self._must_be_possible(context)
        x0, y0, _, y1 = context.instrument_box
        stair = "" if self.ramp is None else f", its ramp in steps of at most {show(STAIR, units)}"
        yield Rebate(
            *self.operation_head(
                context,
                f"the headstock {show(self.drop, units)} below the glue face{stair}",
                context.at_depth(self.drop),
            ),
            box=(x0, y0, self._wall(context), y1),
            face=context.glue,
            skim=LAST_SKIM,
            ramp=self.ramp or 0.0,
            stair=STAIR,
        )

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Sanding the steps of the ramp."""
        if self.ramp is None:
            return
        height = show(STAIR, context.job.units)
        yield Handwork(self.name, f"Sand the ramp behind the nut: it is left in steps of at most {height}.")

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """The drop, at the foot of the wall or of its ramp."""
        at = (self._wall(context) - (self.ramp or 0.0) - 2 * STAIR, 0.0)
        depth = near.depth(context, near.own(context, self)[0], at, (1.0, 0.0), self.within_depth)
        return [] if depth is None else [Measure(f"from {depth.surface} down to the headstock's face", (depth,))]

    def _wall(self, context: SetupContext) -> float:
        return x_of(self.start, context.job.instrument, "from")

    def _must_be_possible(self, context: SetupContext) -> None:
        units, wall = context.job.units, self._wall(context)
        x0, _, _, _ = context.instrument_box
        must_be_flat(self.bit, context.bits[self.bit], "it cannot plane", units)
        if context.flipped:
            raise FeatureError(
                "the headstock's face is on the glue face's side", "cut it in the setup that is not turned"
            )
        if wall > 0:
            raise FeatureError("the wall would stand under the board", "give an x of 0 or less", "from")
        if wall <= x0:
            raise FeatureError("no wood lies beyond it", f"the blank begins at {show(x0, units)}", "from")
        left = context.at_depth(self.drop)
        if left <= 0:
            raise FeatureError("the drop takes all the wood", f"{show(context.glue, units)} are there", "drop")
        head = None if context.job.instrument.neck is None else context.job.instrument.neck.headstock
        if head is not None and left < head.thickness - 1e-6:
            raise FeatureError(
                f"{show(left, units)} would be left, and the headstock is to be {show(head.thickness, units)} thick",
                "a thicker blank, or a smaller drop",
                "drop",
            )
        if self.ramp is not None and self.ramp < self.drop:
            raise FeatureError("the ramp is shorter than the drop is deep", "make it at least as long", "ramp")
        if self.ramp is not None and wall - self.ramp <= x0:
            raise FeatureError("the ramp reaches past the blank's end", "make it shorter", "ramp")
