"""`engraving`: drawn lines followed by the bit's middle at one depth."""

from __future__ import annotations

from typing import ClassVar

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

from toolpaths.core.finding import Refusal
from toolpaths.core.operation import Engrave, Operation
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Floor, Groove, Level
from toolpaths.core.units import show
from toolpaths.trade.cutting import settle
from toolpaths.trade.drawn import Drawn
from toolpaths.trade.shapes import must_cut_lines

Array = NDArray[np.float64]

MOST_LINES = 2000
"""Lines of one engraving, after those whose ends meet are joined."""
_SEGS = 48
_REACH = 0.25
"""The groove's floor is told so far beyond its edge, mm: further than any tolerance reaches."""


class Engraving(Drawn):
    """Follow drawn lines, such as an ornament or a signature."""

    key: ClassVar[str] = "engraving"

    def demands(self, scene: Scene) -> list[Demand]:
        """Each line as wide as the bit cuts at that depth; a pointed bit leaves walls that rise from the line."""
        lines = self._lines(scene)
        deep = self._surface(scene, lines) - scene.at_depth(self.depth)
        width = scene.bits[self.bit].width_at(deep)
        out: list[Demand] = []
        for points, name in lines:
            path = LineString(points)
            out.append(
                Demand(
                    feature=self.name,
                    job_line=self.line,
                    setup=scene.setup.name,
                    name=name,
                    asked=path.buffer(width / 2, quad_segs=_SEGS),
                    floor=self._floor(scene, path, deep),
                    radius=width / 2,
                    corners=False,
                )
            )
        return out

    def operations(self, scene: Scene) -> list[Operation]:
        """Every line in passes that come down along it."""
        bit, units = scene.bits[self.bit], scene.job.units
        must_cut_lines(self.bit, bit)
        lines = self._lines(scene)
        top, floor = self.top_and_floor(scene, max(float(points[:, 0].max()) for points, _ in lines))
        reach = float(bit.height_at(np.array([bit.radius]))[0]) if bit.kind == "vee" else bit.cutting_length
        if top - floor > reach + 1e-9:
            raise Refusal(
                f"{show(top - floor, units)} is deeper than the edges of {self.bit} reach ({show(reach, units)})",
                "engrave less deep, or take a bit with a longer edge",
                "depth",
            )
        return [
            Engrave(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine, slot=True),
                title=f"lines from {self.file}",
                paths=tuple(points for points, _ in lines),
                names=tuple(name for _, name in lines),
                top=top,
                floor=floor,
            )
        ]

    def _lines(self, scene: Scene) -> tuple[tuple[Array, str], ...]:
        lines = self.drawn(scene).as_lines()
        if len(lines) > MOST_LINES:
            raise Refusal(f"{len(lines)} lines are too many", f"at most {MOST_LINES}; take a layer of it", "drawing")
        return lines

    def _surface(self, scene: Scene, lines: tuple[tuple[Array, str], ...]) -> float:
        return self.surface(scene, max(float(points[:, 0].max()) for points, _ in lines))

    def _floor(self, scene: Scene, path: LineString, deep: float) -> Floor:
        """Level under a flat bit; under a pointed one, walls that rise from its tip to its width at the surface."""
        bit, z = scene.bits[self.bit], scene.at_depth(self.depth)
        width, halfway = bit.width_at(deep), bit.width_at(deep / 2)
        if width - halfway < 1e-9:
            return Level(z)
        rise = deep / (width - halfway)
        return Groove(path, z, width - 2 * deep / rise, rise, width / 2 + _REACH)
