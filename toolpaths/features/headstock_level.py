"""The base of what takes the headstock down to a level, face or back: from a wall or a ramp to the blank's end."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show, show_at_least, show_at_most, show_fine
from toolpaths.features.feature import Feature
from toolpaths.features.neck_surfaces import as_in_instrument, must_stay_above_the_back
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import box_polygon
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.headstocks import head_drop, headstock_of, level_back_from
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import Along
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.depth_of_cut import LAST_SKIM
from toolpaths.operations.operation import Operation, Rebate
from toolpaths.target_shape.demand import ArcFloor, Demand, Level

STAIR = 0.05
"""Highest step that the passes across leave in the ramp, mm."""
BEYOND = 1.0
"""How much further than its own size a bit runs out over what lies beside and past a face, mm: so no corner stays."""


@dataclass(frozen=True, slots=True)
class HeadLevel:
    """A level to which the headstock is taken down. Heights mm above the bed.

    `wall`: x of its wall in instrument coordinates; `surface`: the height that a ramp rises to there. `title`: the
    level in words.
    """

    kind: CutKind
    name: str
    wall: float
    floor: float
    surface: float
    title: str

    @property
    def deep(self) -> float:
        """How far it lies below the surface that the ramp rises to, mm."""
        return self.surface - self.floor


class HeadstockLevel(Feature):
    """Take the headstock down to a level, off the wood on three sides."""

    stage = Stage.off_router
    lies = "anywhere"
    order = "face"

    ramp: Size | None = Field(
        default=None, description="Length of a curve that leads up to the wall; an upright wall if absent."
    )

    @abstractmethod
    def level(self, context: SetupContext) -> HeadLevel:
        """The level. Raises FeatureError where there is none."""

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The blank left of the wall, at the level; open to the end and to both sides."""
        level = self.level(context)
        x0, y0, x1, y1 = context.instrument_box
        wall, radius = min(level.wall, x1), context.bits[self.bit].radius
        asked, off = box_polygon(x0, y0, wall, y1), 2 * radius + BEYOND
        z = level.floor
        ramp = self.ramp and ArcFloor(wall - 2 * self.ramp, wall, level.surface, z, rising=True)
        yield Demand(
            *self.demand_head(context, level.name),
            kind=level.kind,
            asked=asked,
            floor=ramp or Level(z),
            radius=radius,
            run_out=shapely.difference(box_polygon(x0 - off, y0 - off, wall, y1 + off), asked),
            scallop=0.0 if self.ramp is None else STAIR,
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Level passes along the grain up to the wall, which is skimmed last; a ramp in passes across."""
        level, units = self.level(context), context.machine.units
        self._must_be_possible(context, level)
        x0, y0, _, y1 = context.instrument_box
        stair = "" if self.ramp is None else f", ramp in steps of at most {show(STAIR, units)}"
        yield Rebate(
            *self.operation_head(context, f"{level.title}{stair}", level.floor),
            box=(x0, y0, level.wall, y1),
            face=level.surface,
            skim=LAST_SKIM,
            ramp=self.ramp or 0.0,
            stair=STAIR,
        )

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Sanding the steps of the ramp."""
        if self.ramp is None:
            return
        height = show_fine(STAIR, context.job.units)
        where = "behind the nut" if self.level(context).kind is CutKind.step else "at the headstock's back"
        yield Handwork(self.name, f"Sand the ramp {where}: it has steps of at most {height}.")

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """How deep it lies, at the foot of the wall or of its ramp."""
        level = self.level(context)
        at = (level.wall - (self.ramp or 0.0) - 2 * STAIR, 0.0)
        depth = near.depth(context, near.own(context, self)[0], at, (1.0, 0.0), self.within_depth)
        what = "the headstock's face" if level.kind is CutKind.step else "the headstock's back"
        return [] if depth is None else [Measure(f"from {depth.surface} down to {what}", (depth,))]

    def back_level(self, context: SetupContext, thickness: float | None, start: Along | None) -> HeadLevel:
        """The headstock's back, as thick below its own face as it is to be. Raises FeatureError.

        `thickness`: the instrument's if absent; `start`: where the finished back becomes level if absent.
        """
        units, head, drop = context.job.units, headstock_of(context.job.instrument), head_drop(context.job)
        if not context.flipped:
            raise FeatureError(
                "in this setup the headstock's back is on the bed", "put it into a setup with `flip: about x`"
            )
        thick = as_in_instrument(thickness, head.thickness, "thickness", "neck.headstock.thickness", units)
        instrument = context.job.instrument
        wall = level_back_from(instrument) if start is None else x_of(start, instrument, "from")
        title = f"headstock back, {show(thick, context.machine.units)} below its face"
        if drop:
            title += f", {show(drop + thick, context.machine.units)} below the glue face"
        z = context.at_depth(drop + thick)
        return HeadLevel(CutKind.head_back, "headstock back", wall, z, context.face, title)

    def _must_be_possible(self, context: SetupContext, level: HeadLevel) -> None:
        units, wall = context.job.units, level.wall
        x0, _, _, _ = context.instrument_box
        must_be_flat(self.bit, context.bits[self.bit], "it cannot plane", units)
        if wall > 0:
            raise FeatureError("the wall would be under the board", "give a `from` of 0 or less", "from")
        if wall <= x0:
            raise FeatureError(
                "it begins beyond the blank's end", f"give more than {show(x0, units)}: the blank begins there", "from"
            )
        if level.kind is CutKind.step:
            self._must_leave_the_headstock(context, level)
        elif level.deep <= 1e-6:
            raise FeatureError(
                f"the blank is {show(context.face, units)} thick there, and the headstock's back is to be "
                f"{show(level.floor, units)} above the bed: nothing would be cut",
                "take a thicker blank, plane less off, or leave the feature out",
                "thickness",
            )
        if self.ramp is not None and self.ramp < level.deep:
            raise FeatureError(
                f"the ramp is {show(self.ramp, units)} long and {show(level.deep, units)} high, which is too steep",
                f"make it {show_at_least(level.deep, units)} long or more",
                "ramp",
            )
        if self.ramp is not None and wall - self.ramp <= x0:
            raise FeatureError("the ramp reaches past the blank's end", "make it shorter", "ramp")
        if level.kind is CutKind.head_back:
            self._must_stay_above_the_back(context, level)

    def _must_leave_the_headstock(self, context: SetupContext, level: HeadLevel) -> None:
        units = context.job.units
        if level.floor <= 0:
            raise FeatureError(
                "the drop takes all the wood",
                f"give less than {show(context.glue, units)}: the wood is so thick",
                "drop",
            )
        head = None if context.job.instrument.neck is None else context.job.instrument.neck.headstock
        if head is not None and level.floor < head.thickness - context.found.thinner - 1e-6:
            raise FeatureError(
                f"only {show(level.floor, units)} would be left, and the headstock is to be "
                f"{show(head.thickness, units)} thick",
                "take a thicker blank, or make the drop smaller",
                "drop",
            )

    def _must_stay_above_the_back(self, context: SetupContext, level: HeadLevel) -> None:
        """Refuse a level that reaches into the blend behind the nut, where the finished back lies higher."""
        x0, _, _, _ = context.instrument_box
        instrument = context.job.instrument
        (demand,) = self.demands(context)
        right = show_at_most(level_back_from(instrument), context.job.units)
        must_stay_above_the_back(
            context,
            np.linspace(max(x0, -_FAR), level.wall, _PLACES),
            demand.floor,
            f"give `from: {right}` or less, where the finished back is level",
            "from",
        )


_FAR, _PLACES = 400.0, 801
"""How far from the nut the finished back is looked at, mm, and at how many places."""
