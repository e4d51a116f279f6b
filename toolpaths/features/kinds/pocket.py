"""`pocket`: the inside of drawn outlines cleared to a level floor; outlines within outlines are left standing."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from pydantic import Field
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import show_area
from toolpaths.features.drawn_feature import DrawnFeature
from toolpaths.features.pockets import cleared
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork, depth_words
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation
from toolpaths.target_shape.demand import Demand, Level


class Pocket(DrawnFeature):
    """Clear drawn outlines, such as for an inlay."""

    key = "pocket"
    cuts = frozenset({CutKind.pocket})
    on_jig = True
    stage = Stage.fill
    sized = False

    then: str | None = Field(
        default=None, description="A smaller bit that cuts what the first one leaves in the corners."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """What an odd number of outlines enclose, level at the depth; one demand a piece."""
        for name, shape in self._pieces(context):
            yield Demand(
                *self.demand_head(context, name),
                kind=CutKind.pocket,
                asked=shape,
                floor=Level(context.at_depth(self.depth)),
                radius=context.bits[self.bits[-1]].radius,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Each pocket cleared from the middle outwards, then its walls skimmed; a second bit takes what is left."""
        found = self.areas(context)
        heights = self.top_and_floor(context, max(float(a.shape().bounds[2]) for a in found))
        yield from cleared(self, self.then, found, context, heights, f"pockets from {self.file}")

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """What was assumed, and what is to be laid in."""
        area = sum(a.shape().area for a in self.areas(context))
        units, figures = context.job.units, near.depths(context, self)
        words = f"Inlay or fill the pockets of {self.file}: {show_area(area, units)}, {depth_words(figures, units)}."
        yield from super().by_hand(context, near)
        yield Handwork(self.name, words, area_mm2=area, figures=figures)

    def _pieces(self, context: SetupContext) -> list[tuple[str, BaseGeometry]]:
        shapes = [(loop.shape(), name) for loop, name in self.outlines(context)]
        odd: BaseGeometry = shapely.Polygon()
        for shape, _ in shapes:
            odd = odd.symmetric_difference(shape)
        out: list[tuple[str, BaseGeometry]] = []
        for piece in shapely.get_parts(odd):
            around = [(shape.area, name) for shape, name in shapes if shape.covers(piece.representative_point())]
            out.append((min(around)[1], piece))
        return out
