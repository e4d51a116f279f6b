"""`plane`: the blank taken down to its finished thickness, all over."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Depth, Size, show
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.blank_top import places_of
from toolpaths.geometry.loop import box_polygon
from toolpaths.instrument.handwork.handwork import Measure
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.depth_of_cut import LAST_SKIM
from toolpaths.operations.operation import Operation, Raster
from toolpaths.target_shape.demand import Demand, Level

MOST = 20.0
"""Most that is planed off, mm: more is a slip, or work for a saw. Common practice, no source."""


class Plane(Feature):
    """Plane the whole blank to a thickness."""

    key = "plane"
    cuts = frozenset({CutKind.face})
    on_jig = True
    stage = Stage.off_router
    lies = "anywhere"
    order = "face"

    leave: Size = Field(description="Thickness of the wood that stays, from the bed up.")
    skim: Depth = Field(default=LAST_SKIM, le=1.0, description="Depth of the last skim.")

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The whole blank at the height `leave`; beside the blank cutting is allowed."""
        yield Demand(
            *self.demand_head(context, "face"),
            kind=CutKind.face,
            asked=box_polygon(*context.instrument_box),
            floor=Level(self.leave),
            radius=context.bits[self.bit].radius,
            everywhere=True,
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Level passes along the grain, from above the highest measured point."""
        bit = context.bits[self.bit]
        cutting = self.settled(context)
        if bit.shape == "bull":
            self._refuse_ridges(bit, cutting.step_over, context)
        else:
            must_be_flat(self.bit, bit, "it cannot plane", context.job.units)
        if self.leave > context.top:
            raise FeatureError(
                f"{show(self.leave, context.job.units)} cannot be left of {show(context.top, context.job.units)}",
                "leave less than the blank's thickness",
                "leave",
            )
        if context.top - self.leave > MOST:
            raise FeatureError(
                f"it would take {show(context.top - self.leave, context.job.units)} off the blank; "
                f"{show(MOST, context.job.units)} is the most",
                "check the blank's thickness and `leave`; saw a thicker blank thinner first",
                "leave",
            )
        title = f"plane the blank to {show(self.leave, context.machine.units)}"
        raster = Raster(
            *self.operation_head(context, title, self.leave, top=context.top),
            box=context.instrument_box,
            skim=self.skim,
        )
        # What the tables show as the skim is the last level here, and not what is left along a wall.
        yield replace(raster, cutting=replace(raster.cutting, finish_allowance=self.skim))

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """The planed face at its corners, where nothing has been cut deeper since.

        Its height above the bed where Z counts from there: what lies under the blank unseen is in its thickness, but
        not in how high the face stands, and calipers do not get under a blank that is held. Else its thickness.
        """
        left_near, _, right_near, left_far, _, right_far = places_of(context.stock_box)
        corners = (
            (left_near, "left end, edge on your side"),
            (left_far, "left end, far edge"),
            (right_near, "right end, edge on your side"),
            (right_far, "right end, far edge"),
        )
        own = [(at, where) for at, where in corners if abs(near.top(context, at)[0] - self.leave) < 1e-6] or corners
        if context.setup.zero.z == "stock top":
            what = "thickness once planed"
            rows = [(near.thickness(context, at, self.within), where) for at, where in own]
        else:
            what = f"planed face above the {'bed' if context.jig is None else 'seat of the jig'}"
            rows = [(near.height(context, at, self.within), where) for at, where in own]
        return [Measure(what, (figure,), where=where) for figure, where in rows]

    def _refuse_ridges(self, bit: Bit, step_over: float, context: SetupContext) -> None:
        """Refuse passes of a bull bit so far apart that ridges stay. It leaves no wall, so its flat may plane."""
        level, units = 2 * bit.level_radius, context.job.units
        if step_over * bit.cut_diameter > level + 1e-9:
            raise FeatureError(
                f"{self.bit} is a bull bit, flat over {show(level, units)}: passes "
                f"{show(step_over * bit.cut_diameter, units)} apart would leave ridges between them",
                f"give a `step_over` of at most {math.floor(100 * level / bit.cut_diameter) / 100:.2f}, or take "
                "a flat bit",
                "step_over",
            )
