"""`score_lines`: a shallow line for every fret slot, for the saw to follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, ClassVar, Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from pydantic import Field
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from toolpaths.core.bit import Bit
from toolpaths.core.feature import Feature
from toolpaths.core.finding import Refusal
from toolpaths.core.model import AsTuple
from toolpaths.core.operation import Lines, Operation
from toolpaths.core.outcome import Handwork
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Floor, Groove, Level, Valley
from toolpaths.core.units import Size, show
from toolpaths.trade.boards import crossings
from toolpaths.trade.crown import deepest_drop, domed, groove_end, groove_shape, left_by_end, refuse_short, tip_way
from toolpaths.trade.cutting import settle
from toolpaths.trade.fans import FretLine, fret_line
from toolpaths.trade.fret_strips import across
from toolpaths.trade.sawing import sawing_words, slotted, to_saw
from toolpaths.trade.shapes import must_cut_lines
from toolpaths.trade.slots import Blind

RUN_ON = 1.0
"""How far past the finished edge a line runs, beyond the bit's radius, mm."""
_BESIDE = 1.0
"""How far beside a blind line its walls are known, mm."""
_HAIR = 1e-3
"""Depth at which a bit's end shows how wide it is, mm."""


class ScoreLines(Feature):
    """Score the fret slots across the finished width."""

    key: ClassVar[str] = "score_lines"
    late: ClassVar[Mapping[str, object]] = {"below": "face", "ends": "open"}

    depth: Size = Field(description="Below the finished face.")
    below: Literal["face", "radius"] = Field(
        default="face", description="Whether the depth counts from the flat face or from the top once it is radiused."
    )
    ends: Literal["open"] | Blind = Field(default="open", description="Whether the lines run out at the edges.")
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None, max_length=61, description="All frets if absent."
    )

    def demands(self, scene: Scene) -> list[Demand]:
        """A rectangle for each fret: the line at L (1 - 2^(-n/12)), as wide as the bit at that depth.

        On a fanned board a strip about the line through the fret's places on the two outer strings.
        """
        bit, instrument = scene.bits[self.bit], scene.job.instrument
        width = bit.width_at(self.depth)
        out: list[Demand] = []
        for n in self._numbers(scene):
            x, lean, board, ends = across(instrument, n)
            dome = domed(Level(0.0), instrument) if self.below == "radius" else None
            widest = bit.width_at(self.depth + (deepest_drop(dome, np.asarray(ends)) if dome else 0.0))
            beyond = widest + RUN_ON if self.ends == "open" else -self.ends.blind - widest / 2
            y0, y1 = ends[0][1] - beyond, ends[1][1] + beyond
            whole: BaseGeometry = groove_shape(bit, self.depth, dome, (x, lean), (y0, y1))
            floor = self._floor(bit, x, lean, scene.at_depth(self.depth))
            if self.ends != "open":
                # The bit stops there, and its round end shows.
                rounds = [groove_end(bit, self.depth, dome, (x + lean * y, y)) for y in (y0, y1)]
                whole = shapely.union_all([whole, *rounds])
                if isinstance(floor, Valley):
                    way = LineString([(x + lean * y0, y0), (x + lean * y1, y1)])
                    floor = Groove(way, floor.z, floor.flat, floor.rise, widest / 2 + _BESIDE)
            out.append(
                Demand(
                    feature=self.name,
                    job_line=self.line,
                    setup=scene.setup.name,
                    name=f"fret {n}",
                    asked=whole.intersection(board) if self.ends == "open" else whole,
                    floor=self._followed(floor, scene, (-y0, y1)),
                    radius=width / 2,
                    run_out=whole.difference(board) if self.ends == "open" else None,
                    scallop=left_by_end(dome, bit, ends),
                )
            )
        return out

    def operations(self, scene: Scene) -> list[Operation]:
        """One groove a fret, entered in the waste beyond the finished edge; a blind one slopes down from its end."""
        bit, instrument = scene.bits[self.bit], scene.job.instrument
        self._refuse(bit, scene)
        ends: list[list[tuple[float, float]]] = []
        numbers = sorted(self._numbers(scene))
        for n in numbers:
            line = fret_line(instrument, n)
            (_, bass), (_, treble) = crossings(instrument, line)
            beyond = bit.width_at(self.depth) / 2 + RUN_ON
            if isinstance(self.ends, Blind):
                beyond = -self.ends.blind - bit.width_at(self._deepest(scene, line)) / 2
            if treble - bass + 2 * beyond <= bit.cut_diameter:
                raise Refusal(f"nothing would be left of the line of fret {n}", "leave less at its ends", "ends")
            ends.append([(line.at(y), y) for y in (bass - beyond, treble + beyond)])
        lines, floor = np.asarray(ends, dtype=np.float64), scene.at_depth(self.depth)
        title = f"score the fret lines {show(self.depth, scene.machine.units)} deep"
        floors: tuple[NDArray[np.float64], ...] = ()
        if self.below == "radius":
            dome = domed(Level(floor), instrument)
            refuse_short(scene, self.bit, self.depth, deepest_drop(dome, lines))
            floors = tuple(tip_way(dome, bit, line, floor) for line in lines)
            title += " below the top once it is radiused"
        return [
            Lines(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine, slot=True),
                title=title,
                lines=lines,
                names=tuple(f"fret {n}" for n in numbers),
                top=scene.face,
                floor=min((float(f[:, 1].min()) for f in floors), default=floor),
                floors=floors,
            )
        ]

    def by_hand(self, scene: Scene) -> list[Handwork]:
        """The slots that the saw takes on from here, each with the depth that is left to saw."""
        left = sorted(set(self._numbers(scene)) - slotted(scene.job))
        slots = [to_saw(scene.job, n, self.depth, self.below == "radius") for n in left]
        if not slots:
            return []
        words, units = sawing_words(scene.job, slots, scene.job.units), scene.job.units
        if isinstance(self.ends, Blind):
            words += f" The lines stop {show(self.ends.blind, units)} short of the edges: let the saw stop there too."
        return [Handwork(self.name, words)]

    def _floor(self, bit: Bit, x: float, lean: float, floor: float) -> Floor:
        """Level under a flat bit; under a pointed one, walls that rise from the bit's tip to its width at the face."""
        width, halfway = bit.width_at(self.depth), bit.width_at(self.depth / 2)
        if width - halfway < 1e-9:
            return Level(floor)
        rise = self.depth / (width - halfway)
        return Valley(x, floor, width - 2 * self.depth / rise, rise, lean)

    def _followed(self, floor: Floor, scene: Scene, tips: tuple[float, float]) -> Floor:
        """Under the dome. `tips`: how far from the centreline the tip stops, where the line is blind."""
        if self.below == "face":
            return floor
        dome = domed(floor, scene.job.instrument)
        if self.ends == "open":
            return dome
        flat = scene.bits[self.bit].width_at(_HAIR) / 2
        return replace(dome, level_from=(max(tips[0] - flat, 0.0), max(tips[1] - flat, 0.0)))

    def _deepest(self, scene: Scene, line: FretLine) -> float:
        """Depth below the flat face where the line would meet the lower edge, mm."""
        if self.below == "face":
            return self.depth
        instrument = scene.job.instrument
        return self.depth + deepest_drop(domed(Level(0.0), instrument), np.array(crossings(instrument, line)))

    def _numbers(self, scene: Scene) -> tuple[int, ...]:
        count, first = scene.job.instrument.frets, 0 if scene.job.instrument.zero_fret else 1
        numbers = tuple(range(first, count + 1)) if self.frets is None else self.frets
        if not numbers:
            raise Refusal("no fret is named", "leave `frets` out to score all of them", "frets")
        wrong = [n for n in numbers if not first <= n <= count]
        if wrong:
            raise Refusal(f"there is no fret {wrong[0]}", f"the instrument has {count} frets", "frets")
        return tuple(dict.fromkeys(numbers))

    def _refuse(self, bit: Bit, scene: Scene) -> None:
        must_cut_lines(self.bit, bit)
        if self.depth > bit.cutting_length:
            units = scene.job.units
            raise Refusal(
                f"{show(self.depth, units)} is deeper than the edges of {self.bit} reach "
                f"({show(bit.cutting_length, units)})",
                "score less deep, or take a bit with a longer edge",
                "depth",
            )
        if self.depth >= scene.face:
            raise Refusal("the lines would go through the board", "score less deep", "depth")
