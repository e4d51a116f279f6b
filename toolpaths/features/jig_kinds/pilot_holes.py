"""`pilot_holes`: a hole in a jig under every screw that holds a served job's blank."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show, show_at_least
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
                        f"a screw of {show(group.diameter, units)} ({one.name}) does not hold in a hole of "
                        f"{show(self.diameter, units)}",
                        f"make it about two thirds of the thread's diameter, {show(group.diameter * 2 / 3, units)}",
                        "diameter",
                    )
                if group.into_bed > self.depth:
                    raise FeatureError(
                        f"screws of {one.name} go {show(group.into_bed, units)} into the jig, and their holes are only "
                        f"{show(self.depth, units)} deep",
                        f"write `depth: {show_at_least(group.into_bed, units)}` or more, or take shorter screws "
                        "in that job "
                        "(`into_bed`)",
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
