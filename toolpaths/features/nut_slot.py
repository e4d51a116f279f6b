"""`nut_slot`: the slot that the nut sits in, square across neck or board and open at both sides."""

from __future__ import annotations

from typing import ClassVar

import numpy as np
import shapely
from pydantic import Field

from toolpaths.core.feature import Feature
from toolpaths.core.finding import Refusal
from toolpaths.core.geometry import box_polygon
from toolpaths.core.operation import Channel, Operation
from toolpaths.core.outcome import Handwork
from toolpaths.core.place import Along, AlongNeck
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Level
from toolpaths.core.units import Size, show
from toolpaths.trade.boards import half_width
from toolpaths.trade.cutting import settle
from toolpaths.trade.necks import neck_of, side_corners
from toolpaths.trade.places import x_of
from toolpaths.trade.slots import RUN_ON, in_one_pass, refuse_bit, width_words


class NutSlot(Feature):
    """A slot across the whole finished width, run out into the waste on both sides."""

    key: ClassVar[str] = "nut_slot"

    width: Size = Field(description="Along the neck.")
    depth: Size = Field(description="Below the finished face.")
    edge: AlongNeck = Field(default=Along(x=0.0), description="x of its bridge-side wall.")

    def demands(self, scene: Scene) -> list[Demand]:
        """A rectangle, edge - width to edge, as wide as the part there; beyond it, waste that may be cut."""
        x0, x1 = self._walls(scene)
        half = self._half_width(scene, x0, x1)
        beyond = half + 2 * scene.bits[self.bit].radius + RUN_ON
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name="nut slot",
                asked=box_polygon(x0, -half, x1, half),
                floor=Level(scene.at_depth(self.depth)),
                radius=scene.bits[self.bit].radius,
                run_out=shapely.union(box_polygon(x0, -beyond, x1, -half), box_polygon(x0, half, x1, beyond)),
            )
        ]

    def operations(self, scene: Scene) -> list[Operation]:
        """Entered in the waste on a slope, from the bass side across; a pass of its own for each wall."""
        bit, units = scene.bits[self.bit], scene.job.units
        refuse_bit(self.bit, bit, self.width, "the slot", units)
        x0, x1 = self._walls(scene)
        middle = x1 - self.width / 2
        reach = self._half_width(scene, x0, x1)
        across = show(self.width, scene.machine.units)
        return [
            Channel(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine, slot=True),
                title=f"the slot for the nut, {across} wide"
                + (", in one pass" if in_one_pass(bit, self.width) else ""),
                ends=np.array([[[middle, -reach], [middle, reach]]]),
                names=("nut slot",),
                width=self.width,
                top=scene.face,
                floor=scene.at_depth(self.depth),
                floor_line=np.array([[0.0, scene.at_depth(self.depth)]]),
                open_ends=(True, True),
            )
        ]

    def by_hand(self, scene: Scene) -> list[Handwork]:
        """The nut."""
        units = scene.job.units
        _, x1 = self._walls(scene)
        return [
            Handwork(
                self.name,
                f"Fit the nut dry: the slot is {show(self.width, units)} wide and {show(self.depth, units)} deep, its "
                f"bridge-side wall at x {show(x1, units)}; nut and wall must touch along the whole of it. "
                f"{width_words(self.bit, scene.bits[self.bit], self.width, scene.machine, units)}",
            )
        ]

    def _walls(self, scene: Scene) -> tuple[float, float]:
        """x of both walls, mm. Raises Refusal where no slot can lie there."""
        if scene.flipped:
            raise Refusal("the work lies on its face here", "cut the slot in the setup that shows the face")
        if scene.at_depth(self.depth) <= 0:
            raise Refusal("the slot would go through the blank", "make it less deep", "depth")
        edge = x_of(self.edge, scene.job.instrument, "edge")
        return edge - self.width, edge

    def _half_width(self, scene: Scene, x0: float, x1: float) -> float:
        """Half of the part's greatest width from x0 to x1 before it is trimmed, mm."""
        instrument = scene.job.instrument
        if scene.job.part != "neck":
            return max(half_width(instrument, x0), half_width(instrument, x1))
        side = side_corners(instrument, neck_of(instrument).margin)
        xs, widths = [c[0] for c in side], [c[1] for c in side]
        return float(np.interp([x0, x1, *(x for x in xs if x0 < x < x1)], xs, widths).max())
