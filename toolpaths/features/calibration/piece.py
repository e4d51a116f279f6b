"""A test cut in a scrap of wood, made and judged like a feature of a job. No job file can ask for it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import show
from toolpaths.features.crowned_cuts import line_floor
from toolpaths.features.feature import Feature
from toolpaths.features.fits import PieceKind
from toolpaths.features.hole_rules import must_suit
from toolpaths.geometry.loop import Area, Loop, box_polygon
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_cut_lines
from toolpaths.operations.operation import Bore, Channel, Clear, Lines, Operation
from toolpaths.operations.slots import RUN_ON, refuse_bit, slot_shape
from toolpaths.target_shape.demand import Demand, Floor, Level

Place = tuple[float, float]

_SEGS = 48


class Piece(Feature):
    """One cut. `start`, `end`: extremes of a slot, ends of a line, or twice the middle of something round; mm.

    `width`: across the slot, the diameter of something round; a line is as wide as its bit. `depth` below the
    scrap's top, through it where absent. `across`: a line that runs out of the scrap at both its ends.
    """

    key = "piece"
    cuts = frozenset({CutKind.trial})
    stage = Stage.off_router
    lies = "in scrap"
    piece = "sheet"

    kind: PieceKind
    label: str
    start: Place
    end: Place
    width: float = 0.0
    depth: float | None = None
    across: bool = False

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The cut's shape in plan, and its floor."""
        bit, floor = context.bits[self.bit], self._floor(context)
        radius = bit.radius
        if self.kind == "line":
            radius = bit.width_at(self._deep(context)) / 2
        yield Demand(
            *self.demand_head(context, self.label),
            kind=CutKind.trial,
            asked=self._asked(context, radius),
            floor=floor,
            radius=radius,
            run_out=self._run_out(radius),
            reach=context.breakthrough if self.depth is None else 0.0,
            corners=self.kind != "line",
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """The operation that cuts a job's feature of the same kind."""
        bit = context.bits[self.bit]
        self._refuse(bit, context)
        floor = -context.breakthrough if self.depth is None else context.at_depth(self.depth)
        head = self.operation_head(context, self.label, floor, slot=self.kind in ("slot", "line"))
        names = (self.label,)
        (ax, ay), (bx, by) = self.start, self.end
        if self.kind == "slot":
            ends = np.array([[[ax, ay], [bx, by]]])
            yield Channel(*head, ends, names, self.width, np.array([[0.0, floor]]))
            return
        if self.kind == "line":
            beyond = bit.width_at(self._deep(context)) / 2 + RUN_ON if self.across else 0.0
            way = np.array([bx - ax, by - ay]) / np.hypot(bx - ax, by - ay) * beyond
            yield Lines(*head, np.array([[np.array(self.start) - way, np.array(self.end) + way]]), names)
            return
        if self.kind == "pocket":
            yield Clear(*head, (Area(Loop.circle(ax, ay, self.width / 2), (), self.label),))
            return
        yield Bore(*head, np.array([[ax, ay]]), np.array([self.width]), names)

    def _deep(self, context: SetupContext) -> float:
        return context.face if self.depth is None else self.depth

    def _asked(self, context: SetupContext, radius: float) -> shapely.Polygon:
        if self.kind == "slot":
            return slot_shape(self.start, self.end, self.width, ("rounded", "rounded"))
        if self.kind == "line":
            if self.across:
                return LineString([self.start, self.end]).buffer(radius, cap_style="flat")
            return LineString([self.start, self.end]).buffer(radius, quad_segs=_SEGS)
        return Loop.circle(*self.start, self.width / 2).shape()

    def _run_out(self, radius: float) -> BaseGeometry | None:
        """The regions beyond the scrap's edges where a line across it enters and leaves."""
        if not self.across:
            return None
        (ax, ay), (bx, by) = self.start, self.end
        beyond = 2 * radius + RUN_ON
        return shapely.union(
            box_polygon(ax - radius, ay - beyond, ax + radius, ay),
            box_polygon(bx - radius, by, bx + radius, by + beyond),
        )

    def _floor(self, context: SetupContext) -> Floor:
        """Level; under a line of a pointed bit, walls that rise from its tip to its width at the top."""
        deep = self._deep(context)
        z = 0.0 if self.depth is None else context.at_depth(self.depth)
        if self.kind != "line":
            return Level(z)
        bit = context.bits[self.bit]
        (ax, ay), (bx, by) = self.start, self.end
        on = 2 * bit.width_at(deep) + RUN_ON if self.across else 0.0
        return line_floor(bit, LineString([(ax, ay - on), (bx, by + on)]), z, deep)

    def _refuse(self, bit: Bit, context: SetupContext) -> None:
        """Raises FeatureError where the bit cannot cut this, as the job's own feature would."""
        units = context.job.units
        if self.kind == "slot":
            refuse_bit(self.bit, bit, self.width, self.label, units)
        elif self.kind == "line":
            must_cut_lines(self.bit, bit)
            if self._deep(context) > bit.cutting_length:
                raise FeatureError(
                    f"{self.label} is {show(self._deep(context), units)} deep, and the cutting edges of {self.bit} are "
                    f"{show(bit.cutting_length, units)} long",
                    "cut less deep, or take a bit with longer edges",
                    "depth",
                )
        else:
            must_suit(self.bit, bit, [self.width], units)
        if self.depth is not None and self.depth >= context.face:
            thick = show(context.face, units)
            raise FeatureError(
                f"{self.label} would go through the scrap, which is {thick} thick", "take a thicker scrap", "depth"
            )
