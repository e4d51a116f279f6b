"""`tuner_bores`: holes for the tuning machines, at places given or laid out along the headstock's sides."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

import numpy as np
from pydantic import BeforeValidator, Field, model_validator

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple, InputModel
from toolpaths.common.units import Size, show
from toolpaths.features.bores import BACKING, floor_at, hole_floor, must_suit, tip_at
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.places import x_of
from toolpaths.instrument.tuner_posts import post_layout, wood_top
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import Lies
from toolpaths.job.holes import HolePlace, place_of
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.operation import Bore, Operation
from toolpaths.target_shape.demand import Demand


def _sides(value: Any) -> Any:
    pair = value if isinstance(value, list | tuple) else [value, value]
    whole = [v for v in pair if isinstance(v, int) and not isinstance(v, bool) and 0 <= v <= 12]
    if len(pair) != 2 or len(whole) != 2 or not any(whole):
        raise ValueError("give one number for both sides, or [treble side, bass side], each from 0 to 12")
    return tuple(pair)


class Layout(InputModel):
    """Posts in a row along each side of the headstock."""

    per_side: Annotated[tuple[int, int], BeforeValidator(_sides)] = Field(
        description="How many on each side, or [treble side, bass side]."
    )
    first: AlongNeck = Field(description="x of the post nearest the nut; negative.")
    spacing: Size = Field(description="From one post to the next, along x.")
    edge: Size = Field(description="From a post's middle to the headstock's side, straight across.")


class TunerBores(Feature):
    """Holes for the tuning machines, through the headstock unless a depth is given."""

    key: ClassVar[str] = "tuner_bores"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.tuner_hole})
    stage: ClassVar[Stage] = Stage.holes
    lies: ClassVar[Lies] = "anywhere"
    within: ClassVar[tuple[float, float]] = (0.0, 0.05)

    diameter: Size = Field(description="Of the holes.")
    at: Annotated[tuple[Annotated[HolePlace, BeforeValidator(place_of)], ...], AsTuple] | None = Field(
        default=None, min_length=1, max_length=200, description="Places as in `pin_bores`."
    )
    layout: Layout | None = Field(
        default=None, description="Rows along the sides: `{per_side: 2, first: -45, spacing: 38, edge: 14}`."
    )
    depth: Size | None = Field(default=None, description="Below the glue face; through if absent.")

    @model_validator(mode="after")
    def _one_way(self) -> TunerBores:
        if (self.at is None) == (self.layout is None):
            raise ValueError("give the places either in `at` or by `layout`")
        return self

    def demands(self, scene: SetupContext) -> list[Demand]:
        """A disc at each place, to the depth or through to the bed."""
        through = self.depth is None
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name=f"tuner {i}",
                kind=CutKind.tuner_hole,
                through=through,
                asked=Loop.circle(x, y, d / 2).shape(),
                floor=floor_at(scene.bits[self.bit], (x, y), scene.at_depth(self.depth or 0.0), through=through),
                radius=scene.bits[self.bit].radius,
                reach=scene.machine.bed_allowance if through else 0.0,
            )
            for i, (x, y, d) in enumerate(self._holes(scene), 1)
        ]

    def operations(self, scene: SetupContext) -> list[Operation]:
        """Helical bores, from the lowered face where the headstock has one."""
        bit, holes = scene.bits[self.bit], self._holes(scene)
        must_suit(self.bit, bit, [d for _, _, d in holes], scene.job.units)
        top = max(wood_top(scene, x, d / 2) for x, _, d in holes)
        floor = hole_floor(scene, self.depth, min(wood_top(scene, x, d / 2) for x, _, d in holes))
        after = f", through, {BACKING}" if self.depth is None else ""
        return [
            Bore(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine),
                title="holes for the tuning machines",
                centres=np.asarray([(x, y) for x, y, _ in holes], dtype=np.float64),
                diameters=np.asarray([d for _, _, d in holes], dtype=np.float64),
                names=tuple(f"tuner {i}{after}" for i in range(1, len(holes) + 1)),
                top=top,
                floor=tip_at(bit, floor, scene.job.units, through=self.depth is None),
            )
        ]

    def by_hand(self, scene: SetupContext, near: Surfaces) -> list[Handwork]:
        """A backing before through holes."""
        if self.depth is not None:
            return []
        allowance = show(scene.machine.bed_allowance, scene.job.units)
        return [
            Handwork(
                self.name,
                f"Before setup {scene.setup.name}: lay a flat backing of waste wood under the headstock, as the bed or "
                f"on it, so that the tuner holes do not break out below; the bit goes {allowance} into it.",
                when="before the setup",
            )
        ]

    def _holes(self, scene: SetupContext) -> list[tuple[float, float, float]]:
        """(x, y, diameter) of each."""
        instrument = scene.job.instrument
        if self.layout is not None:
            row = self.layout
            first = x_of(row.first, instrument, "layout")
            places = post_layout(instrument, row.per_side, first, row.spacing, row.edge)
            return [(x, y, self.diameter) for x, y in places]
        if not self.at:
            raise FeatureError("no place is given", "see `at` and `layout`", "at")
        return [(x_of(p.x, instrument, "at"), p.y, p.diameter or self.diameter) for p in self.at]
