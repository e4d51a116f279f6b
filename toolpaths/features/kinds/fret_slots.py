"""`fret_slots`: the slots for the frets' tangs, sawn by the router to their full depth."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
import shapely
from pydantic import Field, model_validator
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple, InputModel
from toolpaths.common.units import Depth, Length, Size, show
from toolpaths.features.crowned_cuts import crowned_lines, domed, groove_shape, left_by_end
from toolpaths.features.fits import Fit, slot_fit
from toolpaths.features.fret_strips import across, line_measures
from toolpaths.features.line_starts import IN_WASTE
from toolpaths.features.lined_feature import LinedFeature
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.boards import blind_ends, crossings
from toolpaths.instrument.fans import fret_line
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.handwork.sawing import frets_named
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation
from toolpaths.operations.slots import RUN_ON, Blind, in_one_pass, refuse_bit
from toolpaths.target_shape.crown_floor import CrownFloor
from toolpaths.target_shape.demand import Demand, Floor, Level

UNDER_TANG = 0.4
"""Room under a tang, mm. Common practice, no source: slots are 1.8 to 2.5 deep, tangs about 1.5."""
LEAST_UNDER = 1.0
"""Wood that must stay under a slot, mm. Common practice, no source."""


class Tang(InputModel):
    """The fret's tang, without its barbs, mm."""

    height: Size = Field(description="Height of the tang, from the underside of the fret's bead down.")
    width: Size = Field(description="Thickness of the tang, without its barbs.")


class FretSlots(LinedFeature):
    """Cut the fret slots to depth across the board."""

    key = "fret_slots"
    cuts = frozenset({CutKind.fret_slot})
    stage = Stage.slots
    within = (-0.03, 0.03)
    within_depth = (-0.05, 0.05)

    depth: Size | None = Field(default=None, description="Depth of the slots below the finished surface.")
    tang: Tang | None = Field(
        default=None, description="The tang of your fret wire: it gives the width, and with `clearance` the depth."
    )
    clearance: Depth = Field(default=UNDER_TANG, description="Free depth under the tang.")
    fit: Length = Field(default=0.0, description="How much wider than the tang a slot is; negative is tighter.")
    below: Literal["face", "radius"] = Field(
        default="face", description="What the depth counts from: the flat face, or the top as it is after radiusing."
    )
    ends: Literal["open"] | Blind = Field(
        default="open",
        description="`open`: the slots run out at the edges; `{blind: 2.5}`: they end so far from the edges.",
    )
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None, max_length=61, description="Frets that get a slot; all frets if absent."
    )

    @model_validator(mode="after")
    def _one_depth(self) -> FretSlots:
        if (self.depth is None) == (self.tang is None):
            raise ValueError("give either the depth of the slots or the tang that goes into them, not both")
        if self.tang is not None and self.tang.width + self.fit <= 0:
            raise ValueError("with this `fit` the slot has no width left")
        return self

    @property
    def deep(self) -> float:
        """Depth below the finished surface, mm."""
        return self.tang.height + self.clearance if self.tang is not None else self.depth or 0.0

    def width(self, bit: Bit) -> float:
        """Width of the slot wanted, mm: the bit's own where the tang's comes close, or none is given."""
        if self.tang is None or in_one_pass(bit, self.tang.width + self.fit):
            return bit.cut_diameter
        return self.tang.width + self.fit

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """A slot: as the job cuts it, right across, where it is as wide as the bit."""
        width, what = self.width(bit), "slot for a fret, across the grain"
        if in_one_pass(bit, width):
            yield Fit("fret", what, "line", width, self.deep, self, True)
        else:
            yield slot_fit(self, bit, "fret", what, width, self.deep, upright=True)

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """For each fret a slot at L (1 - 2^(-n/12)): a rectangle across the finished width, or rounded short of it."""
        bit, instrument = context.bits[self.bit], context.job.instrument
        width, floor = self.width(bit), Level(context.at_depth(self.deep))
        dome = domed(floor, instrument) if self.below == "radius" else None
        for n in frets_named(context.job.instrument, self.frets):
            strip, radius = across(instrument, n), bit.radius
            (_, bass), (_, treble) = strip.ends
            # Along x from the middle to where each of two passes runs.
            aside = (width / 2 - radius) * math.hypot(1.0, strip.lean)
            run_out: BaseGeometry | None = None
            if isinstance(self.ends, Blind):
                # Each pass ends round by itself.
                ways = [strip.moved(by).stops(bit, self.deep, dome, self.ends.blind) for by in _passes(0.0, aside)]
                asked = shapely.union_all([groove_shape(bit, self.deep, None, way, True) for way in ways])
                bass, treble = max(way[0][1] for way in ways) + radius, min(way[1][1] for way in ways) - radius
            else:
                # A level floor may begin further out, for the ramp.
                beyond = bit.cut_diameter + RUN_ON + (0.0 if dome else IN_WASTE)
                half = width / 2 * math.hypot(1.0, strip.lean)
                (x0, y0), (x1, y1) = strip.at(bass - beyond), strip.at(treble + beyond)
                whole = Polygon([(x0 - half, y0), (x0 + half, y0), (x1 + half, y1), (x1 - half, y1)])
                asked, run_out = whole.intersection(strip.board), whole.difference(strip.board)
            yield Demand(
                *self.demand_head(context, f"fret {n}"),
                kind=CutKind.fret_slot,
                fret=n,
                asked=asked,
                floor=self._floor(dome, floor, (-bass, treble)),
                radius=bit.radius,
                run_out=run_out,
                scallop=left_by_end(dome, bit, strip.lean, strip.ends),
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """One groove for each fret, or two side by side where the slot is wider than the bit; nothing is plunged."""
        bit, instrument, units = context.bits[self.bit], context.job.instrument, context.job.units
        width = self.width(bit)
        refuse_bit(self.bit, bit, width, "the slot", units)
        aside = 0.0 if in_one_pass(bit, width) else (width - bit.cut_diameter) / 2
        if aside > bit.radius * 0.9:
            raise FeatureError(
                f"the slot is {show(width, units)} wide and {self.bit} cuts {show(bit.cut_diameter, units)}: two "
                "passes would leave a ridge between them",
                f"take a bit between {show(width / 1.9, units)} and {show(width, units)}",
                "bit",
            )
        ends: list[list[tuple[float, float]]] = []
        names: list[str] = []
        for n in sorted(frets_named(context.job.instrument, self.frets)):
            line = fret_line(instrument, n)
            (_, bass), (_, treble) = crossings(instrument, line)
            for off in _passes(0.0, aside * line.stretch):
                beside = replace(line, x=line.x + off)
                low, high = bass - bit.radius - RUN_ON, treble + bit.radius + RUN_ON
                places = (beside.at(low), low), (beside.at(high), high)
                if isinstance(self.ends, Blind):
                    places = blind_ends(instrument, beside, self.ends.blind, lambda _: bit.radius)
                if places[1][1] - places[0][1] <= 2 * bit.radius:
                    raise FeatureError(f"nothing would be left of the slot of fret {n}", "make `blind` smaller", "ends")
                ends.append(list(places))
                names.append(f"fret {n}" if aside == 0 else f"fret {n}, {'nut' if off < 0 else 'bridge'} side")
        lines = np.asarray(ends, dtype=np.float64)
        title = f"slots for the frets {show(self.deep, context.machine.units)} deep"
        follows, out = self.below == "radius", self.ends == "open"
        found, drop = crowned_lines(self, context, title, lines, names, self.deep, follows, run_out=out)
        self._refuse_deep(context, drop)
        yield found

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """What to check before frets go in."""
        units, bit = context.job.units, context.bits[self.bit]
        wide = bit.cut_diameter if in_one_pass(bit, self.width(bit)) else self.width(bit)
        wide += bit.widening(context.machine.runout)
        fitted = "" if self.tang is None else f", for a tang of {show(self.tang.width, units)}"
        ends = "" if self.ends == "open" else " The slots have round ends: trim the tangs to fit."
        yield Handwork(
            self.name,
            f"The fret slots come out about {show(wide, units)} wide{fitted}. Try a length of fret wire in a scrap "
            f"first. Break the slots' upper edges lightly, so that no chip lifts.{ends}",
        )

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """One slot: its place, width and depth."""
        return line_measures(
            context, near, self, frets_named(context.job.instrument, self.frets), self.width(context.bits[self.bit])
        )

    def _floor(self, dome: CrownFloor | None, floor: Level, ends: tuple[float, float]) -> Floor:
        """`ends`: from the centreline to where the last of a blind slot begins, as long as the bit is wide."""
        if dome is None or not isinstance(self.ends, Blind):
            return dome or floor
        # The bit's flat end stops there, and stays level.
        return replace(dome, level_from=(max(ends[0], 0.0), max(ends[1], 0.0)))

    def _refuse_deep(self, context: SetupContext, drop: float) -> None:
        units = context.job.units
        under = context.at_depth(self.deep) - drop
        if under < LEAST_UNDER:
            raise FeatureError(
                f"only {show(max(under, 0.0), units)} of wood would be left under the slots",
                f"leave at least {show(LEAST_UNDER, units)}: cut them less deep, or make the board thicker",
                "depth" if self.tang is None else "tang",
            )


def _passes(x: float, aside: float) -> tuple[float, ...]:
    """Offsets of the bit's axis from a slot's middle along x, mm: one pass, or one on each side."""
    return (x,) if aside == 0 else (x - aside, x + aside)
