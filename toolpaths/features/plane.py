"""`plane`: the blank taken down to its finished thickness, all over."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from toolpaths.core.feature import Feature
from toolpaths.core.finding import Refusal
from toolpaths.core.geometry import box_polygon
from toolpaths.core.operation import Operation, Raster
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Level
from toolpaths.core.units import Depth, Size, show
from toolpaths.trade.cutting import settle

LAST_SKIM = 0.3
"""Thickest last skim of planing, mm. Common practice, no source."""


class Plane(Feature):
    """Plane the whole blank to a thickness."""

    key: ClassVar[str] = "plane"
    order: ClassVar[Literal["face", "inside", "free"]] = "face"

    leave: Size = Field(description="Thickness that remains, measured from the bed.")
    skim: Depth = Field(default=LAST_SKIM, le=1.0, description="Thickness of the last skim.")

    def demands(self, scene: Scene) -> list[Demand]:
        """The blank at `leave`, all over; beside the blank anything goes."""
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name="face",
                asked=box_polygon(*scene.instrument_box),
                floor=Level(self.leave),
                radius=scene.bits[self.bit].radius,
                everywhere=True,
            )
        ]

    def operations(self, scene: Scene) -> list[Operation]:
        """Level passes along the grain, from above the highest measured point."""
        bit = scene.bits[self.bit]
        if bit.kind != "flat":
            raise Refusal(f"{self.bit} is not a flat bit; it cannot plane", "name a flat bit", "bit")
        if self.leave > scene.top:
            raise Refusal(
                f"{show(self.leave, scene.job.units)} cannot remain of {show(scene.top, scene.job.units)}",
                "leave less than the blank's thickness",
                "leave",
            )
        return [
            Raster(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine),
                title=f"plane the blank to {show(self.leave, scene.machine.units)}",
                box=scene.instrument_box,
                top=scene.top,
                floor=self.leave,
                skim=self.skim,
            )
        ]
