"""`nut_slot`: the slot that the nut sits in, along the nut line across neck or board and open at both sides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from pydantic import Field
from shapely import Polygon

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, Units, show
from toolpaths.features.feature import Feature
from toolpaths.features.fits import Fit, slot_fit
from toolpaths.features.fret_strips import across
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.boards import crossings, half_width
from toolpaths.instrument.fans import FretLine, nut_front
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.necks import neck_of, side_corners
from toolpaths.instrument.places import x_of
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import Along, AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Channel, Operation
from toolpaths.operations.slots import RUN_ON, refuse_bit, wide_words, width_words
from toolpaths.target_shape.demand import Demand, Level


class NutSlot(Feature):
    """A slot across the whole finished width, run out into the waste on both sides."""

    key = "nut_slot"
    cuts = frozenset({CutKind.nut_slot})
    stage = Stage.channel
    lies = "anywhere"
    within = (-0.05, 0.05)

    width: Size = Field(description="Width of the slot, along the neck.")
    depth: Size = Field(description="Depth below the finished face.")
    edge: AlongNeck = Field(
        default=Along(x=0.0), description="Place of the slot's wall on the bridge side, from the nut's front."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A strip from edge - width to edge, as wide as the part there; beyond it, waste that may be cut."""
        # It leans as the wanted nut line does, which no cut is made by.
        wall = replace(self._wall(context), lean=across(context.job.instrument, 0).lean)
        x0, x1 = wall.x - self.width * wall.stretch, wall.x
        half = self._half_width(context, wall)
        beyond = half + 2 * context.bits[self.bit].radius + RUN_ON + self.width * abs(wall.lean) / wall.stretch

        def strip(y0: float, y1: float) -> Polygon:
            a, b = wall.lean * y0, wall.lean * y1
            return Polygon([(x0 + a, y0), (x1 + a, y0), (x1 + b, y1), (x0 + b, y1)])

        yield Demand(
            *self.demand_head(context, "nut slot"),
            kind=CutKind.nut_slot,
            asked=strip(-half, half),
            floor=Level(context.at_depth(self.depth)),
            radius=context.bits[self.bit].radius,
            run_out=shapely.union(strip(-beyond, -half), strip(half, beyond)),
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Cut across from the bass side, entered on a slope in the waste; each wall gets its own pass."""
        bit, units = context.bits[self.bit], context.job.units
        wide = wide_words(bit, self.width, context.machine.units)
        refuse_bit(self.bit, bit, self.width, "the slot", units)
        wall = self._wall(context)
        middle = FretLine(wall.x - self.width / 2 * wall.stretch, wall.lean)
        # One wall of a slot that leans leaves the part later than its middle does.
        reach = self._half_width(context, wall) + self.width / 2 * abs(wall.lean) / wall.stretch
        yield Channel(
            *self.operation_head(context, f"the slot for the nut, {wide}", context.at_depth(self.depth), slot=True),
            ends=np.array([[[middle.at(y), y] for y in (-reach, reach)]]),
            names=("nut slot",),
            width=self.width,
            floor_line=np.array([[0.0, context.at_depth(self.depth)]]),
            open_ends=(True, True),
        )

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """The slot, across the grain."""
        yield slot_fit(self, bit, "nut", "slot for the nut, across the grain", self.width, self.depth, upright=True)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Fitting the nut."""
        units = context.job.units
        wall = self._wall(context)
        wide, deep = near.cut(context, near.own(context, self)[0], self)
        depth = "" if deep is None else f" and {show(deep.value, units)} deep from {deep.surface}"
        leans = "" if wall.lean == 0.0 else f" on the centreline, {wall.angle:.2f} degrees from square"
        gives = self.gives_way(context, self.depth)
        yield Handwork(
            self.name,
            f"Fit the nut dry. Its slot is {show(self.width, units)} wide{depth}. The wall on the bridge's side is "
            f"{_from_nut_line(wall.x, units)}{leans}. The nut must touch this wall along its whole length. "
            f"{width_words(self.bit, context.bits[self.bit], self.width, context.machine, units, gives)}",
            figures=(wide,) if deep is None else (wide, deep),
        )

    def _wall(self, context: SetupContext) -> FretLine:
        """The wall on the bridge's side, along the nut line. Raises FeatureError where no slot can lie there."""
        if context.flipped:
            raise FeatureError(
                "in this setup the blank lies face down", "cut the slot in the setup that shows the face"
            )
        if context.at_depth(self.depth) <= 0:
            raise FeatureError("the slot would go through the blank", "make it less deep", "depth")
        front = nut_front(context.job.instrument)
        edge = x_of(self.edge, context.job.instrument, "edge")
        # A fret's place is a place of its own; a length counts from the nut's front.
        return FretLine(edge if self.edge.fret is not None else front.x + edge, front.lean)

    def _half_width(self, context: SetupContext, wall: FretLine) -> float:
        """Half of the part's greatest width over the slot before it is trimmed, mm."""
        instrument = context.job.instrument
        x0, x1 = wall.x - self.width * wall.stretch, wall.x
        if wall.lean:
            beside = neck_of(instrument).margin if context.job.part == "neck" else 0.0
            (bass, _), (treble, _) = crossings(instrument, wall, beside)
            x0, x1 = min(bass, treble) - self.width * wall.stretch, max(bass, treble)
        if context.job.part != "neck":
            return max(half_width(instrument, x0), half_width(instrument, x1))
        side = side_corners(instrument, neck_of(instrument).margin)
        xs, widths = [c[0] for c in side], [c[1] for c in side]
        return float(np.interp([x0, x1, *(x for x in xs if x0 < x < x1)], xs, widths).max())


def _from_nut_line(x: float, units: Units) -> str:
    """Where a wall is along the neck, in words. `x`: from the nut line, mm."""
    if abs(x) < 0.005:
        return "at the nut line"
    return f"{show(abs(x), units)} from the nut line toward the {'bridge' if x > 0 else 'headstock'}"
