"""Inlays: pieces that are laid into pockets, cut from a sheet of their own so that both fit.

A pocket's outward corners have at least the radius of the bit that cuts it, a piece's inward corners that of its own
bit. Where both are rounded to the larger of the two, the piece is the pocket's outline drawn in by the clearance all
around, and either bit comes into every corner.
"""

from __future__ import annotations

from abc import abstractmethod
from typing import Literal

import numpy as np
import shapely
from pydantic import Field
from shapely import Polygon
from shapely.geometry.polygon import orient

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Depth, Size, marked, show
from toolpaths.features.feature import Feature
from toolpaths.geometry.arc_fit import arcs_in
from toolpaths.geometry.loop import Loop
from toolpaths.geometry.offset import drawn_in
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import opened

_MOST_LOST = 0.05
"""Part of a drawn shape that rounding its corners may take; more, and it is another shape."""
_SEGS = 64
_ARC = 1e-3
_HAIR = 2e-3
"""Corners are rounded by so much more than the bit's radius, so that rounding of numbers never leaves one out, mm."""


class Inlay(InputModel):
    """How pieces fit into pockets."""

    clearance: Depth = Field(description="Distance between the pocket's wall and the piece, all around.")
    corners: Literal["round", "square"] = Field(
        default="round",
        description="round: corners of pocket and piece are as round as the larger bit; square: as drawn, and "
        "you finish them by hand.",
    )


class InlaidFeature(Feature):
    """A feature whose pockets may take inlays."""

    depth: Size = Field(description="Depth below the finished face.")
    inlay: Inlay | None = Field(
        default=None, description="Pieces that are cut to fit; absent: filler, or markers as bought."
    )

    @abstractmethod
    def laid_in(self, context: SetupContext) -> tuple[tuple[str, Loop], ...]:
        """The outline of every pocket that takes a piece, as it is cut, with its name; instrument coordinates, mm.

        Raises FeatureError.
        """

    def corner_radius(self, context: SetupContext) -> float:
        """Radius to which the corners of pockets and pieces are rounded, mm; 0 where they are not."""
        if self.inlay is None or self.inlay.corners == "square":
            return 0.0
        pieces = pieces_of(context, self.name)
        radii = [context.bits[self.bits[-1]].radius, *(context.bits[f.bit].radius for _, f in pieces)]
        return max(radii) + _HAIR


def pieces_of(context: SetupContext, name: str) -> list[tuple[Setup, FeatureKeys]]:
    """The features of a job that cut the pieces for a feature's pockets, each with its setup."""
    return [
        (setup, f)
        for setup in context.job.setups
        for f in setup.features
        if CutKind.inlay_piece in f.cuts and getattr(f, "of", None) == name
    ]


def piece_in(pocket: Loop, clearance: float) -> Loop:
    """The outline of the piece for a pocket. Raises FeatureError where nothing, or more than one piece, is left."""
    found = drawn_in([pocket.flattened(2e-4)], clearance) if clearance > 0 else [pocket]
    if len(found) != 1:
        raise FeatureError(
            f"a piece is too narrow for a clearance of {marked(clearance)}", "make the clearance smaller", "inlay"
        )
    circle = pocket.as_circle()
    return found[0] if circle is None else Loop.circle(circle[0], circle[1], circle[2] - clearance)


def rounded_shape(shape: Polygon, radius: float) -> Polygon:
    """A shape with every corner rounded: first the outward corners, then the inward ones."""
    if radius <= 0:
        return shape
    outward = opened(shape, radius)
    found = outward.buffer(radius, quad_segs=_SEGS).buffer(-radius, quad_segs=_SEGS)
    return found if isinstance(found, Polygon) else Polygon()


def rounded_drawing(shape: Polygon, radius: float, name: str, context: SetupContext) -> Loop:
    """A drawn outline with its corners rounded, arcs found again.

    Raises FeatureError where it has islands, or parts too narrow for the bits.
    """
    if shape.interiors:
        raise FeatureError(
            f"{name} has an island, and a piece with a hole in it cannot be cut",
            "draw it without the island, and inlay the island's shape afterwards",
            "drawing",
        )
    found = orient(rounded_shape(shape, radius))
    if found.is_empty or found.symmetric_difference(shape).area > _MOST_LOST * shape.area:
        raise FeatureError(
            f"{name} has parts too narrow or too sharp for corners of radius {show(radius, context.job.units)}",
            "take smaller bits, scale it up, or write `corners: square`",
            "inlay",
        )
    points = np.asarray(shapely.get_coordinates(found.exterior))[:-1]
    return arcs_in(points, _ARC)
