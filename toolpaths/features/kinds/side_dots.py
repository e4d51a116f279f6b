"""`side_dots`: holes for dots in the edge of the finished board, which stands on its other edge."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

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
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.operation import Bore, Operation
from toolpaths.target_shape.demand import Demand, Level

LEAST = 0.8
"""Wood between a hole and the board's face or back, mm. Common practice, no source."""
DEEPEST = 6.0
"""Deeper holes are none for dots: a wrong zero would then reach far into the board, mm. Common practice, no source."""


class SideDots(Feature):
    """Holes for dots in the upper edge."""

    key: ClassVar[str] = "side_dots"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.side_dot})
    stage: ClassVar[Stage] = Stage.fill
    within: ClassVar[tuple[float, float]] = (0.0, 0.05)
    piece: ClassVar[Literal["", "sheet", "edge"]] = "edge"

    diameter: Size = Field(description="Of each hole.")
    depth: Size = Field(description="Below the upper edge.")
    at: Size | None = Field(
        default=None, description="From the board's face to the middle of a dot; the middle of the edge if absent."
    )
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None, max_length=61, description="3 5 7 9 12 15 17 19 21 24 as far as there are frets, if absent."
    )
    doubles: Annotated[tuple[int, ...], AsTuple] = Field(default=(12, 24), description="As in `marker_pockets`.")
    double_spacing: Size | None = Field(default=None, description="Between the two of a double; 7 mm if absent.")

    def demands(self, scene: SetupContext) -> list[Demand]:
        """A disc at each place along the edge, down to the depth."""
        y = self._across(scene)
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name=dot.name,
                kind=CutKind.side_dot,
                asked=Loop.circle(dot.along, y, self.diameter / 2).shape(),
                floor=Level(scene.at_depth(self.depth)),
                radius=scene.bits[self.bit].radius,
            )
            for dot in self._dots(scene)
        ]

    def operations(self, scene: SetupContext) -> list[Operation]:
        """Helical bores; straight down where the bit is as wide as the hole and may."""
        bit, units = scene.bits[self.bit], scene.job.units
        must_suit(self.bit, bit, [self.diameter], units)
        if scene.job.part != "board":
            raise FeatureError("only a board's edge takes side dots", "make a job of the board", "")
        if self.depth > DEEPEST:
            raise FeatureError(f"side dots are at most {show(DEEPEST, units)} deep", "make them less deep", "depth")
        thick = scene.stock.width
        at = thick / 2 if self.at is None else self.at
        if min(at, thick - at) - self.diameter / 2 < LEAST - 1e-9:
            raise FeatureError(
                f"a hole of {show(self.diameter, units)} at {show(at, units)} from the face of a board "
                f"{show(thick, units)} thick leaves less than {show(LEAST, units)} of wood",
                "smaller dots, or another `at`",
                "at",
            )
        self._must_be_the_board(scene)
        dots, y = self._dots(scene), self._across(scene)
        return [
            Bore(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine),
                title=f"holes of {show(self.diameter, scene.machine.units)} for the side dots",
                centres=np.array([(dot.along, y) for dot in dots]),
                diameters=np.full(len(dots), self.diameter),
                names=tuple(dot.name for dot in dots),
                top=scene.face,
                floor=scene.at_depth(self.depth),
            )
        ]

    def by_hand(self, scene: SetupContext, near: Surfaces) -> list[Handwork]:
        """Levelling before, filling after."""
        units, count = scene.job.units, len(self._dots(scene))
        volume = count * np.pi * self.diameter**2 / 4 * self.depth / 1000
        return [
            Handwork(
                self.name,
                f"Before setup {scene.setup.name}: run an indicator along the upper edge, and wedge the lower one "
                "until both ends read the same; the edges of a tapered board are not parallel.",
                when="before the setup",
            ),
            Handwork(
                self.name,
                f"Fill or glue in {count} side dots ({show(self.diameter, units)} across, {show(self.depth, units)} "
                f"deep from the board's edge; {volume:.2f} ml of filler in all); level them.",
                figures=tuple(f for row in self.measures(scene, near) for f in row.figures),
            ),
        ]

    def _across(self, scene: SetupContext) -> float:
        """y of the dots: the face lies at the far side of a right-handed board whose bass edge is up."""
        thick = scene.stock.width
        away = thick / 2 - (thick / 2 if self.at is None else self.at)
        return away if scene.setup.stand == "bass edge up" else -away

    def _dots(self, scene: SetupContext) -> tuple[SideDot, ...]:
        return dot_places(scene.job.instrument, _edge(scene), self.frets, self.doubles, self.double_spacing)

    def _must_be_the_board(self, scene: SetupContext) -> None:
        """Raises FeatureError where what stands there is not as long as the job's board, or thinner than it may be."""
        instrument, units = scene.job.instrument, scene.job.units
        edge = edge_length(instrument, _edge(scene))
        if scene.stock.length - scene.setup.nut_at < edge - 0.5:
            raise FeatureError(
                f"the edge is {show(edge, units)} long from the nut's end, and the `stock` of setup {scene.setup.name} "
                f"reaches {show(scene.stock.length - scene.setup.nut_at, units)} beyond its corner",
                "measure the board as it stands: length, width is its thickness, thickness is its height",
                "",
            )


def _edge(scene: SetupContext) -> Edge:
    return "bass" if scene.setup.stand == "bass edge up" else "treble"
