"""`stop_pins`: holes in a jig for dowels that touch a served job's blank where its stops stand."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.jig_holes import JigHole, JigHoles, served
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.holders import TOUCHES
from toolpaths.job.jig import ServedSetup
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.job.stock import KeepOut

_TWO = 3.0
"""A stop at least so many dowels long has two. Common practice, no source."""


class StopPins(JigHoles):
    """Holes for dowels: two to a stop, or one where it is short."""

    key = "stop_pins"
    cuts = frozenset({CutKind.stop_pin})
    hole = CutKind.stop_pin
    word = "dowel"
    title = "holes for the dowels that the work lies against"
    stage = Stage.before

    diameter: Size = Field(description="Diameter of the dowels.")

    def asked(self, context: SetupContext) -> Iterator[JigHole]:
        """The dowels of every stop of every served setup."""
        for one in served(context):
            for stop in one.stops:
                for x, y in self._places(one, stop, context):
                    yield JigHole(x, y, self.diameter, (one.name,))

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Dowels for each setup, and how far they stand up."""
        units = context.job.units
        for one in served(context):
            if one.stops:
                highs = " and ".join(dict.fromkeys(show(stop.height, units) for stop in one.stops))
                yield Handwork(
                    self.name,
                    f"For {one.name}: set its dowels ({show(self.diameter, units)}) so that they stand {highs} above "
                    "the seat. Take out the dowels of other setups.",
                    stage=Stage.off_router,
                )

    def _places(self, one: ServedSetup, stop: KeepOut, context: SetupContext) -> list[tuple[float, float]]:
        """Middles of a stop's dowels. Raises FeatureError where it does not touch the blank, or is too small."""
        (x0, y0, x1, y1), r, units = one.box, self.diameter / 2, context.job.units
        along_x, along_y = _common(stop.x, (x0, x1)), _common(stop.y, (y0, y1))
        sides = [
            (abs(stop.x[1] - x0), "x", x0 - r, along_y),
            (abs(stop.x[0] - x1), "x", x1 + r, along_y),
            (abs(stop.y[1] - y0), "y", y0 - r, along_x),
            (abs(stop.y[0] - y1), "y", y1 + r, along_x),
        ]
        gap, axis, middle, (low, high) = min(sides, key=lambda s: (s[3][1] <= s[3][0], s[0]))
        if gap > TOUCHES or high <= low:
            raise FeatureError(
                f"{stop.name} of {one.name} does not touch its blank",
                "in its own job, move the stop to the blank's edge or end",
            )
        wide = stop.x[1] - stop.x[0] if axis == "x" else stop.y[1] - stop.y[0]
        if min(high - low, wide) < self.diameter - 1e-9:
            raise FeatureError(
                f"{stop.name} of {one.name} is narrower than its dowels ({show(self.diameter, units)})",
                "take a thinner dowel, or make the stop as wide as the dowel in that job",
                "diameter",
            )
        ends = [low + r, high - r] if high - low >= _TWO * self.diameter else [(low + high) / 2]
        return [(middle, y) if axis == "x" else (y, middle) for y in ends]


def _common(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    return max(one[0], other[0]), min(one[1], other[1])
