"""`pocket`: the inside of drawn outlines cleared to a level floor; outlines within outlines are left standing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

import shapely
from pydantic import Field
from shapely.geometry.base import BaseGeometry

from toolpaths.core.drawing import Area
from toolpaths.core.finding import Refusal
from toolpaths.core.operation import Clear, Corners, Cutting, Operation
from toolpaths.core.outcome import Handwork
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Level
from toolpaths.core.units import show
from toolpaths.trade.cutting import settle
from toolpaths.trade.drawn import Drawn
from toolpaths.trade.leftover import goes_in, left_standing, second_bit, second_cutting
from toolpaths.trade.shapes import must_be_flat


class Pocket(Drawn):
    """Clear drawn outlines, such as for an inlay."""

    key: ClassVar[str] = "pocket"

    then: str | None = Field(default=None, description="A smaller bit that takes what the first leaves in corners.")

    def demands(self, scene: Scene) -> list[Demand]:
        """What an odd number of outlines enclose, level at the depth; one demand a piece."""
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name=name,
                asked=shape,
                floor=Level(scene.at_depth(self.depth)),
                radius=scene.bits[self.bits[-1]].radius,
            )
            for name, shape in self._pieces(scene)
        ]

    def operations(self, scene: Scene) -> list[Operation]:
        """Each pocket cleared from the middle outwards, then its walls skimmed; a second bit takes what is left."""
        bit = scene.bits[self.bit]
        must_be_flat(self.bit, bit, "the floor would not be level", scene.job.units)
        found = self.areas(scene)
        heights = self.top_and_floor(scene, max(float(a.shape().bounds[2]) for a in found))
        cutting = settle(self, bit, scene.wood, scene.machine)
        if self.then is None:
            return [self._clear(found, self.bit, cutting, heights, f"pockets from {self.file}")]
        then = second_bit(scene, self.bit, self.then)
        # What the first bit does not fit into is the second's alone.
        wide = [a for a in found if goes_in(a.shape(), bit.radius)]
        narrow = [a for a in found if not goes_in(a.shape(), bit.radius)]
        if not wide:
            raise Refusal(
                f"{self.bit} does not fit into any of the pockets",
                f"give `bit: {self.then}` and leave `then` out",
                "bit",
            )
        out: list[Operation] = [self._clear(wide, self.bit, cutting, heights, f"pockets from {self.file}")]
        second = second_cutting(self, then, scene)
        if narrow:
            title = f"pockets from {self.file} that {self.bit} does not fit into"
            out.append(self._clear(narrow, self.then, second, heights, title))
        left = [a for a in wide if not left_standing(a.shape(), bit.radius, then.radius).is_empty]
        if left:
            out.append(
                Corners(
                    feature=self.name,
                    job_line=self.line,
                    bit=self.then,
                    cutting=second,
                    title=f"what {self.bit} left of pockets from {self.file}",
                    loops=tuple(a.outer for a in left),
                    names=tuple(a.name for a in left),
                    top=heights[0],
                    floor=heights[1],
                    islands=tuple(a.islands for a in left),
                    before=bit.radius,
                )
            )
        return out

    def by_hand(self, scene: Scene) -> list[Handwork]:
        """What was assumed, and what is to be laid in."""
        area = sum(a.shape().area for a in self.areas(scene))
        words = f"Lay in or fill what {self.file} shows ({area:.1f} mm2, {show(self.depth, scene.job.units)} deep)."
        return [*super().by_hand(scene), Handwork(self.name, words, area_mm2=area)]

    def _clear(
        self, found: Sequence[Area], bit: str, cutting: Cutting, heights: tuple[float, float], title: str
    ) -> Clear:
        return Clear(
            feature=self.name,
            job_line=self.line,
            bit=bit,
            cutting=cutting,
            title=title,
            loops=tuple(a.outer for a in found),
            names=tuple(a.name for a in found),
            top=heights[0],
            floor=heights[1],
            islands=tuple(a.islands for a in found),
        )

    def _pieces(self, scene: Scene) -> list[tuple[str, BaseGeometry]]:
        shapes = [(loop.shape(), name) for loop, name in self.outlines(scene)]
        odd: BaseGeometry = shapely.Polygon()
        for shape, _ in shapes:
            odd = odd.symmetric_difference(shape)
        out: list[tuple[str, BaseGeometry]] = []
        for piece in shapely.get_parts(odd):
            around = [(shape.area, name) for shape, name in shapes if shape.covers(piece.representative_point())]
            out.append((min(around)[1], piece))
        return out
