"""`seat`: a level pocket in a jig that a blank lies in, its corners relieved so that square ones go in."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely import box

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import show
from toolpaths.features.feature import Feature
from toolpaths.features.jig_holes import must_stay, served
from toolpaths.features.pockets import cleared
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Area, Loop
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.jig import Box, SeatKeys
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation
from toolpaths.target_shape.demand import Demand, Level

RELIEF = 1.1
"""Radius of the relief in a corner, in radii of the bit that cuts it: room for a skim. Common practice, no source."""
_WALL = 5.0
"""What stays of the jig beside its seat, mm. Common practice, no source."""


class Seat(SeatKeys, Feature):
    """A pocket for a blank; its floor is the plane that all blanks of the jig lie on."""

    key = "seat"
    piece = "jig"
    cuts = frozenset({CutKind.seat})
    stage = Stage.before
    order = "face"
    lies = "anywhere"
    leaves = "the seat"

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The box of the blank with its room, and a round at each corner; level at the depth."""
        (x0, y0, x1, y1), bit = self._box(context), context.bits[self.bit]
        relief = RELIEF * bit.cut_diameter / 2
        inner = relief / math.sqrt(2)
        rounds = [
            Loop.circle(x + sx * inner, y + sy * inner, relief).shape()
            for x, sx in ((x0, 1), (x1, -1))
            for y, sy in ((y0, 1), (y1, -1))
        ]
        yield Demand(
            *self.demand_head(context, "seat"),
            kind=CutKind.seat,
            asked=shapely.union_all([box(x0, y0, x1, y1), *rounds]),
            floor=Level(context.seat.height),
            radius=bit.radius,
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Cleared from the middle outwards, then the walls with their rounds."""
        must_stay(context, 0.0)
        area = Area(_relieved(self._box(context), RELIEF * context.bits[self.bit].cut_diameter / 2), (), "seat")
        yield from cleared(self, None, [area], context, (context.face, context.seat.height), "the seat")

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Whether the blank goes in."""
        units = context.job.units
        yield Handwork(
            self.name,
            f"Try the {self.of}'s blank in the seat. It must go down without force, and must not rock. It has "
            f"{show(self.room, units)} of play in all: stops or pins keep it in its place.",
            stage=Stage.off_router,
        )

    def _box(self, context: SetupContext) -> Box:
        """The pocket in instrument coordinates. Raises FeatureError where blanks do not lie in it, or it in the jig."""
        ones, units = served(context), context.job.units
        if any(isinstance(f, Seat) and f.name != self.name for s in context.job.setups for f in s.features):
            raise FeatureError("a jig has only one seat", "make it for the larger blank: the other lies in it too")
        found = context.seat.box
        if found is None:
            raise FeatureError(
                f"no {self.of} lies on this jig",
                f"name its job at the top: `for: {{{self.of}: my-{self.of}.yaml}}`",
                "for",
            )
        for one in ones:
            if not context.seat.holds(one.box):
                raise FeatureError(
                    f"the blank of {one.name} does not fit into the {self.of}'s seat and would lie on its rim",
                    f"write `for: {one.part}` if that blank is the larger one; else change its `nut_at`, or "
                    "leave it out",
                    "for",
                )
        x0, y0, x1, y1 = context.stock_box
        most = min(found[0] - x0, found[1] - y0, x1 - found[2], y1 - found[3])
        if most < _WALL:
            raise FeatureError(
                f"only {show(max(most, 0.0), units)} of the jig would be left beside it; {show(_WALL, units)} "
                "must stay",
                "make the jig longer or wider, or change its `nut_at` or `centre_at`",
            )
        ax0, ay0, ax1, ay1 = found
        return found if context.mirror > 0 else (ax0, -ay1, ax1, -ay0)


def _relieved(whole: Box, radius: float) -> Loop:
    """A rectangle whose corners are half circles through them, so that a square corner goes in."""
    (x0, y0, x1, y1), far = whole, radius * math.sqrt(2)
    points = [
        (x0, y0 + far), (x0 + far, y0), (x1 - far, y0), (x1, y0 + far),
        (x1, y1 - far), (x1 - far, y1), (x0 + far, y1), (x0, y1 - far),
    ]  # fmt: skip
    return Loop(np.array(points), np.array([1.0, 0.0] * 4))
