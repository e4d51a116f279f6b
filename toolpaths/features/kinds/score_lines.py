"""`score_lines`: a shallow line for every fret slot, for the saw to follow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size, show
from toolpaths.features.crowned_cuts import crowned_lines, deepest_drop, domed, groove_shape, left_by_end
from toolpaths.features.feature import Feature
from toolpaths.features.fits import Fit
from toolpaths.features.fret_strips import Place, across, line_measures
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.boards import blind_ends, crossings
from toolpaths.instrument.fans import fret_line
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.handwork.sawing import frets_named, sawing_words, slotted, to_saw
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import cone_of, must_cut_lines, must_reach
from toolpaths.operations.operation import Operation
from toolpaths.operations.slots import Blind
from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import Demand, Floor, Level

RUN_ON = 1.0
"""How far past the finished edge a line runs, beyond the bit's radius, mm."""


class ScoreLines(Feature):
    """Score the fret slots across the finished width."""

    key = "score_lines"
    cuts = frozenset({CutKind.line})
    stage = Stage.slots
    within = (-0.03, 0.03)
    within_depth = (-0.05, 0.05)

    depth: Size = Field(description="Below the finished face.")
    below: Literal["face", "radius"] = Field(
        default="face", description="Whether the depth counts from the flat face or from the top once it is radiused."
    )
    ends: Literal["open"] | Blind = Field(default="open", description="Whether the lines run out at the edges.")
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None, max_length=61, description="All frets if absent."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A rectangle for each fret: the line at L (1 - 2^(-n/12)), as wide as the bit at that depth.

        On a fanned board a strip about the line through the fret's places on the two outer strings.
        """
        bit, instrument = context.bits[self.bit], context.job.instrument
        dome = domed(Level(context.at_depth(self.depth)), instrument) if self.below == "radius" else None
        for n in frets_named(context.job.instrument, self.frets):
            strip = across(instrument, n)
            (_, bass), (_, treble) = strip.ends
            if isinstance(self.ends, Blind):
                ends = strip.stops(bit, self.depth, dome, self.ends.blind)
            else:
                drop = deepest_drop(dome, np.asarray(strip.ends)) if dome else 0.0
                beyond = bit.width_at(self.depth + drop) + RUN_ON
                ends = strip.at(bass - beyond), strip.at(treble + beyond)
            whole = groove_shape(bit, self.depth, dome, ends, isinstance(self.ends, Blind))
            yield Demand(
                *self.demand_head(context, f"fret {n}"),
                kind=CutKind.line,
                fret=n,
                asked=whole.intersection(strip.board) if self.ends == "open" else whole,
                floor=self._floor(bit, dome or Level(context.at_depth(self.depth)), ends),
                radius=bit.width_at(self.depth) / 2,
                run_out=whole.difference(strip.board) if self.ends == "open" else None,
                scallop=0.0 if cone_of(bit)[1] else left_by_end(dome, bit, strip.lean, strip.ends),
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """One groove a fret, entered in the waste beyond the finished edge; a blind one slopes down from its end."""
        bit, instrument = context.bits[self.bit], context.job.instrument
        self._refuse(bit, context)
        ends: list[list[tuple[float, float]]] = []
        numbers = sorted(frets_named(context.job.instrument, self.frets))
        for n in numbers:
            line = fret_line(instrument, n)
            (_, bass), (_, treble) = crossings(instrument, line)
            if isinstance(self.ends, Blind):
                first, last = blind_ends(instrument, line, self.ends.blind, partial(self._reach, context))
                if last[1] - first[1] <= bit.cut_diameter:
                    raise FeatureError(
                        f"nothing would be left of the line of fret {n}", "leave less at its ends", "ends"
                    )
                ends.append([first, last])
                continue
            half = bit.width_at(self.depth) / 2
            # Where it leans and is wider at the edge, its outer wall leaves the board later than its middle does.
            wider = max(self._reach(context, place) for place in crossings(instrument, line)) - half
            beyond = half + RUN_ON + wider * abs(line.lean) / line.stretch
            ends.append([(line.at(y), y) for y in (bass - beyond, treble + beyond)])
        lines = np.asarray(ends, dtype=np.float64)
        title = f"score the fret lines {show(self.depth, context.machine.units)} deep"
        names = [f"fret {n}" for n in numbers]
        yield crowned_lines(self, context, title, lines, names, self.depth, self.below == "radius")[0]

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """A line."""
        yield Fit("line", "scored line for a tang", "line", bit.width_at(self.depth), self.depth, self, True)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """The slots to be sawn, each with the depth that is left to saw."""
        left = sorted(set(frets_named(context.job.instrument, self.frets)) - slotted(context.job))
        slots = [to_saw(context.job, n, self.depth, self.below == "radius") for n in left]
        if not slots:
            return
        words, units = sawing_words(context.job, slots, context.job.units), context.job.units
        if isinstance(self.ends, Blind):
            words += f" The lines stop {show(self.ends.blind, units)} short of the edges: let the saw stop there too."
        yield Handwork(self.name, words)

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """One line: its place, width and depth."""
        width = context.bits[self.bit].width_at(self.depth)
        return line_measures(context, near, self, frets_named(context.job.instrument, self.frets), width)

    def _floor(self, bit: Bit, under: Floor, ends: tuple[Place, Place]) -> Floor:
        """As the bit's end leaves it; above a pointed one walls rise to its width at the face."""
        flat, opens = cone_of(bit)
        if opens:
            return ConeGroove(under, *ends, flat, 1 / opens, bit.radius)
        if not isinstance(under, CrownFloor) or self.ends == "open":
            return under
        # A flat end stays level for the last of its width.
        return replace(under, level_from=(max(-ends[0][1] - flat, 0.0), max(ends[1][1] - flat, 0.0)))

    def _reach(self, context: SetupContext, place: Place) -> float:
        """Half of what the bit cuts in the flat face where it stands at a place, mm."""
        bit, (x, y) = context.bits[self.bit], place
        if self.below == "face":
            return bit.width_at(self.depth) / 2
        drop = domed(Level(0.0), context.job.instrument).drop(
            np.array(x), np.array(max(abs(y) - bit.level_radius, 0.0))
        )
        return bit.width_at(self.depth + float(drop)) / 2

    def _refuse(self, bit: Bit, context: SetupContext) -> None:
        must_cut_lines(self.bit, bit)
        must_reach(self.bit, self.depth, bit.cutting_length, context.job.units)
        if self.depth >= context.face:
            raise FeatureError("the lines would go through the board", "score less deep", "depth")
