"""`engraving`: drawn lines followed by the bit's middle at one depth, or drawn shapes as deep as their walls allow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np
from pydantic import Field
from shapely import LineString

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.crowned_cuts import line_floor
from toolpaths.features.drawn_feature import DrawnFeature
from toolpaths.geometry.loop import Area
from toolpaths.instrument.headstocks import wood_top
from toolpaths.job.bits.vee import Vee
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_cut_lines, must_reach
from toolpaths.operations.operation import Carve, Engrave, Operation
from toolpaths.target_shape.bevel_floor import BevelFloor
from toolpaths.target_shape.demand import Demand

MOST_LINES = 2000
"""Lines of one engraving, after those whose ends meet are joined."""
RIDGE = 0.04
"""Height of the ridges that a pointed bit leaves on a level floor, mm, where the job does not say. Common practice,
no source."""
MOST_RINGS = 400
"""Rings on the level floor of one shape."""
_SEGS = 48


class Engraving(DrawnFeature):
    """Follow drawn lines, such as an ornament or a signature, or carve drawn shapes, such as lettering."""

    key = "engraving"
    cuts = frozenset({CutKind.engraving})
    on_jig = True
    stage = Stage.fill
    sized = False

    follow: Literal["lines", "shapes"] = Field(
        default="lines",
        description="lines: the middle of the bit follows every line, at one depth; "
        "shapes: a V-bit runs along the middle of closed shapes, as deep as both walls allow.",
    )
    ridge: Size | None = Field(
        default=None,
        description="For shapes that are so wide that their floor is level: height of the ridges left on it.",
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """Each line as wide as the bit cuts at that depth; a pointed bit leaves walls that rise from the line.

        Of shapes: slopes from the outline down to where they meet, at most to the depth; from the distance to the
        outline alone. The flat of the tip cannot reach into a sharp foot: so much stays, and ridges on level floors.
        """
        if self.follow == "shapes":
            yield from self._slopes(context)
            return
        lines = self._lines(context)
        surface = wood_top(context, max(float(points[:, 0].max()) for points, _ in lines))
        bit, deep = context.bits[self.bit], surface - context.at_depth(self.depth)
        width = bit.width_at(deep)
        for points, name in lines:
            path = LineString(points)
            yield Demand(
                *self.demand_head(context, name),
                kind=CutKind.engraving,
                asked=path.buffer(width / 2, quad_segs=_SEGS),
                floor=line_floor(bit, path, context.at_depth(self.depth), deep),
                radius=width / 2,
                corners=False,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Every line in passes that come down along it; shapes along their middle."""
        if self.ridge is not None and self.follow == "lines":
            raise FeatureError(
                "only shapes have a floor with ridges", "leave `ridge` out, or write `follow: shapes`", "ridge"
            )
        if self.follow == "shapes":
            yield self._carved(context)
            return
        bit = context.bits[self.bit]
        must_cut_lines(self.bit, bit)
        lines = self._lines(context)
        top, floor = self.top_and_floor(context, max(float(points[:, 0].max()) for points, _ in lines))
        reach = float(bit.height_at(np.array([bit.radius]))[0]) if bit.shape == "vee" else bit.cutting_length
        must_reach(self.bit, top - floor, reach, context.job.units)
        yield Engrave(
            *self.operation_head(context, f"lines from {self.file}", floor, top=top, slot=True),
            paths=tuple(points for points, _ in lines),
            names=tuple(name for _, name in lines),
        )

    def _carved(self, context: SetupContext) -> Carve:
        found, bit, units = self.areas(context), self._vee(context), context.job.units
        top, floor = self.top_and_floor(context, max(float(a.shape().bounds[2]) for a in found))
        # Where the walls meet above the depth, the bit goes no deeper than that.
        widest = max(_widest(a, (top - floor) * bit.spread + bit.tip / 2) for a in found)
        if widest <= bit.tip / 2:
            raise FeatureError(
                f"nothing in {self.file} is wider than the flat of {self.bit}'s tip ({show(bit.tip, units)})",
                "draw it larger, or take a sharper bit",
                "bit",
            )
        deep = min((widest - bit.tip / 2) / bit.spread, top - floor)
        must_reach(self.bit, deep, bit.rim[0], units)
        step = bit.tip + 2 * self._ridge * bit.spread
        level = widest - (top - floor) * bit.spread - bit.tip / 2
        if level / step > MOST_RINGS:
            raise FeatureError(
                f"a floor {show(2 * level, units)} wide at {show(self.depth, units)} would take more than {MOST_RINGS} "
                f"rounds of {self.bit}",
                "cut deeper, allow higher ridges (`ridge`), or clear it as a `pocket` first",
                "depth",
            )
        return Carve(
            *self.operation_head(context, f"shapes from {self.file}", floor, top=top, slot=True),
            areas=found,
            spread=bit.spread,
            tip=bit.tip,
            step=step,
        )

    def _slopes(self, context: SetupContext) -> Iterator[Demand]:
        bit, found = self._vee(context), self.areas(context)
        top = wood_top(context, max(float(a.shape().bounds[2]) for a in found))
        for area in found:
            yield Demand(
                *self.demand_head(context, area.name),
                kind=CutKind.engraving,
                asked=area.shape(),
                floor=BevelFloor(area.shape(), top, 1 / bit.spread, context.at_depth(self.depth)),
                radius=bit.tip / 2,
                scallop=max(bit.tip / 2 / bit.spread, self._ridge),
                corners=False,
            )

    @property
    def _ridge(self) -> float:
        return RIDGE if self.ridge is None else self.ridge

    def _vee(self, context: SetupContext) -> Vee:
        bit = context.bits[self.bit]
        if not isinstance(bit, Vee):
            raise FeatureError(f"{self.bit} is not a V-bit, and only a V-bit touches both walls", "name a V-bit", "bit")
        return bit

    def _lines(self, context: SetupContext) -> tuple[tuple[Array, str], ...]:
        # An outline that is drawn twice is cut once.
        once = {points.tobytes(): (points, name) for points, name in reversed(self.drawn(context).as_lines())}
        lines = tuple(reversed(once.values()))
        if len(lines) > MOST_LINES:
            raise FeatureError(
                f"{len(lines)} lines are too many",
                f"{MOST_LINES} are the most: name one `layer` of the drawing",
                "drawing",
            )
        return lines


def _widest(area: Area, most: float) -> float:
    """Radius of the largest circle within an area, mm, by halving: an area drawn in by more than that is empty."""
    shape = area.shape()
    if not shape.buffer(-most).is_empty:
        low, high = most, math.sqrt(shape.area / math.pi) + most
    else:
        low, high = 0.0, most
    for _ in range(24):
        middle = (low + high) / 2
        low, high = (low, middle) if shape.buffer(-middle).is_empty else (middle, high)
    return high
