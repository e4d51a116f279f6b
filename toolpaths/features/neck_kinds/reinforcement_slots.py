"""`reinforcement_slots`: a pair of slots in the glue face for stiffening bars, one on each side of the rod."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from typing import Any, Literal

import numpy as np
from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.channel_lie import span_along
from toolpaths.features.feature import Feature
from toolpaths.features.fits import Fit, slot_fit
from toolpaths.features.rod_fit import given, must_say, refuse_bars
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.boards import half_width
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.necks import neck_of
from toolpaths.instrument.places import x_of
from toolpaths.instrument.rods import BARS_FROM, GLUE, slot_width
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Instrument
from toolpaths.job.place import Along, AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Channel, Operation
from toolpaths.operations.slots import Place, refuse_bit, slot_shape, wide_words, width_words
from toolpaths.target_shape.demand import Demand, Level

SIDES = ((1.0, "treble"), (-1.0, "bass"))


class ReinforcementSlots(Feature):
    """Two slots with rounded ends, alike on both sides of the centreline."""

    key = "reinforcement_slots"
    cuts = frozenset({CutKind.bar_slot})
    stage = Stage.bars
    lies = "anywhere"
    within = (-(GLUE[1] - GLUE[0]) / 2, (GLUE[1] - GLUE[0]) / 2)

    width: Size | None = Field(
        default=None, description="Width of each slot; that of the instrument's `bars` if absent."
    )
    depth: Size | None = Field(
        default=None, description="Depth below the glue face; that of the instrument's `bars` if absent."
    )
    offset: Size = Field(
        description="Distance from the centreline to the middle of each slot; at `from` where they taper."
    )
    start: AlongNeck | None = Field(default=None, alias="from", description="End of the slots on the side of the nut.")
    to: AlongNeck | None = Field(default=None, description="End of the slots on the side of the heel.")
    follow: Literal["centreline", "taper"] = Field(
        default="centreline",
        description="centreline: parallel to the centreline; taper: parallel to the board's edges.",
    )

    def completed(self, instrument: Instrument) -> Feature:
        """With the slots that the instrument's bars want, where the job says nothing else."""
        bars = None if instrument.neck is None else instrument.neck.bars
        if bars is None:
            return self
        width = slot_width(bars) if self.width is None else self.width
        keys: dict[str, Any] = {
            "width": width,
            "depth": bars.depth if self.depth is None else self.depth,
            "start": Along(x=BARS_FROM) if self.start is None else self.start,
        }
        if self.to is None:
            # A fret that is not there is told where the slots are laid out.
            with suppress(FeatureError):
                keys["to"] = Along(x=x_of(keys["start"], instrument, "from") + bars.length + width)
        return self.model_copy(update=keys)

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """Two straight slots between half circles of their width."""
        x0, x1 = self._span(context)
        rise = 0.0
        if self.follow == "taper":
            # Half width at x is a straight line: its rise a mm, from the board's two ends.
            instrument = context.job.instrument
            rise = float(half_width(instrument, 1.0)) - float(half_width(instrument, 0.0))
        half, grade = self._wide / 2, math.hypot(1.0, rise)
        # The half circles' middles lie half a width inside the extremes, measured along x.
        first, last = x0 + half - half / grade, x1 - half + half / grade
        for sign, side in SIDES:
            yield Demand(
                *self.demand_head(context, f"bar slot, {side} side"),
                kind=CutKind.bar_slot,
                asked=slot_shape(
                    (first, sign * (self.offset + rise * (first - x0))),
                    (last, sign * (self.offset + rise * (last - x0))),
                    self._wide,
                    ("rounded", "rounded"),
                ),
                floor=Level(context.at_depth(self._deep)),
                radius=context.bits[self.bit].radius,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Each slot entered on a slope along it and taken down in levels; a pass of its own for each wall."""
        bit, units = context.bits[self.bit], context.job.units
        refuse_bit(self.bit, bit, self._wide, "each slot", units)
        wide = wide_words(bit, self._wide, context.machine.units)
        yield Channel(
            *self.operation_head(context, f"slots for the bars, {wide}", context.at_depth(self._deep), slot=True),
            ends=np.array([self._ends(context, sign) for sign, _ in SIDES]),
            names=tuple(f"bar slot, {side} side" for _, side in SIDES),
            width=self._wide,
            floor_line=np.array([[0.0, context.at_depth(self._deep)]]),
        )

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """A slot; none where its sizes are missing."""
        if self.width is None or self.depth is None:
            return
        yield slot_fit(self, bit, "bars", "slot for a bar", self._wide, self._deep)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """The bars, which go in and are levelled before the board."""
        units = context.job.units
        x0, x1 = self._span(context)
        low, high = (show(self._wide - g, units) for g in reversed(GLUE))
        cuts = [near.cut(context, demand, self) for demand in near.own(context, self)]
        deep = next((depth for _, depth in cuts if depth is not None), None)
        depth = "" if deep is None else f", {show(deep.value, units)} deep from {deep.surface}"
        gives = self.gives_way(context, self._deep)
        yield Handwork(
            self.name,
            f"Fit a bar to each slot. The slot is {show(self._wide, units)} wide{depth}, and "
            f"{show(x1 - x0, units)} long with its round ends. Round the bar's ends, or cut the bar to "
            f"{show(x1 - x0 - self._wide, units)}. To leave room for glue, the bar is {low} to {high} wide. "
            f"{width_words(self.bit, context.bits[self.bit], self._wide, context.machine, units, gives)}",
            figures=tuple(
                figure
                for wide, deep in cuts
                for figure in (wide, deep, replace(wide, value=x1 - x0, axis=(1.0, 0.0)))
                if figure is not None
            ),
        )
        yield Handwork(
            self.name,
            "Glue the bars in, and level them with the glue face before the rod and the board go on: a bar that is "
            "too high keeps the board from lying flat. Glue with water in it bows a neck. Let the neck rest overnight, "
            "then check that the face is still flat. Sand or file carbon fibre only with extraction and a respirator.",
        )

    def _ends(self, context: SetupContext, sign: float) -> tuple[Place, Place]:
        """The slot's extremes on its centre line."""
        x0, x1 = self._span(context)
        edge0, edge1 = (float(half_width(context.job.instrument, x)) for x in (x0, x1))
        turn = math.atan2(edge1 - edge0, x1 - x0) if self.follow == "taper" else 0.0
        spare = self._wide / 2 * (1 - math.cos(turn))
        a, b = x0 + spare, x1 - spare
        return (
            (a, sign * (self.offset + (a - x0) * math.tan(turn))),
            (b, sign * (self.offset + (b - x0) * math.tan(turn))),
        )

    def _span(self, context: SetupContext) -> tuple[float, float]:
        """From and to along the neck, mm. Raises FeatureError where no pair of slots can lie there."""
        units = context.job.units
        if context.job.part != "neck":
            raise FeatureError(
                "this job makes a board, and the bars are in the neck", "put them into a job with `part: neck`"
            )
        if context.flipped:
            raise FeatureError(
                "in this setup the neck lies on its glue face", "cut the slots in the setup that shows it"
            )
        if self.start is not None:
            # A fret that is not there is the fault, and not that `to` could not follow from it.
            x_of(self.start, context.job.instrument, "from")
        must_say({"width": self.width, "depth": self.depth, "from": self.start, "to": self.to}, "bars")
        if context.at_depth(self._deep) <= 0:
            raise FeatureError("the slots would go through the blank", "make them less deep", "depth")
        if self.offset <= self._wide / 2:
            raise FeatureError(
                f"slots {show(self._wide, units)} wide, {show(self.offset, units)} from the centreline, would "
                "run into each other",
                f"give an `offset` of more than {show(self._wide / 2, units)}",
                "offset",
            )
        start, to = given(self.start, "from", "bars"), given(self.to, "to", "bars")
        x0, x1 = span_along(context, start, to, self._wide, "slot")
        bars = neck_of(context.job.instrument).bars
        if bars is not None:
            refuse_bars(bars, (self._wide, self._deep, x1 - x0), units)
        return x0, x1

    @property
    def _wide(self) -> float:
        return given(self.width, "width", "bars")

    @property
    def _deep(self) -> float:
        return given(self.depth, "depth", "bars")
