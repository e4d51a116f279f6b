"""`pin_bores`: round holes for locating pins, in waste or in the part."""

from __future__ import annotations

from typing import Annotated, ClassVar

import numpy as np
from pydantic import BeforeValidator, Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size
from toolpaths.features.bores import floor_at, must_suit, tip_at
from toolpaths.features.feature import Feature
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import Lies
from toolpaths.job.holes import PinPlace, place_of
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.operation import Bore, Clear, Operation
from toolpaths.target_shape.demand import Demand


class PinBores(Feature):
    """Holes for locating pins, through the blank unless a depth is given."""

    key: ClassVar[str] = "pin_bores"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.pin_hole})
    stage: ClassVar[Stage] = Stage.glue
    lies: ClassVar[Lies] = "anywhere"
    within: ClassVar[tuple[float, float]] = (0.0, 0.05)

    at: Annotated[tuple[Annotated[PinPlace, BeforeValidator(place_of)], ...], AsTuple] = Field(
        min_length=1,
        max_length=200,
        description=(
            "Places: `[[x, y], ...]` or `[{x: -8, y: 0, diameter: 4}, ...]`; a fret may stand for an x: `fret 14`."
        ),
    )
    diameter: Size | None = Field(default=None, description="Of all holes that have none of their own.")
    depth: Size | None = Field(default=None, description="Below the finished face; through the blank if absent.")

    def demands(self, scene: SetupContext) -> list[Demand]:
        """A disc of each diameter, to the depth or through to the bed."""
        through = self.depth is None
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name=f"pin {i}",
                kind=CutKind.pin_hole,
                through=through,
                asked=_shape(x, y, d, relief).shape(),
                floor=floor_at(scene.bits[self.bit], (x, y), scene.at_depth(self.depth or 0.0), through=through),
                radius=scene.bits[self.bit].radius,
                reach=scene.machine.bed_allowance if through else 0.0,
            )
            for i, (x, y, d, relief) in enumerate(self._holes(scene), 1)
        ]

    def operations(self, scene: SetupContext) -> list[Operation]:
        """Helical bores; straight down where the bit is as wide as the hole and may."""
        bit, units = scene.bits[self.bit], scene.job.units
        holes = self._holes(scene)
        must_suit(self.bit, bit, [d for _, _, d, _ in holes], units)
        if bit.kind == "drill" and any(relief > 0 for *_, relief in holes):
            raise FeatureError(
                f"{self.bit} is a drill and makes round holes; one is relieved", "take a flat bit", "bit"
            )
        if self.depth is not None and self.depth > scene.face:
            raise FeatureError(
                "the holes are deeper than the board is thick", "leave `depth` out for through holes", "depth"
            )
        floor = -scene.machine.bed_allowance if self.depth is None else scene.at_depth(self.depth)
        cutting = settle(self, bit, scene.wood, scene.machine)
        round_ones = [(i, h) for i, h in enumerate(holes, 1) if h[3] == 0]
        long_ones = [(i, h) for i, h in enumerate(holes, 1) if h[3] > 0]
        out: list[Operation] = []
        if round_ones:
            out.append(
                Bore(
                    feature=self.name,
                    job_line=self.line,
                    bit=self.bit,
                    cutting=cutting,
                    title="holes for the locating pins",
                    centres=np.asarray([(x, y) for _, (x, y, _, _) in round_ones], dtype=np.float64),
                    diameters=np.asarray([d for _, (_, _, d, _) in round_ones], dtype=np.float64),
                    names=tuple(f"pin {i}" for i, _ in round_ones),
                    top=scene.face,
                    floor=tip_at(bit, floor, units, through=self.depth is None),
                )
            )
        if long_ones:
            out.append(
                Clear(
                    feature=self.name,
                    job_line=self.line,
                    bit=self.bit,
                    cutting=cutting,
                    title="relieved holes for the locating pins",
                    loops=tuple(_shape(*h) for _, h in long_ones),
                    names=tuple(f"pin {i}, relieved along x" for i, _ in long_ones),
                    top=scene.face,
                    floor=floor,
                )
            )
        return out

    def _holes(self, scene: SetupContext) -> list[tuple[float, float, float, float]]:
        out: list[tuple[float, float, float, float]] = []
        for place in self.at:
            d = place.diameter or self.diameter
            if d is None:
                raise FeatureError("a hole has no diameter", "give `diameter` once, or with each place", "at")
            out.append((x_of(place.x, scene.job.instrument, "at"), place.y, d, place.relief))
        return out


def _shape(x: float, y: float, diameter: float, relief: float) -> Loop:
    """A circle, or one drawn out along x by the relief."""
    r, half = diameter / 2, relief / 2
    if relief == 0:
        return Loop.circle(x, y, r)
    points = np.array([(x - half, y - r), (x + half, y - r), (x + half, y + r), (x - half, y + r)])
    return Loop(points, np.array([0.0, 1.0, 0.0, 1.0]))
