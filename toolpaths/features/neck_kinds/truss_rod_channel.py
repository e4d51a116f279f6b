"""`truss_rod_channel`: the channel for the truss rod in the glue face, with a pocket for its adjuster."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import suppress
from typing import Any, Literal

import numpy as np
from pydantic import Field, model_validator

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show, show_at_least
from toolpaths.features.channel_lie import ChannelLie, ChannelPiece, arc_line, end_slope, span_along
from toolpaths.features.feature import Feature
from toolpaths.features.fits import Fit, slot_fit
from toolpaths.features.rod_fit import Adjuster, RodFloor, given, must_say, refuse_rod
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Figure, Handwork
from toolpaths.instrument.necks import neck_end, neck_of
from toolpaths.instrument.places import x_of
from toolpaths.instrument.rods import channel_for
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Instrument
from toolpaths.job.place import Along, AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Channel, Operation
from toolpaths.operations.slots import RUN_ON, End, refuse_bit, run_out, slot_shape, wide_words, width_words
from toolpaths.target_shape.demand import ArcFloor, Demand, Floor, Level


class TrussRodChannel(Feature):
    """A channel of constant width along the centreline, its floor level or an arc."""

    key = "truss_rod_channel"
    cuts = frozenset({CutKind.rod_channel, CutKind.adjuster_pocket})
    stage = Stage.channel
    lies = "anywhere"
    within = (0.0, 0.15)
    within_depth = (0.0, 0.15)

    width: Size | None = Field(
        default=None, description="Width of the channel; that of the instrument's `rod` if absent."
    )
    depth: Size | None = Field(default=None, description="Depth below the glue face.")
    floor: RodFloor | None = Field(default=None, description="A curved floor in place of a depth, for a one-way rod.")
    start: AlongNeck | None = Field(
        default=None, alias="from", description="End of the channel on the side of the nut."
    )
    to: AlongNeck | None = Field(default=None, description="End of the channel on the side of the heel.")
    adjuster: Adjuster | Literal["none"] | None = Field(
        default=None,
        description=(
            "Pocket for the adjuster at one end: `{end: heel, width: 12, length: 20, depth: 11}`; `none`: no "
            "pocket at all."
        ),
    )
    open: bool = Field(
        default=False, description="Whether the pocket (without one the channel, at the heel) runs out of the wood."
    )
    ends: End = Field(default="rounded", description="Ends of the channel: round, as the bit leaves them, or flat.")

    @model_validator(mode="after")
    def _one_floor(self) -> TrussRodChannel:
        if self.depth is not None and self.floor is not None:
            raise ValueError("give either `depth`, or `floor: {ends: ..., middle: ...}` for an arc, not both")
        return self

    def completed(self, instrument: Instrument) -> Feature:
        """With the channel that the instrument's rod wants, where the job says nothing else."""
        rod = None if instrument.neck is None else instrument.neck.rod
        if rod is None:
            return self
        wanted = channel_for(rod)
        wide, long, deep = wanted.pocket
        usual = Adjuster.model_construct(end=wanted.end, width=wide, length=long, depth=deep)
        keys: dict[str, Any] = {
            "width": wanted.width if self.width is None else self.width,
            "start": Along(x=wanted.start) if self.start is None else self.start,
            "adjuster": usual if self.adjuster is None else self.adjuster,
        }
        if self.depth is None and self.floor is None and wanted.middle > wanted.depth:
            keys["floor"] = RodFloor.model_construct(ends=wanted.depth, middle=wanted.middle)
        elif self.depth is None and self.floor is None:
            keys["depth"] = wanted.depth
        if self.to is None:
            pocket = 0.0 if keys["adjuster"] == "none" else keys["adjuster"].length
            # A fret that is not there is told where the channel is laid out.
            with suppress(FeatureError):
                keys["to"] = Along(x=x_of(keys["start"], instrument, "from") + wanted.over_all - pocket)
        return self.model_copy(update=keys)

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The channel, and the pocket where there is one; each open on the side where it goes on."""
        lie = self._lie(context)
        floor, scallop = self._floor(context, lie)
        yield self._demand(context, CutKind.rod_channel, lie.channel, self._wide, floor, scallop)
        if self._pocket is not None and lie.pocket is not None:
            level = Level(context.at_depth(self._pocket.depth))
            yield self._demand(context, CutKind.adjuster_pocket, lie.pocket, self._pocket.width, level, 0.0)

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Each slot entered on a slope along it and taken down in levels; a pass of its own for each wall."""
        bit, units = context.bits[self.bit], context.job.units
        refuse_bit(self.bit, bit, self._wide, "the channel", units)
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
        wide = wide_words(bit, self._wide, context.machine.units)
        title = f"the rod's channel, {wide}"
        yield self._channel(context, lie.channel, title, "rod channel", self._wide, deepest, line)
        if self._pocket is not None and lie.pocket is not None:
            depth = self._pocket.depth
            line = np.array([[0.0, context.at_depth(depth)]])
            title, width = "the pocket for the rod's adjuster", self._pocket.width
            yield self._channel(context, lie.pocket, title, "adjuster pocket", width, depth, line)

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """The channel, and its adjuster's pocket; none where its sizes are missing."""
        if self.width is None or (self.depth is None and self.floor is None):
            return
        depth = self._deepest() if self.floor is None else self.floor.middle
        yield slot_fit(self, bit, "rod", "rod channel", self._wide, depth)
        if self._pocket is not None:
            yield slot_fit(self, bit, "adjuster", "pocket for the adjuster", self._pocket.width, self._pocket.depth)

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
            end = near.depth(context, near.own(context, self)[0], (lie.x0 + self._wide / 2, 0.0), (0.0, 1.0))
            figures += [] if end is None else [end]
            said[0] += "" if end is None else f" in the middle, {show(end.value, units)} half a width inside its ends"
        x0, x1 = min(p.x0 for p in lie.pieces), max(p.x1 for p in lie.pieces)
        if not self.open:
            figures.append(Figure("width", x1 - x0, context.setup.name, ((x0 + x1) / 2, 0.0)))
            said.append(f"over all {show(x1 - x0, units)} long")
        gives = self.gives_way(context, max((f.value for f in figures if f.kind == "depth"), default=0.0))
        yield Handwork(
            self.name,
            f"Measure the channel: {'; '.join(said)}. "
            f"{width_words(self.bit, bit, self._wide, context.machine, units, gives)}",
            figures=tuple(figures),
        )
        yield Handwork(
            self.name,
            "Lay the rod in dry. It must drop in without force, and no part of it may be above the glue face. Turn its "
            "adjuster both ways and see that it works. Only then glue the board. Keep all glue out of the channel: "
            "cover the rod with a strip of tape, and pull that off last.",
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

    @property
    def _wide(self) -> float:
        return given(self.width, "width", "rod")

    @property
    def _pocket(self) -> Adjuster | None:
        return None if self.adjuster == "none" else self.adjuster

    def _deepest(self) -> float:
        return self.floor.middle if self.floor is not None else given(self.depth, "depth", "rod")

    def _span(self, context: SetupContext) -> tuple[float, float]:
        """x of the channel's extremes, mm."""
        start, to = given(self.start, "from", "rod"), given(self.to, "to", "rod")
        return span_along(context, start, to, self._wide, "channel")

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
        x0, x1 = self._span(context)
        pocket = self._pocket
        if pocket is None:
            end = max(x1, neck_end(instrument)) if self.open else x1
            return ChannelLie(x0, x1, ChannelPiece(x0, end, (False, self.open)), None)
        half, wide = self._wide / 2, pocket.width / 2
        # Where the channel's walls meet the pocket's half circle.
        inset = wide - math.sqrt(wide * wide - half * half) if self.ends == "rounded" else 0.0
        least = max(pocket.width, inset + 2 * bit.radius + RUN_ON)
        if pocket.length < least - 1e-9:
            raise FeatureError(
                f"a pocket {show(pocket.width, units)} wide must be at least {show(least, units)} long for {self.bit}",
                f"make it {show_at_least(least, units)} long or more, or take a smaller bit",
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
                    "the headstock is beyond the pocket: it cannot run out of the wood there",
                    "leave `open` out; the pocket ends in the headstock",
                    "open",
                )
            end = min(end, 0.0)
        return ChannelLie(
            x0, x1, ChannelPiece(x0 - inset, x1, (True, False)), ChannelPiece(end, x0, (self.open, False))
        )

    def _refuse_rod(self, context: SetupContext) -> None:
        """Raises FeatureError where the instrument's rod does not go into the channel."""
        rod = neck_of(context.job.instrument).rod
        if rod is None:
            return
        (x0, x1), pocket = self._span(context), self._pocket
        over_all = None if self.open else x1 - x0 + (0.0 if pocket is None else pocket.length)
        deep, key = (self._deepest(), "depth") if self.floor is None else (self.floor.ends, "floor")
        refuse_rod(rod, (self._wide, deep, over_all), key, context.job.units)

    def _refuse(self, context: SetupContext) -> None:
        units = context.job.units
        if context.job.part != "neck":
            raise FeatureError("this job makes a board, and a rod's channel is in the neck", "use `part: neck`")
        if context.flipped:
            raise FeatureError(
                "in this setup the neck lies on its glue face", "cut the channel in the setup that shows it"
            )
        if self.start is not None:
            # A fret that is not there is the fault, and not that `to` could not follow from it.
            x_of(self.start, context.job.instrument, "from")
        deep = self.floor or self.depth
        must_say({"width": self.width, "depth": deep, "from": self.start, "to": self.to}, "rod")
        pocket = self._pocket
        if context.at_depth(self._deepest()) <= 0:
            raise FeatureError(
                "the channel would go through the blank",
                "make it less deep",
                "depth" if self.floor is None else "floor",
            )
        if pocket is not None and context.at_depth(pocket.depth) <= 0:
            raise FeatureError("the adjuster's pocket would go through the blank", "make it less deep", "adjuster")
        if pocket is not None and pocket.width < self._wide:
            raise FeatureError(
                f"the adjuster's pocket, {show(pocket.width, units)} wide, is narrower than the channel",
                f"make it {show(self._wide, units)} wide or more",
                "adjuster",
            )
        self._refuse_rod(context)
