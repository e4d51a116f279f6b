"""`witness_ring`: a shallow ring around a pin's bore, cut first on the second side, to measure how both sides align."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated

from pydantic import BeforeValidator, Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.bored_feature import BoredFeature
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Area, Loop
from toolpaths.instrument.handwork.handwork import Figure, Handwork, Measure
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import GENERAL
from toolpaths.job.job import Job
from toolpaths.job.place import HolePlace, PinPlace, place_of
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.operation import Clear, Operation
from toolpaths.target_shape.demand import Demand, Level

_SAME = 1.0
"""A ring so near to a bore is cut around it, mm."""
_CLEAR = 0.1
"""So much deeper than the wood over the bore, mm."""


class WitnessRing(Feature):
    """A round pocket about a bore of the first side: its rim is measured on four sides before anything else is cut."""

    key = "witness_ring"
    cuts = frozenset({CutKind.ring})
    stage = Stage.before
    lies = "anywhere"
    order = "first"

    at: Annotated[HolePlace, BeforeValidator(place_of)] = Field(description="Centre of the bore.")
    diameter: Size = Field(description="Diameter of the ring.")
    depth: Size = Field(default=0.6, description="Depth below the upper surface in this setup.")

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc."""
        yield Demand(
            *self.demand_head(context, "witness ring"),
            kind=CutKind.ring,
            asked=self._loop(context).shape(),
            floor=Level(context.top - self.depth),
            radius=context.bits[self.bit].radius,
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Cleared from the middle outwards."""
        bit, units = context.bits[self.bit], context.job.units
        must_be_flat(self.bit, bit, "", units)
        if bit.cut_diameter >= self.diameter:
            problem = (
                f"{self.bit} is {show(bit.cut_diameter, units)} wide, and the ring only {show(self.diameter, units)}"
            )
            raise FeatureError(problem, "take a smaller bit or a wider ring", "bit")
        self._must_open_the_bore(context)
        yield Clear(
            *self.operation_head(
                context, "a ring to measure before this side is cut", context.top - self.depth, top=context.top
            ),
            areas=(Area(self._loop(context), (), "witness ring"),),
        )

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Measuring the ring before the next cut."""
        units, wide = context.job.units, near.cut(context, near.own(context, self)[0], self)[0]
        yield Handwork(
            self.name,
            f"Before anything else is cut on this side: measure from the bore's edge to the edge of the ring "
            f"({show(wide.value, units)} across), on four sides. Opposite values must agree within "
            f"{show(GENERAL[1], units)}. Half of their difference is the offset between the two sides.",
            when="before the next",
            figures=(wide,),
        )

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """From the bore's edge to the ring's, on four sides; the ring's width where no bore of the job is there."""
        bore = next(((d, hole) for f, hole in self._bores(context.job) if (d := hole.diameter or f.diameter)), None)
        if bore is None:
            return super().measures(context, near)
        across, hole = bore
        along = across + (hole.relief if isinstance(hole, PinPlace) else 0.0)
        x, y = x_of(self.at.x, context.job.instrument, "at"), context.mirror * self.at.y
        sides = (
            ("toward the nut's end", (-1.0, 0.0)),
            ("toward the other end", (1.0, 0.0)),
            ("toward you", (0.0, -1.0)),
            ("away from you", (0.0, 1.0)),
        )
        out: list[Measure] = []
        for words, (ux, uy) in sides:
            bored = along if ux else across
            at = (x + bored / 2 * ux, y + bored / 2 * uy)
            figure = Figure("rim", (self.diameter - bored) / 2, context.setup.name, at, (ux, uy), within=GENERAL)
            out.append(Measure("from the bore's edge to the ring's", (figure,), where=words))
        return out

    def _bores(self, job: Job) -> Iterator[tuple[BoredFeature, HolePlace]]:
        """The pins' bores of the other side that the ring is cut around."""
        x, y = x_of(self.at.x, job.instrument, "at"), self.at.y
        for feature in (f for s in job.setups if s.flip is None for f in s.features):
            if isinstance(feature, BoredFeature) and CutKind.pin_hole in feature.cuts:
                for place in feature.at or ():
                    if math.hypot(x_of(place.x, job.instrument, "at") - x, place.y - y) < _SAME:
                        yield feature, place

    def _must_open_the_bore(self, context: SetupContext) -> None:
        """Raises FeatureError where wood would still cover the bore, so that its edge could not be measured from."""
        units = context.job.units
        for feature, _ in self._bores(context.job):
            cover = 0.0 if feature.depth is None else context.top - feature.depth
            if cover > self.depth - _CLEAR:
                raise FeatureError(
                    f"{show(cover - self.depth, units)} of wood would still cover the bore, so that nothing could be "
                    "measured from its edge",
                    f"make the ring {show(cover + 2 * _CLEAR, units)} deep, or let the bore go through",
                    "depth",
                )

    def _loop(self, context: SetupContext) -> Loop:
        return Loop.circle(x_of(self.at.x, context.job.instrument, "at"), self.at.y, self.diameter / 2)
