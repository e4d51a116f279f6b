"""`marker_pockets`: pockets for position markers, one or two behind each of the usual frets."""

from __future__ import annotations

import math
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from toolpaths.core.feature import Feature
from toolpaths.core.finding import Refusal
from toolpaths.core.geometry import Loop
from toolpaths.core.model import AsTuple
from toolpaths.core.operation import Clear, Operation
from toolpaths.core.outcome import Handwork
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Level
from toolpaths.core.units import Size, show
from toolpaths.trade.cutting import settle
from toolpaths.trade.leftover import second_bit
from toolpaths.trade.markers import Marker, marker_places
from toolpaths.trade.shapes import must_be_flat


class MarkerPockets(Feature):
    """Round pockets for markers, level at the bottom."""

    key: ClassVar[str] = "marker_pockets"

    then: str | None = Field(default=None, description="A smaller bit that takes what the first leaves in corners.")
    shape: Literal["round"] = "round"
    diameter: Size
    depth: Size = Field(description="Below the finished face.")
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None, description="3 5 7 9 12 15 17 19 21 24 as far as there are frets, if absent."
    )
    doubles: Annotated[tuple[int, ...], AsTuple] = (12, 24)
    double_spacing: Size | None = Field(
        default=None, description="Between the two of a double; half the width if absent."
    )

    def demands(self, scene: Scene) -> list[Demand]:
        """A disc of the diameter at each place."""
        return [
            Demand(
                feature=self.name,
                job_line=self.line,
                setup=scene.setup.name,
                name=_name(m),
                asked=Loop.circle(m.x, m.y, self.diameter / 2).shape(),
                floor=Level(scene.at_depth(self.depth)),
                radius=scene.bits[self.bits[-1]].width_at(self.depth) / 2,
            )
            for m in self._places(scene)
        ]

    def operations(self, scene: Scene) -> list[Operation]:
        """Each cleared from the middle outwards, its wall skimmed last; round ones leave a second bit nothing."""
        bit, units = scene.bits[self.bit], scene.job.units
        must_be_flat(self.bit, bit, "the floor would not be level", scene.job.units)
        if bit.cut_diameter > self.diameter + 1e-9:
            raise Refusal(
                f"{self.bit} is {show(bit.cut_diameter, units)} wide, the pockets {show(self.diameter, units)}",
                "take a smaller bit",
                "bit",
            )
        if self.then is not None:
            second_bit(scene, self.bit, self.then)
        if self.depth >= scene.face:
            raise Refusal("the pockets would go through the board", "make them less deep", "depth")
        places = self._places(scene)
        return [
            Clear(
                feature=self.name,
                job_line=self.line,
                bit=self.bit,
                cutting=settle(self, bit, scene.wood, scene.machine),
                title=f"pockets of {show(self.diameter, scene.machine.units)} for the markers",
                loops=tuple(Loop.circle(m.x, m.y, self.diameter / 2) for m in places),
                names=tuple(_name(m) for m in places),
                top=scene.face,
                floor=scene.at_depth(self.depth),
            )
        ]

    def by_hand(self, scene: Scene) -> list[Handwork]:
        """The markers themselves."""
        count, units = len(self._places(scene)), scene.job.units
        area = math.pi * self.diameter**2 / 4
        return [
            Handwork(
                self.name,
                f"Fill or inlay {count} marker pockets ({show(self.diameter, units)} across, "
                f"{show(self.depth, units)} deep; {count * area * self.depth / 1000:.2f} ml of filler in all); "
                "level them.",
            )
        ]

    def _places(self, scene: Scene) -> tuple[Marker, ...]:
        count = scene.job.instrument.frets
        wrong = [n for n in (self.frets or ()) if not 1 <= n <= count]
        if wrong:
            raise Refusal(f"there is no fret {wrong[0]}", f"the instrument has {count} frets", "frets")
        places = marker_places(scene.job.instrument, self.frets, self.doubles, self.double_spacing)
        if not places:
            raise Refusal("no fret bears a marker", f"name some in `frets`; the instrument has {count}", "frets")
        return places


def _name(marker: Marker) -> str:
    side = "" if marker.y == 0 else (", treble side" if marker.y > 0 else ", bass side")
    return f"marker at fret {marker.fret}{side}"
