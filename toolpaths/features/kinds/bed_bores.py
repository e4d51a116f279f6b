"""`bed_bores`: holes in the bare bed for the pins that the turned work will sit on, under the same offset."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import BeforeValidator, Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size, show
from toolpaths.features.bores import floor_at, must_suit, point_of
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import Lies
from toolpaths.job.holes import HolePlace, place_of
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.operation import Bore, Operation
from toolpaths.target_shape.demand import Demand


class BedBores(Feature):
    """Holes in the bed, cut before the work lies there, so that pins in them hold it where the bores in it are."""

    key: ClassVar[str] = "bed_bores"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.bed_hole})
    stage: ClassVar[Stage] = Stage.before
    lies: ClassVar[Lies] = "anywhere"
    within: ClassVar[tuple[float, float]] = (0.0, 0.05)
    order: ClassVar[Literal["bed", "first", "face", "inside", "free"]] = "bed"

    at: Annotated[tuple[Annotated[HolePlace, BeforeValidator(place_of)], ...], AsTuple] = Field(
        min_length=1, max_length=200, description="Places as in `pin_bores`."
    )
    diameter: Size | None = Field(default=None, description="Of all holes that have none of their own.")
    depth: Size = Field(description="Into the bed.")

    def demands(self, scene: SetupContext) -> list[Demand]:
        """A disc of each diameter, that deep below the bed's surface."""
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name=f"bed bore {i}",
                kind=CutKind.bed_hole,
                asked=Loop.circle(x, y, d / 2).shape(),
                floor=floor_at(scene.bits[self.bit], (x, y), -self.depth, through=False),
                radius=scene.bits[self.bit].radius,
            )
            for i, (x, y, d) in enumerate(self._holes(scene), 1)
        ]

    def operations(self, scene: SetupContext) -> list[Operation]:
        """Helical bores from the bed's surface down."""
        bit, units = scene.bits[self.bit], scene.job.units
        holes = self._holes(scene)
        must_suit(self.bit, bit, [d for _, _, d in holes], units)
        return [
            Bore(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine),
                title="holes in the bed for the pins",
                centres=np.asarray([(x, y) for x, y, _ in holes], dtype=np.float64),
                diameters=np.asarray([d for _, _, d in holes], dtype=np.float64),
                names=tuple(f"bed bore {i}" for i in range(1, len(holes) + 1)),
                top=0.0,
                floor=-self.depth - point_of(bit),
            )
        ]

    def by_hand(self, scene: SetupContext, near: Surfaces) -> list[Handwork]:
        """Pins in, work on."""
        cuts = [near.cut(scene, demand, self) for demand in near.own(scene, self)]
        sizes = " and ".join(dict.fromkeys(show(wide.value, scene.job.units) for wide, _ in cuts))
        return [
            Handwork(
                self.name,
                f"Set {len(self.at)} pins ({sizes}) into the bed and lay the work on them; it must go down without "
                "force and must not turn.",
                when="before the next",
                figures=tuple(wide for wide, _ in cuts),
            )
        ]

    def _holes(self, scene: SetupContext) -> list[tuple[float, float, float]]:
        out: list[tuple[float, float, float]] = []
        for place in self.at:
            d = place.diameter or self.diameter
            if d is None:
                raise FeatureError("a hole has no diameter", "give `diameter` once, or with each place", "at")
            out.append((x_of(place.x, scene.job.instrument, "at"), place.y, d))
        return out
