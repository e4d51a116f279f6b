"""`facets`: flat planes along the shaft's back, as a carver lays them out before rounding."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from toolpaths.features.back_passes import BackPasses
from toolpaths.instrument.back_surfaces import Faceted
from toolpaths.instrument.headstocks import head_drop
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage


class Facets(BackPasses):
    """Cut the shaft's back in planes that touch the finished section."""

    key = "facets"
    cuts = frozenset({CutKind.rough_back})
    stage = Stage.back

    planes: Literal[2, 4] = Field(default=2, description="How many planes on each side, beside the one in the middle.")

    def wanted(self, context: SetupContext) -> Faceted:
        """The lowest of the planes."""
        return Faceted(context.job.instrument, head_drop(context.job), self.leave, self.planes)

    def left(self) -> str:
        """Rounding the edges between the planes."""
        return (
            f"The middles of its {2 * self.planes + 1} planes lie on the finished section. Plane the edges between "
            "them off evenly on both sides, then round to the gauges."
        )
