"""`guide_lines`: the centreline, the nut line and the blanks scored into a jig, by which zero and work are found."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field
from shapely import LineString, box

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import show
from toolpaths.features.jig_engraving import JigEngraving
from toolpaths.features.jig_holes import served
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage

GuideLine = Literal["centreline", "nut", "blank"]
_ALL: tuple[GuideLine, ...] = ("centreline", "nut", "blank")


class GuideLines(JigEngraving):
    """Lines scored into a jig's top and seat."""

    key = "guide_lines"
    cuts = frozenset({CutKind.engraving})
    stage = Stage.before
    title = "guide lines"

    lines: Annotated[tuple[GuideLine, ...], AsTuple] | None = Field(
        default=None, min_length=1, description="Which lines; all if absent."
    )

    def drawn(self, context: SetupContext) -> Iterator[tuple[str, LineString]]:
        """Centreline and nut line right across the jig, and each blank's outline once."""
        ones, (x0, y0, x1, y1) = served(context), context.stock_box
        if not x0 < 0.0 < x1 or not y0 < 0.0 < y1:
            raise FeatureError("the nut line or the centreline is not on the jig", "change its nut_at or centre_at")
        wanted = self.lines or _ALL
        if "centreline" in wanted:
            yield "centreline", LineString([(x0, 0.0), (x1, 0.0)])
        if "nut" in wanted:
            yield "nut line", LineString([(0.0, y0), (0.0, y1)])
        for found in dict.fromkeys(one.box for one in ones) if "blank" in wanted else ():
            names = dict.fromkeys(one.part for one in ones if one.box == found)
            yield f"blank of {' and '.join(names)}", LineString(box(*found).exterior.coords)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """What the lines are for."""
        if {"centreline", "nut"} <= set(self.lines or _ALL):
            yield Handwork(
                self.name,
                f"The engraved centreline is Y 0 and the nut line X 0 of offset {context.setup.offset}. If zero is "
                "ever "
                "lost, bring the point of a V-bit over where they cross. The lines also show whether the jig has "
                "moved. "
                f"They are only {show(self.depth, context.job.units)} deep: do not sand them off.",
                stage=Stage.off_router,
            )
