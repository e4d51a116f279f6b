"""`score_lines`: a shallow line for every fret slot, for the saw to follow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import Annotated, Literal

import numpy as np
from pydantic import Field
from shapely import box

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple
from toolpaths.common.units import Size, show, show_at_least
from toolpaths.features.crowned_cuts import crowned_lines, deepest_drop, domed, groove_shape, left_by_end
from toolpaths.features.fits import Fit
from toolpaths.features.fret_strips import Place, across, line_measures
from toolpaths.features.line_starts import IN_WASTE
from toolpaths.features.lined_feature import LinedFeature
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.boards import blind_ends, crossings
from toolpaths.instrument.fans import FretLine, fret_line
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.handwork.sawing import frets_named, sawing_words, slotted, square_blank, to_saw
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import SAWN_FIRST
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import cone_of, must_cut_lines, must_reach
from toolpaths.operations.operation import Operation
from toolpaths.operations.slots import RUN_ON, Blind
from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import Demand, Floor, Level


class ScoreLines(LinedFeature):
    """Score the fret slots across the finished width."""

    key = "score_lines"
    cuts = frozenset({CutKind.line, CutKind.line_in_waste})
    stage = Stage.slots
    within = (-0.03, 0.03)
    within_depth = (-0.05, 0.05)

    depth: Size = Field(description="Depth below the finished face.")
    below: Literal["face", "radius"] = Field(
        default="face", description="What the depth counts from: the flat face, or the top as it is after radiusing."
    )
    ends: Literal["open", "blank"] | Blind = Field(
        default="open",
        description=(
            "`open`: the lines run out through the board's edges; `blank`: they run on to the blank's parallel "
            "edges, for a mitre box; `{blind: 2.5}`: they end so far from the board's edges."
        ),
    )
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None, max_length=61, description="Frets that get a line; all frets if absent."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A rectangle for each fret: the line at L (1 - 2^(-n/12)), as wide as the bit at that depth.

        On a fanned board a strip about the line through the fret's places on the two outer strings. Lines that run to
        the blank's edges are asked for in the waste too, each by a demand of its own.
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
                # A level floor may begin further out, for the ramp.
                beyond = (
                    bit.width_at(self.depth + drop) + RUN_ON + (IN_WASTE if self.ends == "open" and not dome else 0.0)
                )
                if self.ends == "blank":
                    _, bass, _, treble = context.instrument_box
                ends = strip.at(bass - beyond), strip.at(treble + beyond)
            whole = groove_shape(bit, self.depth, dome, ends, isinstance(self.ends, Blind))
            line = Demand(
                *self.demand_head(context, f"fret {n}"),
                kind=CutKind.line,
                fret=n,
                asked=whole if isinstance(self.ends, Blind) else whole.intersection(strip.board),
                floor=self._floor(bit, dome or Level(context.at_depth(self.depth)), ends),
                radius=bit.width_at(self.depth) / 2,
                run_out=None if isinstance(self.ends, Blind) else whole.difference(strip.board),
                scallop=0.0 if cone_of(bit)[1] else left_by_end(dome, bit, strip.lean, strip.ends),
            )
            yield line
            if self.ends == "blank":
                waste = whole.difference(strip.board).intersection(box(*context.instrument_box))
                kind, name = CutKind.line_in_waste, f"fret {n}, in the waste"
                yield replace(
                    line, kind=kind, name=name, fret=None, asked=waste, run_out=whole.difference(waste), corners=False
                )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """One groove a fret, entered in the waste beyond the finished edge; a blind one slopes down from its end."""
        bit, instrument = context.bits[self.bit], context.job.instrument
        self._refuse(bit, context)
        ends: list[list[tuple[float, float]]] = []
        open_ones: dict[int, tuple[FretLine, float, float]] = {}
        numbers = sorted(frets_named(context.job.instrument, self.frets))
        for n in numbers:
            line = fret_line(instrument, n)
            (_, bass), (_, treble) = crossings(instrument, line)
            if isinstance(self.ends, Blind):
                first, last = blind_ends(instrument, line, self.ends.blind, partial(self._reach, context))
                if last[1] - first[1] <= bit.cut_diameter:
                    raise FeatureError(f"nothing would be left of the line of fret {n}", "make `blind` smaller", "ends")
                ends.append([first, last])
                continue
            half = bit.width_at(self.depth) / 2
            # Where it leans and is wider at the edge, its outer wall leaves the board later than its middle does.
            wider = max(self._reach(context, place) for place in crossings(instrument, line)) - half
            beyond = half + RUN_ON + wider * abs(line.lean) / line.stretch
            open_ones[n] = line, bass - beyond, treble + beyond
        if self.ends == "blank":
            low, high = self._edges(context, open_ones)
            beyond = bit.width_at(self.depth) / 2 + RUN_ON
            open_ones = {n: (line, low - beyond, high + beyond) for n, (line, _, _) in open_ones.items()}
        ends += [[(line.at(y), y) for y in (first, last)] for line, first, last in open_ones.values()]
        lines = np.asarray(ends, dtype=np.float64)
        title = f"score the fret lines {show(self.depth, context.machine.units)} deep"
        names = [f"fret {n}" for n in numbers]
        out = self.ends == "open"
        yield crowned_lines(self, context, title, lines, names, self.depth, self.below == "radius", run_out=out)[0]

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
            words += f" The lines stop {show(self.ends.blind, units)} before the edges. Stop the saw there too."
        if self.ends != "blank":
            yield Handwork(self.name, words)
            return
        blank = square_blank(context.job, context.setup.name)
        if not blank.stands:
            words += (
                f" Setup {context.setup.name} leaves no parallel edge of the blank for a mitre box: follow the lines "
                "by eye, or saw against a block. To saw in a mitre box, give the outline a later setup of its own."
            )
            yield Handwork(self.name, words)
            return
        box_words = (
            "use a mitre box, with a long edge of the blank against its fence. The lines reach the blank's edges."
        )
        if blank.until:
            yield Handwork(self.name, f"Before setup {blank.until}: {box_words} {words}", when="before the setup")
        else:
            yield Handwork(self.name, f"While the blank is still whole: {box_words} {words}")

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """One line: its place, width and depth."""
        width = context.bits[self.bit].width_at(self.depth)
        return line_measures(context, near, self, frets_named(context.job.instrument, self.frets), width)

    def _floor(self, bit: Bit, under: Floor, ends: tuple[Place, Place]) -> Floor:
        """As the bit's end leaves it; above a pointed one walls rise to its width at the face."""
        flat, opens = cone_of(bit)
        if opens:
            return ConeGroove(under, *ends, flat, 1 / opens, bit.radius)
        if not isinstance(under, CrownFloor) or not isinstance(self.ends, Blind):
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

    def _edges(self, context: SetupContext, lines: Mapping[int, tuple[FretLine, float, float]]) -> tuple[float, float]:
        """y of the blank's edges, mm. `lines`: by fret, each with y of the ends that it needs at least.

        Raises FeatureError where one of them would not come out at both edges.
        """
        x0, y0, x1, y1 = context.instrument_box
        short, n = max((max(y0 - bass, treble - y1), n) for n, (_, bass, treble) in lines.items())
        if short > 0:
            raise FeatureError(
                f"at fret {n} the line needs {show_at_least(short, context.job.units)} more wood beyond the "
                "board than the "
                "blank has",
                "take a wider blank, move the board in it (`centre_at`), or leave `ends` out",
                "ends",
            )
        for n, (line, _, _) in lines.items():
            if not all(x0 < line.at(y) < x1 for y in (y0, y1)):
                raise FeatureError(
                    f"the line of fret {n} would leave the blank at its end, not at its long edges",
                    "take a longer blank, or leave `ends` out",
                    "ends",
                )
        return y0, y1

    def _refuse_blank(self, context: SetupContext) -> None:
        """Raises FeatureError for lines to the blank's edges that no saw could follow in a mitre box."""
        job = context.job
        if self.below == "radius":
            raise FeatureError(
                "lines that run to the blank's edges are sawn from the flat face, and do not follow a radius",
                "leave `below` out, or leave `ends` out",
                "ends",
            )
        rounded = any(CutKind.top in f.cuts for s in job.setups for f in s.features)
        if job.instrument.board.radius is not None and not rounded and SAWN_FIRST not in job.by_hand:
            raise FeatureError(
                "slots in a mitre box are sawn before the top is radiused, and the job does not say so",
                f"write `by_hand: {SAWN_FIRST}` at the top of the job, or leave `ends` out",
                "ends",
            )

    def _refuse(self, bit: Bit, context: SetupContext) -> None:
        if self.ends == "blank":
            self._refuse_blank(context)
        must_cut_lines(self.bit, bit)
        must_reach(self.bit, self.depth, bit.cutting_length, context.job.units)
        if self.depth >= context.face:
            raise FeatureError("the lines would go through the board", "make them less deep", "depth")
