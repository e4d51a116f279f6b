"""The base of what is engraved into a jig: lines at one depth below its top, or below its seat where they lie in it."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator
from typing import ClassVar

import numpy as np
import shapely
from pydantic import Field
from shapely import LineString, box
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.crowned_cuts import line_floor
from toolpaths.features.feature import Feature
from toolpaths.features.fits import Fit
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.bit_choice import must_cut_lines, must_reach
from toolpaths.operations.operation import Engrave, Operation
from toolpaths.target_shape.demand import Demand

_EDGE = 2.0
"""How far lines stay from the jig's edges, mm."""
_SHORTEST = 3.0
"""Shorter pieces of a line are left out, mm."""
_SEGS = 48


class JigEngraving(Feature):
    """Lines followed by the bit's middle."""

    piece = "jig"
    lies = "anywhere"
    sized = False
    title: ClassVar[str]
    whole: ClassVar[bool] = False
    """Whether a line is drawn whole or not at all."""

    depth: Size = Field(description="Depth below the surface.")

    @abstractmethod
    def drawn(self, context: SetupContext) -> Iterator[tuple[str, LineString]]:
        """Names and lines as seen at the machine, mm. Raises FeatureError."""

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """Each line as wide as the bit cuts at that depth."""
        bit = context.bits[self.bit]
        width = bit.width_at(self.depth)
        for name, line, top in self._lines(context):
            path = scale(line, yfact=context.mirror, origin=(0, 0))
            yield Demand(
                *self.demand_head(context, name),
                kind=CutKind.engraving,
                asked=path.buffer(width / 2, quad_segs=_SEGS),
                floor=line_floor(bit, path, top - self.depth, self.depth),
                radius=width / 2,
                corners=False,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """The lines of the top, then those of the seat."""
        bit, flip = context.bits[self.bit], np.array([1.0, context.mirror])
        must_cut_lines(self.bit, bit)
        must_reach(self.bit, self.depth, bit.cutting_length, context.job.units)
        found = self._lines(context)
        if not found:
            raise FeatureError("no line lies on the jig", "make the jig larger, or change its `nut_at` or `centre_at`")
        for top in sorted({top for *_, top in found}, reverse=True):
            mine = [(name, line) for name, line, own in found if own == top]
            deep = show(self.depth, context.machine.units)
            title = f"{self.title}, {deep} deep"
            yield Engrave(
                *self.operation_head(context, title, top - self.depth, top=top, slot=True),
                paths=tuple(shapely.get_coordinates(line) * flip for _, line in mine),
                names=tuple(name for name, _ in mine),
            )

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """No fits."""
        return iter(())

    def _lines(self, context: SetupContext) -> list[tuple[str, LineString, float]]:
        """Names, pieces of lines, and the height of the surface that each lies in, mm."""
        zones = list(_zones(context, context.bits[self.bit], self.depth))
        drawn: BaseGeometry = LineString()
        out: list[tuple[str, LineString, float]] = []
        for name, line in self.drawn(context):
            # What two lines share is cut once.
            left = line if self.whole else line.difference(drawn)
            drawn = drawn if self.whole else drawn.union(line)
            for top, zone in zones:
                inside = left.intersection(zone)
                if self.whole:
                    inside = left if zone.covers(left) else LineString()
                merged = shapely.line_merge(inside)
                pieces = [p for p in shapely.get_parts(merged) if isinstance(p, LineString)]
                out += [(name, p, top) for p in pieces if p.length >= (0.0 if self.whole else _SHORTEST)]
        return out


def _zones(context: SetupContext, bit: Bit, depth: float) -> Iterator[tuple[float, BaseGeometry]]:
    """Heights of the jig's surfaces, and where a bit can engrave each: off edges, walls, and what stands there."""
    face, seat = context.face, context.seat
    inner, aside = box(*context.stock_box).buffer(-_EDGE, join_style="mitre"), bit.radius + 1.0
    clear = context.setup.clearance + 0.5
    for top, zone in (
        (face, inner if seat.box is None else inner.difference(box(*seat.box).buffer(aside))),
        (seat.height, None if seat.box is None else box(*seat.box).buffer(-aside, join_style="mitre")),
    ):
        if zone is not None:
            high = [it for it in context.obstacles if it.top + clear > top - depth]
            stands = [box(*it.box).buffer(it.radius + bit.radius + clear) for it in high]
            yield top, zone.difference(shapely.union_all(stands))
