"""`screw_holes`: holes for the waste screws of `hold`, bored before anything else and before the screws are in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.bored_feature import Hole, RoundHoles
from toolpaths.features.hole_rules import BACKING, must_suit, tip_at
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.holders import HEAD_ROOM, SCREW_ROOM, Screws
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation
from toolpaths.target_shape.demand import Demand


class ScrewHoles(RoundHoles):
    """A hole through the blank at each screw, wide enough to let it pass, and a wider one where its head is sunk."""

    key = "screw_holes"
    cuts = frozenset({CutKind.screw_hole})
    title = "holes for the waste screws"
    on_jig = True
    stage = Stage.before
    order = "screws"
    sized = False

    diameter: Size | None = Field(
        default=None, description="Diameter of the holes; 0.5 mm wider than the thread if absent."
    )
    head: Size | None = Field(
        default=None, description="Diameter of the wider holes for sunk heads; 1 mm wider than the head if absent."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc through at each screw, and a wider one as deep as its head is sunk."""
        for number, (group, hole, head) in enumerate(self._groups(context), 1):
            yield self._disc(context, CutKind.screw_hole, f"screw {number}", hole, None)
            if group.sunk:
                depth = self._depth(context, group.sunk)
                yield self._disc(context, CutKind.screw_hole, f"head of screw {number}", head, depth)

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """The holes of sunk heads first, then the holes through."""
        bit, units, groups = context.bits[self.bit], context.job.units, self._groups(context)
        sunk = [(group, head) for group, _, head in groups if group.sunk]
        must_suit(self.bit, bit, [d for _, (_, _, d) in sunk] + [d for _, (_, _, d), _ in groups], units)
        if sunk and bit.shape == "drill":
            raise FeatureError(
                f"{self.bit} is a drill and cannot cut a recess for a screw's head", "take a flat bit", "bit"
            )
        for depth in dict.fromkeys(group.sunk for group, _ in sunk):
            holes = [head for group, head in sunk if group.sunk == depth]
            yield self._bore(context, holes, "head of screw {}", context.top, context.top - depth)
        tip = tip_at(bit, -context.breakthrough, units, through=True)
        for depth in dict.fromkeys(group.sunk for group, _, _ in groups):
            holes = [hole for group, hole, _ in groups if group.sunk == depth]
            yield self._bore(context, holes, f"screw {{}}, through, {BACKING}", context.top - depth, tip)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Driving the screws, and taking off what held the blank until then."""
        units = context.job.units
        counts: Counter[tuple[float, float]] = Counter()
        for group in context.setup.holders.screws:
            counts[group.diameter, group.into_bed] += len(group.at)
        sizes = "; ".join(
            f"{count} of {show(thread, units)}, {show(deep, units)} into the bed"
            for (thread, deep), count in counts.items()
        )
        clamps = [c.name for c in context.setup.holders.clamps if c.until is not None]
        after = f" Then take off: {', '.join(clamps)}." if clamps else ""
        words = f"Drive the waste screws by hand through their holes, not hard: {sizes}.{after}"
        yield Handwork(self.name, words, when="before the next")

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """Nothing: no fit depends on them."""
        return []

    @staticmethod
    def _depth(context: SetupContext, sunk: float) -> float:
        """The depth of a head's floor as jobs give depths: from the finished face, from either side."""
        floor = context.top - sunk
        return floor if context.flipped else context.glue - floor

    def _groups(self, context: SetupContext) -> list[tuple[Screws, Hole, Hole]]:
        """Each screw's group, its hole and the hole of its head, in instrument coordinates.

        Raises FeatureError for a setup without placed screws, and for holes that a screw does not pass.
        """
        units = context.job.units
        out: list[tuple[Screws, Hole, Hole]] = []
        for group in context.setup.holders.screws:
            hole, head = self.diameter or group.diameter + SCREW_ROOM, self.head or group.head + HEAD_ROOM
            for key, wide, own, name in (
                ("diameter", hole, group.diameter, "screw"),
                ("head", head, group.head, "screw's head"),
            ):
                if wide < own:
                    raise FeatureError(
                        f"a hole of {show(wide, units)} is narrower than its {name}, {show(own, units)}",
                        f"give a greater `{key}`, or change the screws in `hold`",
                        key,
                    )
            if hole >= group.head:
                raise FeatureError(
                    f"a screw's head of {show(group.head, units)} would go through its hole of {show(hole, units)}",
                    "make the hole narrower, or take screws with wider heads",
                    "diameter",
                )
            for x, y in group.at:
                place = x, context.mirror * y
                out.append((group, (*place, hole), (*place, head)))
        if not out:
            example = "[17, -42]" if units == "mm" else "[0.7, -1.7]"
            raise FeatureError(
                "the screws of this setup have no places",
                f"give them, such as `hold: {{screws: {{at: [{example}]}}}}`",
                "",
            )
        return out
