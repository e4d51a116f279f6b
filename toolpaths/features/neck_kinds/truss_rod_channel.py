"""`truss_rod_channel`: the channel for the truss rod in the glue face, with a pocket for its adjuster."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np
from pydantic import Field, model_validator

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Size, show
from toolpaths.features.channel_lie import ChannelLie, ChannelPiece, arc_line, end_slope, span_along
from toolpaths.features.feature import Feature
from toolpaths.features.fits import Fit, slot_fit
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Figure, Handwork
from toolpaths.instrument.necks import neck_end, neck_of
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Channel, Operation
from toolpaths.operations.slots import RUN_ON, End, refuse_bit, run_out, slot_shape, wide_words, width_words
from toolpaths.target_shape.demand import ArcFloor, Demand, Floor, Level


class Adjuster(InputModel):
    """The pocket for the adjuster, beyond the channel's end."""

    end: Literal["heel", "nut"] = Field(description="Of the channel, at which it begins.")
    width: Size = Field(description="At least the channel's.")
    length: Size = Field(description="From the channel's end on outward.")
    depth: Size = Field(description="Below the glue face.")


class RodFloor(InputModel):
    """An arc: a circle through the depths at both ends and in the middle."""

    ends: Size = Field(description="Depth at `from` and at `to`, below the glue face.")
    middle: Size = Field(description="Depth halfway between, at least as much.")

    @model_validator(mode="after")
    def _ordered(self) -> RodFloor:
        if self.middle < self.ends:
            raise ValueError("`middle` must be at least as deep as `ends`: a one-way rod sags in the middle")
        return self


class TrussRodChannel(Feature):
    """A channel of constant width along the centreline, its floor level or an arc."""

    key = "truss_rod_channel"
    cuts = frozenset({CutKind.rod_channel, CutKind.adjuster_pocket})
    stage = Stage.channel
    lies = "anywhere"
    within = (0.0, 0.15)
    within_depth = (0.0, 0.15)

    width: Size = Field(description="Of the channel.")
    depth: Size | None = Field(default=None, description="Below the glue face.")
    floor: RodFloor | None = Field(default=None, description="An arc instead of a depth, for a one-way rod.")
    start: AlongNeck = Field(alias="from", description="Extreme of the finished channel toward the nut.")
    to: AlongNeck = Field(description="Extreme of the finished channel toward the heel.")
    adjuster: Adjuster | None = Field(
        default=None, description="The pocket at one end: `{end: heel, width: 12, length: 20, depth: 11}`."
    )
    open: bool = Field(default=False, description="Whether the pocket, or without one the heel end, leaves the wood.")
    ends: End = Field(default="rounded", description="As the bit leaves them, or with a flat wall.")

    @model_validator(mode="after")
    def _one_floor(self) -> TrussRodChannel:
        if (self.depth is None) == (self.floor is None):
            raise ValueError("give `depth`, or `floor: {ends: ..., middle: ...}` for an arc; one of the two")
        return self

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The channel, and the pocket where there is one; each open on the side where it goes on."""
        lie = self._lie(context)
        floor, scallop = self._floor(context, lie)
        yield self._demand(context, CutKind.rod_channel, lie.channel, self.width, floor, scallop)
        if self.adjuster is not None and lie.pocket is not None:
            level = Level(context.at_depth(self.adjuster.depth))
            yield self._demand(context, CutKind.adjuster_pocket, lie.pocket, self.adjuster.width, level, 0.0)

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Each slot entered on a slope along it and taken down in levels; a pass of its own for each wall."""
        bit, units = context.bits[self.bit], context.job.units
        refuse_bit(self.bit, bit, self.width, "the channel", units)
        lie, cutting = self._lie(context), self.settled(context, slot=True)
        deepest = self._deepest()
        line = np.array([[0.0, context.at_depth(deepest)]])
        if self.floor is not None:
            line = arc_line(lie, context.at_depth(self.floor.ends), context.at_depth(self.floor.middle))
            # The inverse of `end_slope`.
            most = (lie.x1 - lie.x0) / 2 * math.tan(math.radians(cutting.ramp_angle) / 2)
            if self.floor.middle - self.floor.ends > most:
                raise FeatureError(
                    f"the floor would be steeper at its ends than this bit may slope down "
                    f"({cutting.ramp_angle:.1f} degrees)",
                    f"make `middle` at most {show(math.floor(100 * most) / 100, units)} deeper than `ends`, or the "
                    "channel longer",
                    "floor",
                )
        wide = wide_words(bit, self.width, context.machine.units)
        title = f"the rod's channel, {wide}"
        yield self._channel(context, lie.channel, title, "rod channel", self.width, deepest, line)
        if self.adjuster is not None and lie.pocket is not None:
            depth = self.adjuster.depth
            line = np.array([[0.0, context.at_depth(depth)]])
            title, width = "the pocket for the rod's adjuster", self.adjuster.width
            yield self._channel(context, lie.pocket, title, "adjuster pocket", width, depth, line)

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """The channel, and its adjuster's pocket."""
        depth = self._deepest() if self.floor is None else self.floor.middle
        yield slot_fit(self, bit, "rod", "rod channel", self.width, depth)
        if self.adjuster is not None:
            yield slot_fit(self, bit, "adjuster", "pocket for the adjuster", self.adjuster.width, self.adjuster.depth)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """The rod tried dry, before anything is glued."""
        units, lie, bit = context.job.units, self._lie(context), context.bits[self.bit]
        figures: list[Figure] = []
        said: list[str] = []
        for demand in near.own(context, self):
            wide, deep = near.cut(context, demand, self)
            figures += [wide] if deep is None else [wide, deep]
            depth = "" if deep is None else f", {show(deep.value, units)} deep from {deep.surface}"
            said.append(f"{demand.name} {show(wide.value, units)} wide{depth}")
        if self.floor is not None:
            end = near.depth(context, near.own(context, self)[0], (lie.x0 + self.width / 2, 0.0), (0.0, 1.0))
            figures += [] if end is None else [end]
            said[0] += "" if end is None else f" in the middle, {show(end.value, units)} half a width inside its ends"
        x0, x1 = min(p.x0 for p in lie.pieces), max(p.x1 for p in lie.pieces)
        if not self.open:
            figures.append(Figure("width", x1 - x0, context.setup.name, ((x0 + x1) / 2, 0.0)))
            said.append(f"over all {show(x1 - x0, units)} long")
        yield Handwork(
            self.name,
            f"Measure: {'; '.join(said)}. {width_words(self.bit, bit, self.width, context.machine, units)}",
            figures=tuple(figures),
        )
        yield Handwork(
            self.name,
            "Lay the rod in dry: it must drop in without force and stand nowhere above the glue face. "
            "Turn its adjuster both ways and see that it works; only then glue the board. "
            "Keep all glue out of the channel: cover the rod with a strip of tape and pull that off last.",
        )

    def _demand(
        self, context: SetupContext, kind: CutKind, piece: ChannelPiece, width: float, floor: Floor, scallop: float
    ) -> Demand:
        a, b = (piece.x0, 0.0), (piece.x1, 0.0)
        radius = context.bits[self.bit].radius
        kinds: tuple[End, End] = (
            "squared" if piece.open_ends[0] else self.ends,
            "squared" if piece.open_ends[1] else self.ends,
        )
        strips = [
            run_out(q, p, width, radius)
            for p, q, goes_on in zip((a, b), (b, a), piece.open_ends, strict=True)
            if goes_on
        ]
        return Demand(
            *self.demand_head(context, kind.value),
            kind=kind,
            asked=slot_shape(a, b, width, kinds),
            floor=floor,
            radius=radius,
            run_out=strips[0] if strips else None,
            scallop=scallop,
        )

    def _channel(
        self,
        context: SetupContext,
        piece: ChannelPiece,
        title: str,
        name: str,
        width: float,
        depth: float,
        line: Array,
    ) -> Channel:
        return Channel(
            *self.operation_head(context, title, context.at_depth(depth), slot=True),
            ends=np.array([[[piece.x0, 0.0], [piece.x1, 0.0]]]),
            names=(name,),
            width=width,
            floor_line=line,
            open_ends=piece.open_ends,
            squared=self.ends == "squared",
        )

    def _deepest(self) -> float:
        return self.floor.middle if self.floor is not None else float(self.depth or 0.0)

    def _floor(self, context: SetupContext, lie: ChannelLie) -> tuple[Floor, float]:
        """The channel's floor, and what a flat end leaves beside the middle of a floor that slopes, mm."""
        if self.floor is None:
            return Level(context.at_depth(self._deepest())), 0.0
        ends, middle = context.at_depth(self.floor.ends), context.at_depth(self.floor.middle)
        slope = end_slope(lie.x1 - lie.x0, ends - middle)
        return ArcFloor(lie.x0, lie.x1, ends, middle), slope * context.bits[self.bit].radius

    def _lie(self, context: SetupContext) -> ChannelLie:
        """Where everything lies along the neck. Raises FeatureError where it cannot lie there."""
        self._refuse(context)
        instrument, units, bit = context.job.instrument, context.job.units, context.bits[self.bit]
        x0, x1 = span_along(context, self.start, self.to, self.width, "channel")
        pocket = self.adjuster
        if pocket is None:
            end = max(x1, neck_end(instrument)) if self.open else x1
            return ChannelLie(x0, x1, ChannelPiece(x0, end, (False, self.open)), None)
        half, wide = self.width / 2, pocket.width / 2
        # Where the channel's walls meet the pocket's half circle.
        inset = wide - math.sqrt(wide * wide - half * half) if self.ends == "rounded" else 0.0
        least = max(pocket.width, inset + 2 * bit.radius + RUN_ON)
        if pocket.length < least - 1e-9:
            raise FeatureError(
                f"a pocket {show(pocket.width, units)} wide must be at least {show(least, units)} long for {self.bit}",
                "make it longer, or take a smaller bit",
                "length",
            )
        if pocket.end == "heel":
            end = x1 + pocket.length
            end = max(end, neck_end(instrument)) if self.open else end
            return ChannelLie(
                x0, x1, ChannelPiece(x0, x1 + inset, (False, True)), ChannelPiece(x1, end, (False, self.open))
            )
        end = x0 - pocket.length
        if self.open:
            if neck_of(instrument).headstock is not None:
                raise FeatureError(
                    "the headstock lies beyond the pocket: it cannot leave the wood there",
                    "leave `open` out; the pocket ends in the headstock",
                    "open",
                )
            end = min(end, 0.0)
        return ChannelLie(
            x0, x1, ChannelPiece(x0 - inset, x1, (True, False)), ChannelPiece(end, x0, (self.open, False))
        )

    def _refuse(self, context: SetupContext) -> None:
        units = context.job.units
        if context.job.part != "neck":
            raise FeatureError("this job makes a board; a rod's channel lies in the neck", "see `part: neck`")
        if context.flipped:
            raise FeatureError(
                "the neck lies on its glue face here", "cut the channel in the setup that shows that face"
            )
        pocket = self.adjuster
        if context.at_depth(self._deepest()) <= 0:
            raise FeatureError(
                "the channel would go through the blank",
                "make it less deep",
                "depth" if self.floor is None else "floor",
            )
        if pocket is not None and context.at_depth(pocket.depth) <= 0:
            raise FeatureError("the adjuster's pocket would go through the blank", "make it less deep", "adjuster")
        if pocket is not None and pocket.width < self.width:
            raise FeatureError(
                f"the adjuster's pocket, {show(pocket.width, units)} wide, is narrower than the channel",
                f"make it {show(self.width, units)} wide or more",
                "adjuster",
            )
