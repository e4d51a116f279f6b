"""`radius`: the board's top rounded by the router, one radius or a compound one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated

import numpy as np
import shapely
from pydantic import Field
from shapely import Polygon

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Between, Size, show, show_fine
from toolpaths.features.crown_passes import angles, cone_difference, corner_of, tip_at
from toolpaths.features.crowned_cuts import deepest_drop, domed
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.boards import corners, half_width
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Operation, Rulings
from toolpaths.target_shape.crown_floor import CrownFloor
from toolpaths.target_shape.demand import Demand, Level

RUN_ON = 1.0
"""How far past the board's ends and edges the surface is finished, mm."""
SHAPES = ("ball", "bull", "flat")
_HAIR = 1e-9
ROUGH_STEP = 0.4
"""Part of the diameter between passes that take the most of it."""


class Radius(Feature):
    """Round the top of the board to `board.radius`."""

    key = "radius"
    cuts = frozenset({CutKind.top})
    stage = Stage.top
    lies = "anywhere"
    leaves = "the rounded top"

    scallop: Annotated[Size, Between(1e-4, 0.5)] = Field(
        default=0.02, description="Height of the ridges that are left between passes."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The finished board at crown - (R - sqrt(R^2 - y^2)), R linear along it; around it the bit may run out."""
        instrument, bit = context.job.instrument, context.bits[self.bit]
        board = Polygon(corners(instrument))
        # Passes run to the further corner of an end that leans, on both sides.
        ends = [(x, float(half_width(instrument, x))) for x in self._ends(context).tolist()]
        square = Polygon([*((x, -y) for x, y in ends), *((x, y) for x, y in reversed(ends))])
        around = shapely.union(board, square).buffer(2 * bit.radius + 2 * RUN_ON + 1.0, join_style="mitre")
        yield Demand(
            *self.demand_head(context, "rounded top"),
            kind=CutKind.top,
            asked=board,
            floor=domed(Level(context.at_depth(0.0)), context.job.instrument),
            radius=bit.radius,
            run_out=around.difference(board),
            scallop=self.scallop,
            corners=False,
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Passes along the straight lines of the surface, from the crown outwards on both sides."""
        bit, dome = context.bits[self.bit], self._dome(context)
        self._refuse(context, bit, dome)
        cutting = self.settled(context)
        crown = context.at_depth(0.0)
        fine = angles(dome, bit, self.scallop, self._reach(context, dome))
        layers: list[tuple[float, tuple[Array, Array]]] = []
        most = context.face - float(self._lines(context, bit, dome, crown, fine)[..., 2].min())
        count = max(1, math.ceil(most / cutting.pass_depth - 1e-6))
        for k in range(1, count):
            raised = most * (1 - k / count)
            # From where the raised surface comes out of the top; nothing nearer to the crown is touched.
            first = math.acos(1.0 - min(raised / max(dome.nut, dome.end), 1.0))
            step = ROUGH_STEP * bit.cut_diameter / max(dome.nut, dome.end)
            n = max(1, math.ceil((fine[-1] - first) / step))
            coarse = np.linspace(first, fine[-1], n + 1)
            layers.append((raised, self._sides(context, bit, dome, crown, coarse)))
        layers.append((0.0, self._sides(context, bit, dome, crown, fine)))
        yield Rulings(
            *self.operation_head(context, self._which(context, dome), context.face - most),
            layers=tuple(layers),
        )

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """The radius."""
        return [Measure("the top, with a gauge at both ends and in the middle", (), "no light under it")]

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Sanding the ridges, and a description of the surface."""
        units, dome = context.job.units, self._dome(context)
        kind = ""
        if dome.nut != dome.end:
            off = cone_difference(dome, self._reach(context, dome)[1])
            kind = (
                " The radius changes evenly from the nut to the end, and the middle line is level. A true cone differs "
                f"from this by {show(off, units, 4 if units == 'mm' else 5)} at most."
            )
        yield Handwork(
            self.name,
            f"Sand the ridges off the radiused top. They are at most {show_fine(self.scallop, units)} high. Sand along "
            f"the board, with a block of its radius or a straight beam.{kind}",
        )

    def _dome(self, context: SetupContext) -> CrownFloor:
        return domed(Level(context.at_depth(0.0)), context.job.instrument)

    def _ends(self, context: SetupContext) -> Array:
        """x (2,) between which passes run: a little past the board's corners, mm."""
        xs = [x for x, _ in corners(context.job.instrument)]
        return np.array([min(xs) - RUN_ON, max(xs) + RUN_ON])

    def _reach(self, context: SetupContext, dome: CrownFloor) -> tuple[float, float]:
        """(x, half width) of the finished place at the widest angle from the crown."""
        instrument = context.job.instrument
        ends = [(x, float(half_width(instrument, x)) + RUN_ON) for x in self._ends(context).tolist()]
        return max(ends, key=lambda place: place[1] / float(dome.radius(np.asarray(place[0]))))

    def _sides(
        self, context: SetupContext, bit: Bit, dome: CrownFloor, crown: float, out: Array
    ) -> tuple[Array, Array]:
        """Lines of the operator's side and of the far side; the line on the crown belongs to the first."""
        return (
            self._lines(context, bit, dome, crown, -out),
            self._lines(context, bit, dome, crown, out[1:] if out[0] == 0.0 else out),
        )

    def _lines(self, context: SetupContext, bit: Bit, dome: CrownFloor, crown: float, angle: Array) -> Array:
        """(N, 2, 3): the tip at both ends of each pass, as far as it lies on the board or hardly beside it."""
        instrument = context.job.instrument
        ends = self._ends(context)
        # Edges and lines are straight: how far within the edge a line lies is linear from end to end.
        edge = half_width(instrument, ends) + RUN_ON
        within = edge - np.abs(np.sin(angle))[:, None] * dome.radius(ends)
        kept = within.max(axis=1) > -_HAIR
        angle, within = angle[kept], within[kept]
        cross = ends[0] + (ends[1] - ends[0]) * within[:, 0] / np.where(
            within[:, 0] == within[:, 1], 1.0, within[:, 0] - within[:, 1]
        )
        x = np.where(within >= -_HAIR, ends, cross[:, None])
        return np.stack([tip_at(dome, bit, x[:, k], angle, crown) for k in (0, 1)], axis=1)

    def _which(self, context: SetupContext, dome: CrownFloor) -> str:
        units = context.machine.units
        if dome.nut == dome.end:
            return f"to a top radius of {show(dome.nut, units)}"
        return f"to a top radius of {show(dome.nut, units)} at the nut and {show(dome.end, units)} at the end"

    def _refuse(self, context: SetupContext, bit: Bit, dome: CrownFloor) -> None:
        units = context.job.units
        if bit.shape not in SHAPES:
            raise FeatureError(f"{self.bit} is a {bit.shape} bit and cannot cut a round top", "name a ball bit", "bit")
        x, half = self._reach(context, dome)
        drop = deepest_drop(dome, np.array([[x, half]]))
        if drop > bit.cutting_length:
            raise FeatureError(
                f"the edges come down by {show(drop, units)}, and the cutting edges of {self.bit} are "
                f"{show(bit.cutting_length, units)} long",
                "take a bit with longer edges",
                "bit",
            )
        if corner_of(bit) > 0 and self.scallop >= corner_of(bit):
            raise FeatureError(
                "the scallop must be lower than the bit's rounding",
                f"give less than {show(corner_of(bit), units)}",
                "scallop",
            )
