"""`bed_bores`: holes in the bare bed for the pins that the turned work will sit on, under the same offset."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show, show_at_most
from toolpaths.features.bored_feature import BoredFeature, Places
from toolpaths.features.fits import Fit
from toolpaths.features.hole_rules import floor_at, must_suit, point_of
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation
from toolpaths.target_shape.demand import Demand


class BedBores(BoredFeature):
    """Holes in the bed, cut before the blank lies there; pins in them hold the blank by its own bores."""

    key = "bed_bores"
    cuts = frozenset({CutKind.bed_hole})
    hole = CutKind.bed_hole
    word = "bed bore"
    title = "holes in the bed for the pins"
    stage = Stage.before
    order = "bed"

    at: Places = Field(min_length=1, max_length=200, description="Places of the holes, as in `pin_bores`.")
    diameter: Size | None = Field(default=None, description="Diameter of all holes that do not have their own.")
    depth: Size = Field(description="Depth in the bed.")

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc of each diameter, that deep below the bed's surface."""
        bit = context.bits[self.bit]
        for i, (x, y, d) in enumerate(self._holes(context), 1):
            yield replace(
                self._disc(context, self.hole, f"bed bore {i}", (x, y, d), self.depth),
                floor=floor_at(bit, (x, y), context.bed - self.depth, through=False),
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Helical bores from the bed's surface down."""
        bit, holes = context.bits[self.bit], self._holes(context)
        must_suit(self.bit, bit, [d for _, _, d in holes], context.job.units)
        if context.setup.under.backing:
            problem = "a backing would cover the holes: the pins could not reach the blank"
            raise FeatureError(problem, "leave the backing out, or bore the holes in a jig", "")
        yield self._bore(context, holes, "bed bore {}", context.bed, context.bed - self.depth - point_of(bit))

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """No fits: the bed is not made of the job's wood."""
        return iter(())

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Setting the pins, and laying the blank on them."""
        cuts = [near.cut(context, demand, self) for demand in near.own(context, self)]
        sizes = " and ".join(dict.fromkeys(show(wide.value, context.job.units) for wide, _ in cuts))
        placed = context.setup.placed
        if placed:
            yield Handwork(
                self.name,
                f"Keep {len(self.at)} pins ({sizes}) ready for the move to {placed[1].name}: lay the blank over the "
                "holes now, without pins. Once they are set, they may stand at most "
                f"{show_at_most(self._highest(context, near), context.job.units)} above the bed.",
                when="before the next",
                figures=tuple(wide for wide, _ in cuts),
            )
            return
        yield Handwork(
            self.name,
            f"Set {len(self.at)} pins ({sizes}) into the bed. They may stand at most "
            f"{show_at_most(self._highest(context, near), context.job.units)} above it. Lay the blank on them: it must "
            "go down without force and must not turn.",
            when="before the next",
            figures=tuple(wide for wide, _ in cuts),
        )

    def _highest(self, context: SetupContext, near: Surfaces) -> float:
        """How high the pins may stand above the bed, mm: within their bores, and clear of what is cut above them."""
        out: list[float] = []
        shifts = [one.shift for one in context.setup.placed[1:]] or [0.0]
        for x, y, diameter in ((x + by, y, d) for x, y, d in self._holes(context) for by in shifts):
            around = np.linspace(0, 2 * np.pi, 8, endpoint=False)
            far = diameter / 2 + context.setup.clearance
            places = [(x, y), *zip(x + far * np.cos(around), y + far * np.sin(around), strict=True)]
            seen = [(float(a), context.mirror * float(b)) for a, b in places]
            if context.setup.placed:  # the bores that they come through are open to the top
                lowest = min(near.top(context, at)[0] for at in seen[1:]) - context.setup.clearance
                out.append(context.above_bed(lowest))
                continue
            lowest = min(near.top(context, at)[0] for at in seen) - context.setup.clearance
            out.append(context.above_bed(min(lowest, near.under(context, seen[0]))))
        return max(min(out), 0.0)
