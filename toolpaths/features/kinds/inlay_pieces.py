"""`inlay_pieces`: the pieces for another feature's pockets, cut from a sheet of their own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from pydantic import Field
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Depth, Size, show, show_fine, size
from toolpaths.features.feature import Feature
from toolpaths.features.inlays import InlaidFeature, Inlay, piece_in
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext, setup_context_of
from toolpaths.job.stage import Stage
from toolpaths.operations.operation import Contour, Operation
from toolpaths.target_shape.demand import Demand, Level

STRIP = 1.0
"""Strip beyond the kerf in which cutting is allowed, never asked for, mm."""
_SEGS = 64


class InlayPieces(Feature):
    """Cut the pieces for pockets."""

    key = "inlay_pieces"
    cuts = frozenset({CutKind.inlay_piece, CutKind.waste})
    stage = Stage.fill
    sized = False
    piece = "sheet"
    order = "free"

    of: str = Field(description="Name of the feature whose pockets they go into, such as `marker_pockets`.")
    margin: Depth = Field(default=5.0, description="Edge of the sheet that is kept free all around.")
    skin: Size | None = Field(
        default=None, description="Thickness left under the kerf, which you sand off; through to the bed if absent."
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A band of the kerf's width around each piece: its pocket's region drawn in by the clearance, moved."""
        bit, kerf = context.bits[self.bit], self._kerf(context)
        source, inlay, own = self._pockets(context)
        regions = {d.name: d.asked for d in source.demands(own)}
        through = self.skin is None
        for place in self._laid(context):
            piece: BaseGeometry = translate(regions[place.name].buffer(-inlay.clearance, quad_segs=_SEGS), *place.by)
            around = piece.buffer(kerf, quad_segs=_SEGS)
            band = Demand(
                *self.demand_head(context, f"piece for {place.name}"),
                kind=CutKind.inlay_piece,
                asked=around.difference(piece),
                floor=Level(0.0 if self.skin is None else self.skin),
                radius=bit.radius,
                reach=context.breakthrough if through else 0.0,
                corners=inlay.corners == "square",
                laid=place.by,
            )
            strip = piece.buffer(kerf + STRIP, quad_segs=_SEGS).difference(around)
            yield band
            yield replace(
                band,
                kind=CutKind.waste,
                name=f"waste beside {band.name}",
                asked=strip,
                must=False,
                corners=False,
                laid=None,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Around each piece in passes with ramped entries, then the wall skimmed."""
        bit, units = context.bits[self.bit], context.job.units
        if bit.shape != "flat":
            raise FeatureError(f"{self.bit} is not a flat bit; the edge would not be square", "name a flat bit", "bit")
        source, _, _ = self._pockets(context)
        if self.skin is not None and self.skin >= context.stock.thickness.min:
            raise FeatureError(
                f"a skin of {show(self.skin, units)} is as thick as the sheet",
                f"make it thinner than {show(context.stock.thickness.min, units)}",
                "skin",
            )
        left = context.stock.thickness.min - (self.skin or 0.0)
        if left < source.depth - 1e-9:
            raise FeatureError(
                f"pieces {show(left, units)} thick do not fill pockets {show(source.depth, units)} deep",
                "take a thicker sheet, or make the pockets less deep",
                "of",
            )
        for place in self._laid(context):
            yield Contour(
                *self.operation_head(
                    context,
                    f"the piece for {place.name}",
                    -context.breakthrough if self.skin is None else self.skin,
                    slot=True,
                ),
                loop=Loop(place.loop.points + np.asarray(place.by), place.loop.bulges),
                kerf=self._kerf(context),
                tabs=(),
            )

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Freeing the pieces, corners, gluing."""
        source, inlay, _ = self._pockets(context)
        units, count = context.job.units, len(self._laid(context))
        if self.skin is not None:
            skin = f"the skin of {show(self.skin, units)}"
            words = f"Sand {skin} off the back of the sheet, until its pieces come free: {count}."
            yield Handwork(self.name, words)
        if inlay.corners == "square":
            yield Handwork(
                self.name,
                f"Square the corners of the pockets of {self.of} with a chisel: the bit left them round, and the "
                "pieces have sharp corners. Inward corners of the pieces are as round as the bit: file them.",
            )
        proud = context.stock.thickness.max - (self.skin or 0.0) - source.depth
        yield Handwork(
            self.name,
            f"Try each piece dry before you glue it: it has {show_fine(inlay.clearance, units)} of play on every side. "
            f"The pieces stand up to {show(proud, units)} above the face. Level them once the glue is hard.",
        )

    def _kerf(self, context: SetupContext) -> float:
        return context.bits[self.bit].cut_diameter + self.settled(context, slot=True).finish_allowance

    def _pockets(self, context: SetupContext) -> tuple[InlaidFeature, Inlay, SetupContext]:
        """The feature with the pockets, how its pieces fit, and its setup's context. Raises FeatureError."""
        for setup in context.job.setups:
            for feature in setup.features:
                if feature.name == self.of:
                    if not isinstance(feature, InlaidFeature):
                        raise FeatureError(f"{self.of} cannot have inlays", "name `marker_pockets` or a `pocket`", "of")
                    if feature.inlay is None:
                        hint = f"add `inlay: {{clearance: {size(0.05, context.job.units)}}}` to {self.of}"
                        raise FeatureError(f"{self.of} has no inlays", hint, "of")
                    return (
                        feature,
                        feature.inlay,
                        setup_context_of(context.job, context.machine, context.wood, setup, context.folder),
                    )
        raise FeatureError(f"no feature is called `{self.of}`", "name one with `inlay`, such as `marker_pockets`", "of")

    def _laid(self, context: SetupContext) -> list[_Place]:
        """The pieces row by row on the sheet, in their pockets' order. Raises FeatureError where it is too small."""
        source, inlay, own = self._pockets(context)
        apart = 2 * (self._kerf(context) + STRIP)
        x0, y0, x1, y1 = context.instrument_box
        edge = self.margin + apart / 2
        x, y, tall = x0 + edge, y0 + edge, 0.0
        out: list[_Place] = []
        pockets = source.laid_in(own)
        for name, pocket in pockets:
            loop = piece_in(pocket, inlay.clearance)
            ax, ay, bx, by = loop.shape().bounds
            if x + bx - ax > x1 - edge and x > x0 + edge:
                x, y, tall = x0 + edge, y + tall + apart, 0.0
            if x + bx - ax > x1 - edge + 1e-9 or y + by - ay > y1 - edge + 1e-9:
                units = context.job.units
                raise FeatureError(
                    f"the sheet of setup {context.setup.name} has room for {len(out)} of {len(pockets)} pieces, "
                    f"{show(apart, units)} apart and {show(edge, units)} from its edges",
                    "take a larger sheet, a smaller bit or a smaller `margin`",
                    "margin",
                )
            out.append(_Place(name, loop, (x - ax, y - ay)))
            x, tall = x + bx - ax + apart, max(tall, by - ay)
        return out


@dataclass(frozen=True, slots=True)
class _Place:
    """One piece: its pocket's name, its outline as it lies in the pocket, how far it is moved onto the sheet, mm."""

    name: str
    loop: Loop
    by: tuple[float, float]
