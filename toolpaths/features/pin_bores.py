"""`pin_bores`: round holes for locating pins, in waste or in the part."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar

import numpy as np
from pydantic import BeforeValidator, Field

from toolpaths.core.feature import Feature
from toolpaths.core.finding import Refusal
from toolpaths.core.geometry import Loop
from toolpaths.core.model import AsTuple, Typed
from toolpaths.core.operation import Bore, Operation
from toolpaths.core.place import AlongNeck
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Level
from toolpaths.core.units import Length, Size, show
from toolpaths.trade.cutting import settle
from toolpaths.trade.places import x_of


class PinPlace(Typed):
    """One hole: its centre, and its diameter where it has one of its own."""

    x: AlongNeck
    y: Length
    diameter: Size | None = None


def _place(value: Any) -> Any:
    if isinstance(value, list | tuple):
        if len(value) != 2:
            raise ValueError("a place is written [x, y] or {x: ..., y: ..., diameter: ...}")
        return {"x": value[0], "y": value[1]}
    return value


class PinBores(Feature):
    """Holes for locating pins, through the blank unless a depth is given."""

    key: ClassVar[str] = "pin_bores"

    at: Annotated[tuple[Annotated[PinPlace, BeforeValidator(_place)], ...], AsTuple] = Field(min_length=1)
    diameter: Size | None = None
    depth: Size | None = Field(default=None, description="Below the finished face; through the blank if absent.")

    def demands(self, scene: Scene) -> list[Demand]:
        """A disc of each diameter, to the depth or through to the bed."""
        through = self.depth is None
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name=f"pin {i}",
                asked=Loop.circle(x, y, d / 2).shape(),
                floor=Level(0.0 if self.depth is None else scene.at_depth(self.depth)),
                radius=scene.bits[self.bit].radius,
                reach=scene.machine.bed_allowance if through else 0.0,
            )
            for i, (x, y, d) in enumerate(self._holes(scene), 1)
        ]

    def operations(self, scene: Scene) -> list[Operation]:
        """Helical bores; straight down where the bit is as wide as the hole and may."""
        bit, units = scene.bits[self.bit], scene.job.units
        if bit.kind != "flat":
            raise Refusal(f"{self.bit} is not a flat bit", "name a flat bit", "bit")
        holes = self._holes(scene)
        for _, _, d in holes:
            if bit.cut_diameter > d + 1e-9:
                raise Refusal(
                    f"{self.bit} is {show(bit.cut_diameter, units)} wide; a hole of {show(d, units)} is narrower",
                    "take a smaller bit",
                    "bit",
                )
            if bit.cut_diameter > 0.8 * d and not bit.centre_cutting:
                raise Refusal(
                    f"{self.bit} does not cut at its centre and is wider than 0.8 of a hole of {show(d, units)}",
                    "take a smaller or a centre-cutting bit",
                    "bit",
                )
        if self.depth is not None and self.depth > scene.face:
            raise Refusal(
                "the holes are deeper than the board is thick", "leave `depth` out for through holes", "depth"
            )
        floor = -scene.machine.bed_allowance if self.depth is None else scene.at_depth(self.depth)
        return [
            Bore(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine),
                title="holes for the locating pins",
                centres=np.asarray([(x, y) for x, y, _ in holes], dtype=np.float64),
                diameters=np.asarray([d for _, _, d in holes], dtype=np.float64),
                names=tuple(f"pin {i}" for i in range(1, len(holes) + 1)),
                top=scene.face,
                floor=floor,
            )
        ]

    def _holes(self, scene: Scene) -> list[tuple[float, float, float]]:
        out: list[tuple[float, float, float]] = []
        for place in self.at:
            d = place.diameter or self.diameter
            if d is None:
                raise Refusal("a hole has no diameter", "give `diameter` once, or with each place", "at")
            out.append((x_of(place.x, scene.job.instrument, "at"), place.y, d))
        return out
