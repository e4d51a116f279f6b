"""`locating_pins`: small holes by which the board finds its place on the neck when it is glued."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size, show
from toolpaths.features.bored_feature import Hole, RoundHoles
from toolpaths.features.fits import Fit, hole_fit
from toolpaths.features.fret_strips import across, square_across
from toolpaths.features.hole_rules import floor_at, must_suit, tip_at
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.boards import crossings, drop_at, half_width
from toolpaths.instrument.fans import FretLine, fret_line
from toolpaths.instrument.handwork.handwork import Figure, Handwork, Measure
from toolpaths.instrument.places import x_of
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import GENERAL
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation
from toolpaths.target_shape.demand import Demand

SIDES = (-1, 1)
"""Bass first: successive pins stand on alternate sides."""
DIAMETER, IN_NECK = 2.5, 4.0
"""Diameter of a pin, and depth of its hole in the neck so that wood stays under it, where the job says none, mm. Common
practice, no source."""
BEAD = (2.0, 2.8)
"""How wide a fret's bead is, mm. From memory."""


class LocatingPins(RoundHoles):
    """Holes on alternate sides, each a distance within the board's edge: through the board, blind in the neck."""

    key = "locating_pins"
    cuts = frozenset({CutKind.pin_hole})
    stage = Stage.glue
    title = "holes for the pins between board and neck"
    within = (0.0, 0.05)

    at: Annotated[tuple[AlongNeck, ...], AsTuple] = Field(
        min_length=2,
        max_length=24,
        description="Two or more places along the neck: `[fret 1, fret 13]`; at a fret the hole lies on the "
        "fret's line.",
    )
    diameter: Size = Field(default=DIAMETER, description="Diameter of the pins and their holes.")
    side: Size = Field(default=6.0, description="Distance from the finished board's edge to the centre of each hole.")
    depth: Size | None = Field(
        default=None, description="Depth of each hole; 4 mm in a neck, through a board if absent."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A disc at each place on the line that the fret's own formula draws, within the edge, square to it.

        Apart from `operations`: the lines are those of `features/fret_strips.py`.
        """
        instrument, through = context.job.instrument, self._depth(context) is None
        floor = 0.0 if through else self._floor(context)
        for i, place in enumerate(self.at):
            x = 0.0 if place.fret is not None else x_of(place, instrument, "at")
            strip = square_across(instrument, x) if place.fret is None else across(instrument, place.fret)
            middle = strip.inside(SIDES[i % 2], self._inside(context))
            yield Demand(
                *self.demand_head(context, f"locating pin {i + 1}"),
                kind=CutKind.pin_hole,
                asked=Loop.circle(*middle, self.diameter / 2).shape(),
                floor=floor_at(context.bits[self.bit], middle, floor, through=through),
                radius=context.bits[self.bit].radius,
                reach=context.breakthrough if through else 0.0,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Helical bores; straight down where the bit is as wide as the hole and may."""
        bit, holes, through = context.bits[self.bit], self._holes(context), self._depth(context) is None
        must_suit(self.bit, bit, [self.diameter], context.job.units)
        tip = tip_at(bit, self._floor(context), context.job.units, through=through)
        yield self._bore(context, holes, "locating pin {}", context.face, tip)

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """A hole."""
        yield hole_fit(self, bit, "locating", "bore for a locating pin", self.diameter, self.depth)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """The pins in the neck, how long they may be; under which frets the board's holes vanish."""
        units, count, job = context.job.units, len(self.at), context.job
        cuts = [near.cut(context, demand, self) for demand in near.own(context, self)]
        figures = tuple(figure for pair in cuts for figure in pair if figure is not None)
        if job.part == "neck":
            over = min(self._under_slot(context, *hole) for hole in self._holes(context))
            longest = show(IN_NECK + over if self.depth is None else self.depth + over, units)
            yield Handwork(
                self.name,
                f"Cut {count} pins of {show(self.diameter, units)}, at most {longest} long: each must end below the "
                "bottom of its fret's slot. Set them dry and press the board on. It must lie flat, and its edges must "
                "run evenly inside the neck's. Only then glue.",
                figures=figures,
            )
            return
        if self._depth(context) is None:
            yield self._backing(context)
            yield Handwork(self.name, self._seen(context), figures=figures)

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """Width and depth, and each hole's place along the neck."""
        out = near.cuts(context, self)
        for demand in near.own(context, self):
            x, y = demand.asked.centroid.x, demand.asked.centroid.y
            place = Figure("place", x, context.setup.name, (x, y), within=GENERAL)
            out.append(Measure("from the nut line to its middle, along the neck", (place,), of=demand.name))
        return [*out, *near.apart(context, self)]

    def _inside(self, context: SetupContext) -> float:
        """From the edge as it is cut in to each hole's centre, mm: strips of binding still come outside of it."""
        job = context.job
        return self.side - (job.instrument.board.binding if job.part == "board" else 0.0)

    def _holes(self, context: SetupContext) -> list[Hole]:
        """(x, y, diameter) of each, mm: where its line crosses one that runs beside the edge, within it."""
        instrument = context.job.instrument
        slope = half_width(instrument, 1.0) - half_width(instrument, 0.0)
        beside = -self._inside(context) * math.hypot(1.0, slope)
        out: list[Hole] = []
        for i, place in enumerate(self.at):
            x = x_of(place, instrument, "at")
            line = FretLine(x) if place.fret is None else fret_line(instrument, place.fret)
            bass, treble = crossings(instrument, line, beside)
            out.append((*(bass if SIDES[i % 2] < 0 else treble), self.diameter))
        return out

    def _depth(self, context: SetupContext) -> float | None:
        """How deep the holes are, mm; None where they go through. Raises FeatureError where they cannot be here."""
        if context.job.part == "neck":
            if context.flipped:
                raise FeatureError(
                    "in this setup the neck lies on its glue face", "bore the holes in the setup that shows it"
                )
            return IN_NECK if self.depth is None else self.depth
        if self.depth is not None and not context.flipped:
            raise FeatureError(
                "a blind hole from the board's face does not reach its back, where the neck is glued",
                "leave `depth` out, or bore in a setup that is turned over (`flip: about x`)",
                "depth",
            )
        return self.depth

    def _floor(self, context: SetupContext) -> float:
        """Height of the floor above the bed, mm; below it where the holes go through."""
        depth = self._depth(context)
        if depth is None:
            return -context.breakthrough
        if depth >= context.face:
            raise FeatureError(
                f"the holes are {show(depth, context.job.units)} deep, and the wood is "
                f"{show(context.face, context.job.units)} thick",
                "make them less deep",
                "depth",
            )
        return context.face - depth

    def _under_slot(self, context: SetupContext, x: float, y: float, _: float) -> float:
        """Wood of the board under the bottom of a fret's slot at a place, mm."""
        job = context.job
        return max(job.instrument.board.thickness - job.saw.depth - drop_at(job.instrument, x, y), 0.0)

    def _seen(self, context: SetupContext) -> str:
        """Where the board's holes show, once the frets are in."""
        units, bare = context.job.units, [p for p in self.at if p.fret is None]
        wide = show(self.diameter, units)
        low, high = (show(bead, units) for bead in BEAD)
        said = [f"The {len(self.at)} holes for the pins go through the board."]
        if len(bare) < len(self.at):
            frets = " and ".join(str(p.fret) for p in self.at if p.fret is not None)
            said.append(
                f"Those at fret {frets} are hidden by a fret whose bead is wider than {wide}. Usual beads are {low} to "
                f"{high} wide: measure yours."
            )
            if self.diameter > BEAD[1]:
                said.append("They are wider than any usual bead, so they will show: plug them, or take thinner pins.")
        if bare:
            said.append(f"{len(bare)} of them are under no fret, so they will show: plug them.")
        said.append(
            "Press the pins in from the back, or pull them out once the clamps are on. No pin may reach into a slot."
        )
        return " ".join(said)
