"""`heel_face`: the heel's seat, the level face by which a bolt-on neck lies on the body, cut from the back."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, show
from toolpaths.features.feature import Feature
from toolpaths.features.headstock_level import BEYOND
from toolpaths.features.neck_surfaces import as_in_instrument, must_stay_above_the_back
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Area, Loop, box_polygon
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.necks import neck_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.neck import Heel
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.depth_of_cut import LAST_SKIM
from toolpaths.operations.operation import Clear, Operation
from toolpaths.target_shape.demand import Demand, Level

_PLACES, _EDGE = 201, 0.5
"""At how many places the finished back is looked at; and how far from the seat's edges its thickness is taken, mm."""

Box = tuple[float, float, float, float]


class HeelFace(Feature):
    """Cut the heel's seat level, at the heel's thickness below the glue face."""

    key = "heel_face"
    cuts = frozenset({CutKind.heel_seat})
    stage = Stage.off_router
    lies = "anywhere"
    order = "face"
    within = (-0.05, 0.05)

    leaves = "the heel's seat"

    thickness: Size | None = Field(
        default=None,
        description="Thickness of the heel from this face to the glue face, without the board; the instrument's "
        "if absent.",
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The heel's rectangle, level; open to both sides and past the end as far as the bit needs."""
        x0, y0, x1, y1 = seat = self._seat(context)
        asked, radius = box_polygon(*seat), context.bits[self.bit].radius
        # So that beside the heel's corners at the wall none stays round: a bit's radius beyond them.
        out = radius + BEYOND
        yield Demand(
            *self.demand_head(context, "heel's seat"),
            kind=CutKind.heel_seat,
            asked=asked,
            floor=Level(self._floor(context)),
            radius=radius,
            run_out=shapely.difference(box_polygon(x0, y0 - out, x1 + out, y1 + out), asked),
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Level passes from the middle outwards, off the heel on three sides; the last level and the wall skimmed."""
        floor, units = self._floor(context), context.machine.units
        self._must_be_possible(context, floor)
        x0, y0, x1, y1 = self._seat(context)
        grown = context.bits[self.bit].radius + BEYOND
        corners = [(x0, y0 - grown), (x1 + grown, y0 - grown), (x1 + grown, y1 + grown), (x0, y1 + grown)]
        yield Clear(
            *self.operation_head(context, f"the heel's seat, {show(floor, units)} from the glue face", floor),
            areas=(Area(Loop.polygon(corners), (), "heel's seat"),),
            skim=LAST_SKIM,
        )

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Carving up to the seat, and the heel's corners in the body's pocket."""
        heel, units = self._heel(context), context.job.units
        yield Handwork(
            self.name,
            f"Do not carve the heel's seat, {show(heel.start, units)} to {show(heel.to, units)} from the nut line: "
            "it lies "
            "on the body. The shaft's blend ends at the wall of the seat and is "
            f"{show(heel.blend, units)} long. Carve up to the wall and not past it.",
        )
        pocket = heel.pocket
        if pocket is not None and pocket.corner == 0.0:
            return
        known = None if pocket is None else pocket.corner
        radius = "the radius of its cutter" if known is None else f"a radius of {show(known, units)}"
        yield Handwork(
            self.name,
            f"The heel's two end corners are square. A routed pocket has {radius} in its corners: round the heel's "
            "corners to it, or square the pocket's corners with a chisel. Try the heel in the pocket before any hole "
            "is bored through.",
        )

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """The heel's thickness from its seat to the glue face, where nothing else is cut."""
        x0, y0, x1, y1 = self._seat(context)
        floor = self._floor(context)
        xs = np.linspace(x0 + _EDGE, x1 - _EDGE, 15)
        ys = np.linspace(y0 + _EDGE, y1 - _EDGE, 15)
        places = sorted(((float(x), float(y)) for x in xs for y in ys), key=lambda p: (abs(p[1]), -p[0]))
        for at in places:
            # Seen from the back y is mirrored, or not for a left-handed neck: the heel is the same on both sides.
            thick = near.thickness(context, at, self.within)
            if abs(thick.value - floor) < 1e-6:
                return [Measure("thickness of the heel, from its seat to the glue face", (thick,))]
        return []

    def _heel(self, context: SetupContext) -> Heel:
        heel = neck_of(context.job.instrument).heel
        if heel is None:
            raise FeatureError("the instrument's neck has no heel", "give `neck.heel`, or leave the feature out")
        return heel

    def _seat(self, context: SetupContext) -> Box:
        heel = self._heel(context)
        return heel.start, -heel.width / 2, heel.to, heel.width / 2

    def _floor(self, context: SetupContext) -> float:
        """Height of the seat above the bed, mm. Raises FeatureError where it cannot be the instrument's."""
        heel, units = self._heel(context), context.job.units
        if not context.flipped:
            raise FeatureError(
                "in this setup the heel's seat is on the bed", "put it into a setup with `flip: about x`"
            )
        own = heel.thickness - context.job.instrument.board.thickness
        if own <= 0:
            raise FeatureError(
                f"the heel is {show(heel.thickness, units)} thick together with the board, and the board alone is "
                f"{show(context.job.instrument.board.thickness, units)}",
                "make `neck.heel.thickness` greater than `board.thickness`",
                "instrument",
            )
        of = "neck.heel.thickness less board.thickness"
        return context.at_depth(as_in_instrument(self.thickness, own, "thickness", of, units))

    def _must_be_possible(self, context: SetupContext, floor: float) -> None:
        units = context.job.units
        x0, y0, x1, y1 = self._seat(context)
        must_be_flat(self.bit, context.bits[self.bit], "the seat would not be level", units)
        if context.face - floor <= 1e-6:
            raise FeatureError(
                f"the blank is {show(context.face, units)} thick there, and the heel is to be {show(floor, units)} "
                "without the board: nothing would be cut",
                "take a thicker blank, plane less off, or leave the feature out",
                "thickness",
            )
        bx0, by0, bx1, by1 = context.instrument_box
        beyond = max(bx0 - x0, by0 - y0, x1 - bx1, y1 - by1)
        if beyond > 1e-6:
            raise FeatureError(
                f"the heel reaches {show(beyond, units)} beyond the blank",
                "change `neck.heel`, or take a larger blank",
                "instrument",
            )
        places = np.linspace(x0, x1, _PLACES)
        remedy = "leave `thickness` out, or check `neck.heel` and the frets at which the neck's thickness is given"
        must_stay_above_the_back(context, places, Level(floor), remedy, "thickness")
