"""`bolt_bores`: holes for screws, bolts or ferrules, with a wider counterbore for the head where asked."""

from __future__ import annotations

from typing import Annotated, ClassVar

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
from toolpaths.instrument.tuner_posts import wood_top
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import Lies
from toolpaths.job.holes import HolePlace, place_of
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.operation import Bore, Operation
from toolpaths.target_shape.demand import Demand


class Counterbore(InputModel):
    """The wider part of a stepped hole, flat at its bottom."""

    diameter: Size = Field(description="Wider than the hole.")
    depth: Size = Field(description="Below the plane of the glue face.")


class BoltBores(Feature):
    """Round holes, through unless a depth is given, each in the middle of its counterbore."""

    key: ClassVar[str] = "bolt_bores"
    cuts: ClassVar[frozenset[CutKind]] = frozenset({CutKind.bolt_hole, CutKind.counterbore})
    stage: ClassVar[Stage] = Stage.holes
    lies: ClassVar[Lies] = "anywhere"
    within: ClassVar[tuple[float, float]] = (0.0, 0.1)

    at: Annotated[tuple[Annotated[HolePlace, BeforeValidator(place_of)], ...], AsTuple] = Field(
        min_length=1, max_length=200, description="Places as in `pin_bores`."
    )
    diameter: Size = Field(description="Of the holes.")
    depth: Size | None = Field(default=None, description="Below the plane of the glue face; through if absent.")
    counterbore: Counterbore | None = Field(
        default=None, description="The wider part: `{diameter: 14, depth: 4}`, its depth from the same plane."
    )

    @model_validator(mode="after")
    def _stepped(self) -> BoltBores:
        if self.counterbore is not None:
            widest = max(p.diameter or self.diameter for p in self.at)
            if self.counterbore.diameter <= widest:
                raise ValueError("the counterbore must be wider than the hole")
        return self

    def demands(self, scene: SetupContext) -> list[Demand]:
        """A disc for each hole, and a wider, less deep one for its counterbore."""
        out: list[Demand] = []
        for i, (x, y, d) in enumerate(self._holes(scene), 1):
            steps = [(CutKind.bolt_hole, f"bolt {i}", d, self.depth)]
            if self.counterbore is not None:
                wide, deep = self.counterbore.diameter, self.counterbore.depth
                steps.append((CutKind.counterbore, f"counterbore of bolt {i}", wide, deep))
            out += [
                Demand(
                    feature=self.name,
                    job_line=self.line,
                    setup=scene.setup.name,
                    name=name,
                    kind=kind,
                    through=depth is None,
                    asked=Loop.circle(x, y, width / 2).shape(),
                    floor=floor_at(scene.bits[self.bit], (x, y), scene.at_depth(depth or 0.0), through=depth is None),
                    radius=scene.bits[self.bit].radius,
                    reach=scene.machine.bed_allowance if depth is None else 0.0,
                )
                for kind, name, width, depth in steps
            ]
        return out

    def operations(self, scene: SetupContext) -> list[Operation]:
        """The counterbores first, then the holes from their floor down."""
        holes = self._holes(scene)
        wide = [] if self.counterbore is None else [self.counterbore.diameter]
        must_suit(self.bit, scene.bits[self.bit], [*(d for _, _, d in holes), *wide], scene.job.units)
        tops = [wood_top(scene, x, max([d, *wide]) / 2) for x, _, d in holes]
        top = max(tops)
        out: list[Operation] = []
        if self.counterbore is not None:
            step = hole_floor(scene, self.counterbore.depth, min(tops), "counterbore")
            out.append(self._bore(scene, [wide[0]] * len(holes), "counterbore of bolt {}", top, step))
            top, tops = step, [step]
        try:
            floor = hole_floor(scene, self.depth, min(tops))
        except FeatureError:
            if self.counterbore is None or scene.at_depth(self.depth or 0.0) <= 0:
                raise
            raise FeatureError("the holes end inside their counterbores", "a deeper hole", "depth") from None
        name = f"bolt {{}}, through, {BACKING}" if self.depth is None else "bolt {}"
        tip = tip_at(scene.bits[self.bit], floor, scene.job.units, through=self.depth is None)
        out.append(self._bore(scene, [d for _, _, d in holes], name, top, tip))
        return out

    def by_hand(self, scene: SetupContext, near: Surfaces) -> list[Handwork]:
        """A backing before through holes."""
        if self.depth is not None:
            return []
        allowance = show(scene.machine.bed_allowance, scene.job.units)
        return [
            Handwork(
                self.name,
                f"Before setup {scene.setup.name}: lay a flat backing of waste wood under the bolt holes, so that they "
                f"do not break out below; the bit goes {allowance} into it.",
                when="before the setup",
            )
        ]

    def _bore(self, scene: SetupContext, diameters: list[float], name: str, top: float, floor: float) -> Bore:
        holes = self._holes(scene)
        return Bore(
            feature=self.name,
            job_line=self.line,
            bit=self.bit,
            cutting=settle(self, scene.bits[self.bit], scene.wood, scene.machine),
            title="holes for the bolts",
            centres=np.asarray([(x, y) for x, y, _ in holes], dtype=np.float64),
            diameters=np.asarray(diameters, dtype=np.float64),
            names=tuple(name.format(i) for i in range(1, len(holes) + 1)),
            top=top,
            floor=floor,
        )

    def _holes(self, scene: SetupContext) -> list[tuple[float, float, float]]:
        """(x, y, diameter) of each."""
        instrument = scene.job.instrument
        return [(x_of(p.x, instrument, "at"), p.y, p.diameter or self.diameter) for p in self.at]
