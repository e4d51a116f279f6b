"""`bolt_bores`: holes for screws, bolts or ferrules, with a wider counterbore for the head where asked."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field, model_validator

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Size
from toolpaths.features.bored_feature import BoredFeature, Places
from toolpaths.features.fits import Fit, hole_fit
from toolpaths.features.hole_rules import hole_floor, must_suit, tip_at
from toolpaths.instrument.headstocks import wood_top
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Operation
from toolpaths.target_shape.demand import Demand


class Counterbore(InputModel):
    """The wider part of a stepped hole, flat at its bottom."""

    diameter: Size = Field(description="Diameter of the wider part.")
    depth: Size = Field(description="Depth below the plane of the glue face.")


class BoltBores(BoredFeature):
    """Round holes, through unless a depth is given, each in the middle of its counterbore."""

    key = "bolt_bores"
    cuts = frozenset({CutKind.bolt_hole, CutKind.counterbore})
    hole = CutKind.bolt_hole
    word = "bolt"
    title = "holes for the bolts"
    within = (0.0, 0.1)

    at: Places = Field(min_length=1, max_length=200, description="Places of the holes, as in `pin_bores`.")
    diameter: Size = Field(description="Diameter of the holes.")
    depth: Size | None = Field(default=None, description="Depth below the plane of the glue face; through if absent.")
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

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc for each hole, and a wider, less deep one for its counterbore."""
        for i, (x, y, d) in enumerate(self._holes(context), 1):
            yield self._disc(context, CutKind.bolt_hole, f"bolt {i}", (x, y, d), self.depth)
            if self.counterbore is not None:
                wide, deep = (x, y, self.counterbore.diameter), self.counterbore.depth
                yield self._disc(context, CutKind.counterbore, f"counterbore of bolt {i}", wide, deep)

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """The counterbores first, then the holes from their floor down."""
        if self.counterbore is None:
            yield from super().operations(context)
            return
        holes, bit, units, wide = (
            self._holes(context),
            context.bits[self.bit],
            context.job.units,
            self.counterbore.diameter,
        )
        must_suit(self.bit, bit, [*(d for _, _, d in holes), wide], units)
        tops = [wood_top(context, x, wide / 2, y) for x, y, _ in holes]
        step = hole_floor(context, self.counterbore.depth, min(tops), "counterbore")
        try:
            floor = hole_floor(context, self.depth, step)
        except FeatureError:
            if context.at_depth(self.depth or 0.0) <= 0:
                raise
            raise FeatureError(
                "the holes end inside their counterbores", "make the holes deeper than the counterbores", "depth"
            ) from None
        tip = tip_at(bit, floor, units, through=self.depth is None)
        wider = [(x, y, wide) for x, y, _ in holes]
        yield self._bore(context, wider, "counterbore of bolt {}", max(tops), step)
        yield self._bore(context, holes, f"bolt {{}}{self._after}", step, tip)

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """A hole of each diameter, and the counterbore."""
        yield from super().fits(bit)
        if self.counterbore is not None:
            yield hole_fit(self, bit, "head", "counterbore", self.counterbore.diameter, self.counterbore.depth)
