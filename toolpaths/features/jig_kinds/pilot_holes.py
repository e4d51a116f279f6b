"""`pilot_holes`: a hole in a jig under every screw that holds a served job's blank."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.jig_holes import JigHole, JigHoles, served
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage


class PilotHoles(JigHoles):
    """Holes for the thread of screws, where the setups of the served jobs have theirs."""

    key = "pilot_holes"
    cuts = frozenset({CutKind.pilot_hole})
    hole = CutKind.pilot_hole
    word = "pilot hole"
    title = "pilot holes for the screws of the work"
    stage = Stage.before

    diameter: Size = Field(description="Diameter of every hole: about that of the screw without its thread.")

    def asked(self, context: SetupContext) -> Iterator[JigHole]:
        """One at each screw of the served setups. Raises FeatureError for a hole that a thread would not hold in."""
        units = context.job.units
        for one in served(context):
            for group in one.screws:
                if self.diameter >= group.diameter:
                    raise FeatureError(
                        f"a screw of {show(group.diameter, units)} ({one.name}) finds no hold in a hole of "
                        f"{show(self.diameter, units)}",
                        "about two thirds of the thread's diameter is usual",
                        "diameter",
                    )
                if group.into_bed > self.depth:
                    raise FeatureError(
                        f"screws of {one.name} go {show(group.into_bed, units)} into the jig, deeper than their holes",
                        f"write `depth: {group.into_bed:g} mm` or more, or shorter screws in that job (`into_bed`)",
                        "depth",
                    )
                for x, y in group.at:
                    yield JigHole(x, y, self.diameter, (one.name,))

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """How long the screws of each setup may be."""
        units = context.job.units
        for one in served(context):
            deepest = max((group.into_bed for group in one.screws), default=0.0)
            if deepest:
                words = (
                    f"For {one.name}: the screws may go {show(deepest, units)} into the jig and no deeper. Measure one."
                )
                yield Handwork(self.name, words, stage=Stage.off_router)
