"""`depth_kerfs`: grooves across the shaft's back that end a little above the finished back, to guide the carver."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated

import numpy as np
from pydantic import Field
from shapely import LineString

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import Positive
from toolpaths.common.units import Depth, Size, Units, show, show_at_least
from toolpaths.features.back_passes import BackPasses, at_fret
from toolpaths.features.back_rows import HIGHER, touching
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.way import followed, straightened
from toolpaths.instrument.back_surfaces import KerfFloor, NearBack, part_of_width
from toolpaths.instrument.handwork.handwork import Figure, Handwork, Measure
from toolpaths.instrument.headstocks import head_drop
from toolpaths.instrument.kerf_stations import kerf_stations
from toolpaths.instrument.necks import half_width_at
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.operation import Operation, SurfaceRows
from toolpaths.target_shape.demand import Demand

_STEP = 0.25
"""Between the places along a kerf, mm."""
_SEGS = 32
_CLEAR = 0.3
"""How far over what a rough back has left a kerf's passes run in the air, mm: its ridges are known no better."""


class DepthKerfs(Feature):
    """Cut kerfs across the shaft as deep as the carver may go."""

    key = "depth_kerfs"
    cuts = frozenset({CutKind.depth_kerf})
    stage = Stage.back
    lies = "anywhere"
    leaves = "the floor of a kerf"
    within_depth = (-0.1, 0.1)

    every: Size = Field(default=15.0, description="Distance from one kerf to the next.")
    leave: Depth = Field(default=0.5, description="Wood that stays between the bottom of a kerf and the finished back.")
    down_to: Annotated[Positive, Field(ge=0.05, le=0.95)] = Field(
        default=0.5, description="How far down the flanks a kerf goes, as a part of the depth on the centreline."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A groove as wide as the bit at each station, its floor so much above the finished back."""
        radius = context.bits[self.bit].radius
        for number, x in enumerate(self.stations(context), 1):
            end = self._end(context, x, radius)
            yield Demand(
                *self.demand_head(context, f"kerf {number}"),
                kind=CutKind.depth_kerf,
                asked=LineString([(x, -end), (x, end)]).buffer(radius, quad_segs=_SEGS),
                floor=KerfFloor(context.job.instrument, head_drop(context.job), self.leave, x, radius, end),
                radius=radius,
                scallop=HIGHER,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """One pass over another at each station, from the operator's side to the far one."""
        bit = context.bits[self.bit]
        self._refuse(context, bit)
        rows = self._rows(context, bit)
        floor = min(float(row[:, 2].min()) for row in rows)
        units = context.machine.units
        title = f"{len(rows)} kerfs across the back, {show(self.leave, units)} above its finished shape"
        names = tuple(f"kerf {n}" for n in range(1, len(rows) + 1))
        yield SurfaceRows(*self.operation_head(context, title, floor, slot=True), rows, names)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """How deep the kerfs are, what stands under them, and how they guide."""
        units, found = context.job.units, self._depths(context, near)
        if not found:
            return
        deep, under = (_range([pair[k] for pair in found], units) for k in (0, 1))
        yield Handwork(
            self.name,
            "Carve from one kerf across the back to the next until the last trace of each is gone. Then "
            f"{show(self.leave, units)} is left to scrape. On the centreline the kerfs are {deep} deep from "
            f"{found[0][0].surface}, with {under} of wood under them. Each one: table Kerfs on the centreline.",
            figures=tuple(figure for pair in found for figure in pair),
        )

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """The depth of the first and the last kerf on the centreline."""
        found = self._depths(context, near)
        ends = found if len(found) < 2 else [found[0], found[-1]]
        return [
            Measure(
                f"depth on the centreline from {deep.surface}", (deep,), of=f"kerf at {at_fret(context, deep.at[0])}"
            )
            for deep, _ in ends
        ]

    def stations(self, context: SetupContext) -> list[float]:
        """x of each kerf, mm. Raises FeatureError where the shaft has no room for one."""
        found = kerf_stations(context.job.instrument, self.every, context.bits[self.bit].cut_diameter)
        if not found:
            raise FeatureError(
                "there is no room for a kerf on the neck's shaft",
                "make `every` smaller, or take a narrower bit",
                "every",
            )
        return found

    def _depths(self, context: SetupContext, near: Surfaces) -> list[tuple[Figure, Figure]]:
        """Each kerf's depth on the centreline, from what stands beside it, and the wood that stands under it."""
        out = []
        for demand in near.own(context, self):
            at = (demand.middle[0], 0.0)
            deep = near.depth(context, demand, at, (1.0, 0.0), self.within_depth)
            if deep is not None:
                out.append((deep, near.thickness(context, at)))
        return out

    def _rows(self, context: SetupContext, bit: Bit) -> tuple[Array, ...]:
        """The way of the tip at each station and, (K, 4), the wood's top over it as a rough back has left that; mm."""
        xs = np.array(self.stations(context))
        ends = np.array([self._end(context, x, bit.radius) for x in xs])
        back = NearBack(context.job.instrument, head_drop(context.job), self.leave)

        longest = float(ends.max())

        def tips(along: Array) -> Array:
            y = ends[:, None] * along / longest
            return touching(back, bit, np.repeat(xs, len(along)), y.ravel()).reshape(y.shape)

        # A section is symmetric: what is found on one side holds for the other.
        along = followed(tips, np.linspace(0.0, longest, max(2, math.ceil(longest / _STEP)) + 1))
        half = tips(along) + HIGHER
        y = ends[:, None] * np.concatenate([-along[:0:-1], along]) / longest
        z = np.concatenate([half[:, :0:-1], half], axis=1)
        wood = np.full(y.shape, context.face)
        for feature in (f for f in context.setup.features if isinstance(f, BackPasses)):
            wood = np.minimum(wood, feature.top_over(context, bit.radius, xs, y) + _CLEAR)
        ways = np.stack([np.broadcast_to(xs[:, None], y.shape), y, z, np.maximum(wood, z)], axis=2)
        return tuple(straightened(way) for way in ways)

    def _end(self, context: SetupContext, x: float, radius: float) -> float:
        """How far from the centreline the bit's middle goes, mm: the bit stays within the trimmed neck."""
        instrument = context.job.instrument
        half = float(np.min(half_width_at(instrument, np.array([x - radius, x, x + radius]))))
        end = min(half * part_of_width(instrument, self.down_to) + radius, half - radius)
        if end <= 0:
            raise FeatureError(f"{self.bit} is as wide as the neck", "name a narrower bit", "bit")
        return end

    def _refuse(self, context: SetupContext, bit: Bit) -> None:
        units = context.job.units
        if context.job.part != "neck" or not context.flipped:
            raise FeatureError("this setup does not show the neck's back", "put it into a setup with `flip: about x`")
        must_be_flat(self.bit, bit, "a kerf's floor would be round", units)
        if self.every < 1.5 * bit.cut_diameter:
            raise FeatureError(
                f"kerfs {show(bit.cut_diameter, units)} wide, every {show(self.every, units)}, leave too little wood "
                "between them",
                f"make `every` {show_at_least(1.5 * bit.cut_diameter, units)} or more",
                "every",
            )


def _range(figures: list[Figure], units: Units) -> str:
    """The least and the greatest of some lengths."""
    least, most = (show(mm, units) for mm in (min(f.value for f in figures), max(f.value for f in figures)))
    return least if least == most else f"{least} to {most}"
