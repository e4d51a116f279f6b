"""The waste board's face skimmed level, made and judged like a feature of a job. No job file can ask for it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import marked, show, size
from toolpaths.features.feature import Feature
from toolpaths.geometry.loop import box_polygon
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.job.stock import KeepOut
from toolpaths.operations import limit_words as words
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.operation import Cutting, KeptClear, Operation, Skim
from toolpaths.target_shape.demand import Demand, Level

LEVEL = 0.3
"""The most that one level takes, mm. Common practice, no source."""
STEP_OVER = 0.6
"""Between rows, in parts of the bit's diameter. 0.4 to 0.7 is common practice, no source."""
_SEGS = 192
_HAIR = 0.005
"""More than the clearance by so much: round corners are arcs found again, and numbers are rounded. mm."""
_SLIVER, _DOUBT = 0.1, 0.5
"""What is narrower than twice the first comes of rounding in the library that draws rings around shapes; within the
second beside a place too narrow for the bit, hairs of its diameter decide how far it comes in. mm."""

SCREWS = 2.0
"""No screw may lie nearer than this below the new surface, mm."""

Box = tuple[float, float, float, float]


class SkimBoard(Feature):
    """The whole area of the setup's board taken down by `take`, but for what its setup keeps out of.

    `past`: how far the bit's middle goes past the area in X and in Y, negative where it stays inside; mm.
    """

    key = "skim"
    cuts = frozenset({CutKind.trial})
    stage = Stage.off_router
    lies = "on machine"
    piece = "sheet"
    says = (
        "Take all work and all clamps off first. The bit goes round the listed obstacles only.",
        f"Every screw of the waste board must lie at least {marked(SCREWS)} below the new surface. Look first.",
        "The blank is the area to skim. Set X and Y zero at its left front corner, Z zero where it is highest.",
        "The real thickness of the waste board does not matter: heights above the bed count with the one given here.",
    )

    take: float
    along: Literal["x", "y"]
    past: tuple[float, float]

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The area, level; less what is kept clear and the clearance round it. Where the bit does not get, none."""
        free = self._free(context)
        area = box_polygon(*context.stock_box)
        yield Demand(
            *self.demand_head(context, "the waste board"),
            kind=CutKind.trial,
            asked=area.intersection(free),
            floor=Level(context.at_depth(self.take)),
            radius=context.bits[self.bit].radius,
            run_out=free.difference(area),
            relaxed=self._narrow(context).buffer(_DOUBT, quad_segs=_SEGS),
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Rows over the area, level by level. Raises FeatureError for a bit that is not flat."""
        bit = context.bits[self.bit]
        must_be_flat(self.bit, bit, "it cannot skim a board level", context.job.units)
        what = f"skim the waste board, in all {show(self.take, context.machine.units)}"
        head = self.operation_head(context, what, context.at_depth(self.take))
        clear = tuple(KeptClear(_box(kept), self.stays(context, kept)) for kept in context.setup.keep_out)
        skim = Skim(*head, box=self._way(context), along=self.along, clear=clear)
        yield replace(skim, cutting=self._light(skim.cutting, context))

    def standing(self, context: SetupContext) -> list[BaseGeometry]:
        """What the bit cannot reach of the area, piece by piece, what is kept clear among it; mm."""
        area = box_polygon(*context.stock_box)
        left = area.difference(self._free(context)).union(self._narrow(context).intersection(area))
        # Joined where they touch.
        joined = left.buffer(1e-3).buffer(-1e-3)
        return [part for part in shapely.get_parts(joined) if part.area > 1.0]

    def stays(self, context: SetupContext, kept: KeepOut) -> float:
        """How far the bit's middle stays from something, mm: nothing that turns comes nearer than the clearance,
        from beside or from above. Worked out here on its own: what judges the program has another way.
        """
        bit, collet, near = context.bits[self.bit], context.machine.collet, context.setup.clearance
        height = kept.height + near - context.at_depth(self.take)
        widest = bit.radius
        if height > bit.cutting_length:
            widest = max(widest, bit.shank / 2)
        if height > bit.stickout:
            widest = max(widest, collet.nut_diameter / 2)
        if height > bit.stickout + collet.nut_height:
            widest = max(widest, collet.holder_diameter / 2)
        return widest + near + _HAIR + context.machine.chord_error

    def _way(self, context: SetupContext) -> Box:
        """The box of the bit's middle."""
        x0, y0, x1, y1 = context.stock_box
        x, y = self.past
        return x0 - x, y0 - y, x1 + x, y1 + y

    def _free(self, context: SetupContext) -> BaseGeometry:
        """All that lies under the way of the bit, on the area and past it, but for the clearance round the boxes."""
        free: BaseGeometry = box_polygon(*self._way(context)).buffer(context.bits[self.bit].radius, quad_segs=_SEGS)
        return free.difference(self._kept(context, -context.bits[self.bit].radius))

    def _narrow(self, context: SetupContext) -> BaseGeometry:
        """What of that no disc as wide as the bit covers, because it does not go in between."""
        bit = context.bits[self.bit]
        room = box_polygon(*self._way(context)).difference(self._kept(context, 0.0))
        reached = room.buffer(bit.radius, quad_segs=_SEGS)
        narrow = self._free(context).difference(reached)
        # With its tips between wall and disc: one as thin as a sliver is sqrt(2 r t) long at most.
        tips = math.sqrt(2 * bit.radius * 2 * _SLIVER) + 2 * _SLIVER
        return narrow.buffer(-_SLIVER).buffer(_SLIVER + tips).intersection(narrow)

    def _kept(self, context: SetupContext, more: float) -> BaseGeometry:
        """Round each box as far as the bit's middle stays away, and `more`, mm."""
        return shapely.union_all(
            [
                box_polygon(*_box(kept)).buffer(self.stays(context, kept) + more, quad_segs=_SEGS)
                for kept in context.setup.keep_out
            ]
        )

    def _light(self, cutting: Cutting, context: SetupContext) -> Cutting:
        """Shallow and wide: what a skim takes."""
        deep, reasons, limits = cutting.pass_depth, dict(cutting.reasons), dict(cutting.limits)
        if deep > LEVEL:
            deep = LEVEL
            reasons["pass_depth"] = words.SKIM.format(most=size(LEVEL, context.machine.units))
            limits["pass_depth"] = "usual"
        # The least number of equal levels, so that none is thinner than the others.
        deep = self.take / math.ceil(self.take / deep - 1e-9)
        reasons["step_over"] = words.STEP_OVER_SKIM.format(part=STEP_OVER)
        return replace(cutting, pass_depth=deep, step_over=STEP_OVER, reasons=reasons, limits=limits)


def _box(kept: KeepOut) -> Box:
    return kept.x[0], kept.y[0], kept.x[1], kept.y[1]
