"""`side_dots`: holes for dots in the edge of the finished board, which stands on its other edge."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import numpy as np
from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size, show
from toolpaths.features.feature import Feature
from toolpaths.features.hole_rules import must_suit
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.markers import Edge
from toolpaths.instrument.side_dot_places import SideDot, dot_places, edge_length
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Bore, Operation
from toolpaths.target_shape.demand import Demand, Level

LEAST = 0.8
"""Wood between a hole and the board's face or back, mm. Common practice, no source."""
DEEPEST = 6.0
"""Deeper holes are none for dots: a wrong zero would then reach far into the board, mm. Common practice, no source."""


class SideDots(Feature):
    """Holes for dots in the upper edge."""

    key = "side_dots"
    cuts = frozenset({CutKind.side_dot})
    stage = Stage.fill
    within = (0.0, 0.05)
    piece = "edge"

    diameter: Size = Field(description="Diameter of each hole.")
    depth: Size = Field(description="Depth below the upper edge.")
    at: Size | None = Field(
        default=None, description="From the board's face to the middle of a dot; the middle of the edge if absent."
    )
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None,
        max_length=61,
        description="Frets that get a dot; 3 5 7 9 12 15 17 19 21 24 as far as there are frets if absent.",
    )
    doubles: Annotated[tuple[int, ...], AsTuple] = Field(default=(12, 24), description="Frets that get two dots.")
    double_spacing: Size | None = Field(
        default=None, description="Distance between the two dots of a double; 7 mm if absent."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc at each place along the edge, down to the depth."""
        y = self._across(context)
        for dot in self._dots(context):
            yield Demand(
                *self.demand_head(context, dot.name),
                kind=CutKind.side_dot,
                asked=Loop.circle(dot.along, y, self.diameter / 2).shape(),
                floor=Level(context.at_depth(self.depth)),
                radius=context.bits[self.bit].radius,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Helical bores; straight down where the bit is as wide as the hole and may."""
        bit, units = context.bits[self.bit], context.job.units
        must_suit(self.bit, bit, [self.diameter], units)
        if context.job.part != "board":
            raise FeatureError(
                "side dots are bored into a board's edge only", "put them into a job with `part: board`", ""
            )
        if self.depth > DEEPEST:
            raise FeatureError(
                f"{show(self.depth, units)} is too deep: side dots are at most {show(DEEPEST, units)} deep",
                "make them less deep",
                "depth",
            )
        thick = context.stock.width
        at = thick / 2 if self.at is None else self.at
        if min(at, thick - at) - self.diameter / 2 < LEAST - 1e-9:
            raise FeatureError(
                f"a hole of {show(self.diameter, units)} at {show(at, units)} from the face of a board "
                f"{show(thick, units)} thick leaves less than {show(LEAST, units)} of wood",
                "make the dots smaller, or change `at`",
                "at",
            )
        self._must_be_the_board(context)
        dots, y = self._dots(context), self._across(context)
        yield Bore(
            *self.operation_head(
                context,
                f"holes of {show(self.diameter, context.machine.units)} for the side dots",
                context.at_depth(self.depth),
            ),
            centres=np.array([(dot.along, y) for dot in dots]),
            diameters=np.full(len(dots), self.diameter),
            names=tuple(dot.name for dot in dots),
        )

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Levelling before the setup, filling after it."""
        units, count = context.job.units, len(self._dots(context))
        volume = count * np.pi * self.diameter**2 / 4 * self.depth / 1000
        yield Handwork(
            self.name,
            f"Before setup {context.setup.name}: the edges of a tapered board are not parallel. Run a dial indicator "
            "along the upper edge, and wedge the lower edge until both ends read the same.",
            when="before the setup",
        )
        yield Handwork(
            self.name,
            f"Glue in or fill {count} side dots: {show(self.diameter, units)} across, {show(self.depth, units)} deep "
            f"from the board's edge, {volume:.2f} ml of filler in all. Level them.",
            figures=tuple(f for row in self.measures(context, near) for f in row.figures),
        )

    def _across(self, context: SetupContext) -> float:
        """y of the dots: the face lies at the far side of a right-handed board whose bass edge is up."""
        thick = context.stock.width
        away = thick / 2 - (thick / 2 if self.at is None else self.at)
        return away if context.setup.stand == "bass edge up" else -away

    def _dots(self, context: SetupContext) -> tuple[SideDot, ...]:
        return dot_places(context.job.instrument, _edge(context), self.frets, self.doubles, self.double_spacing)

    def _must_be_the_board(self, context: SetupContext) -> None:
        """Raises FeatureError where what stands there is not as long as the job's board, or thinner than it may be."""
        instrument, units = context.job.instrument, context.job.units
        edge = edge_length(instrument, _edge(context))
        if context.stock.length - context.setup.nut_at < edge - 0.5:
            raise FeatureError(
                f"the edge is {show(edge, units)} long from the nut's end, and the `stock` of setup "
                f"{context.setup.name} reaches only {show(context.stock.length - context.setup.nut_at, units)} "
                "beyond its corner",
                "in `stock` give the board as it is held: its thickness as `width`, its height as `thickness`",
                "",
            )


def _edge(context: SetupContext) -> Edge:
    return "bass" if context.setup.stand == "bass edge up" else "treble"
