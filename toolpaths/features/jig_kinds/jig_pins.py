"""`jig_pins`: a hole in a jig for every pin that a served job's blank sits on."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.common.units import show
from toolpaths.features.jig_holes import JigHole, JigHoles, served
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage


class JigPins(JigHoles):
    """Holes for pins, where the setups of the served jobs have theirs."""

    key = "jig_pins"
    cuts = frozenset({CutKind.jig_pin})
    hole = CutKind.jig_pin
    word = "pin"
    title = "holes for the pins of the work"
    stage = Stage.before

    def asked(self, context: SetupContext) -> Iterator[JigHole]:
        """Every pin of every served setup: of its `hold`, else in its `bed_bores`."""
        for one in served(context):
            for x, y, d in one.pins:
                yield JigHole(x, y, d, (one.name,))

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Which pins stand for which setup: those of another would be under the blank."""
        units = context.job.units
        for one in served(context):
            if one.pins:
                sizes = " and ".join(dict.fromkeys(show(d, units) for _, _, d in one.pins))
                yield Handwork(
                    self.name,
                    f"For {one.name}: set its {len(one.pins)} pins ({sizes}). Take out the pins of other setups.",
                    stage=Stage.off_router,
                )
