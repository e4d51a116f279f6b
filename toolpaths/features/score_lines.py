"""`score_lines`: a shallow line for every fret slot, for the saw to follow."""

from __future__ import annotations

from typing import Annotated, ClassVar

import numpy as np
import shapely
from pydantic import Field

from toolpaths.core.bit import Bit
from toolpaths.core.feature import Feature
from toolpaths.core.finding import Refusal
from toolpaths.core.geometry import box_polygon
from toolpaths.core.model import AsTuple
from toolpaths.core.operation import Lines, Operation
from toolpaths.core.outcome import Handwork
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Floor, Level, Valley
from toolpaths.core.units import Size, show
from toolpaths.trade.boards import half_width
from toolpaths.trade.cutting import settle
from toolpaths.trade.frets import fret_distance
from toolpaths.trade.shapes import must_cut_lines

RUN_ON = 1.0
"""How far past the finished edge a line runs, beyond the bit's radius, mm."""


class ScoreLines(Feature):
    """Score the fret slots across the finished width."""

    key: ClassVar[str] = "score_lines"

    depth: Size = Field(description="Below the finished face.")
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(default=None, description="All frets if absent.")

    def demands(self, scene: Scene) -> list[Demand]:
        """A rectangle for each fret: the line at L (1 - 2^(-n/12)), as wide as the bit at that depth."""
        bit, instrument = scene.bits[self.bit], scene.job.instrument
        width = bit.width_at(self.depth)
        out: list[Demand] = []
        for n in self._numbers(scene):
            x = instrument.scale_length * (1.0 - 2.0 ** (-n / 12.0))
            edge = float(half_width(instrument, x))
            x0, x1, beyond = x - width / 2, x + width / 2, width + RUN_ON
            out.append(
                Demand(
                    feature=self.name,
                    job_line=self.line,
                    setup=scene.setup.name,
                    name=f"fret {n}",
                    asked=box_polygon(x0, -edge, x1, edge),
                    floor=self._floor(bit, x, scene.at_depth(self.depth)),
                    radius=width / 2,
                    run_out=shapely.union(
                        box_polygon(x0, -edge - beyond, x1, -edge), box_polygon(x0, edge, x1, edge + beyond)
                    ),
                )
            )
        return out

    def operations(self, scene: Scene) -> list[Operation]:
        """One groove a fret, entered in the waste beyond the finished edge."""
        bit, instrument = scene.bits[self.bit], scene.job.instrument
        self._refuse(bit, scene)
        ends: list[list[tuple[float, float]]] = []
        numbers = sorted(self._numbers(scene))
        for n in numbers:
            x = fret_distance(instrument.scale_length, n)
            reach = float(half_width(instrument, x)) + bit.width_at(self.depth) / 2 + RUN_ON
            ends.append([(x, -reach), (x, reach)])
        return [
            Lines(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine, slot=True),
                title=f"score the fret lines {show(self.depth, scene.machine.units)} deep",
                lines=np.asarray(ends, dtype=np.float64),
                names=tuple(f"fret {n}" for n in numbers),
                top=scene.face,
                floor=scene.at_depth(self.depth),
            )
        ]

    def by_hand(self, scene: Scene) -> list[Handwork]:
        """The slots, which the saw takes on from here."""
        count, units = len(self._numbers(scene)), scene.job.units
        return [
            Handwork(
                self.name,
                f"Saw {count} fret slots on from the scored lines, which are {show(self.depth, units)} deep, "
                f"with a saw of {show(scene.job.saw.kerf, units)} kerf; fret tang and saw stop set the depth.",
            )
        ]

    def _floor(self, bit: Bit, x: float, floor: float) -> Floor:
        """Level under a flat bit; under a pointed one, walls that rise from the bit's tip to its width at the face."""
        width, halfway = bit.width_at(self.depth), bit.width_at(self.depth / 2)
        if width - halfway < 1e-9:
            return Level(floor)
        rise = self.depth / (width - halfway)
        return Valley(x, floor, width - 2 * self.depth / rise, rise)

    def _numbers(self, scene: Scene) -> tuple[int, ...]:
        count = scene.job.instrument.frets
        numbers = tuple(range(1, count + 1)) if self.frets is None else self.frets
        if not numbers:
            raise Refusal("no fret is named", "leave `frets` out to score all of them", "frets")
        wrong = [n for n in numbers if not 1 <= n <= count]
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
