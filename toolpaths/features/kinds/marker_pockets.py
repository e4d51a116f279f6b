"""`marker_pockets`: pockets for position markers, one or two behind each of the usual frets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import PurePath
from typing import Annotated, Literal, Self

import shapely
from pydantic import Field, model_validator

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple, Number, Positive
from toolpaths.common.units import Depth, Size, show, show_area, show_fine
from toolpaths.features.fits import Fit, hole_fit
from toolpaths.features.inlays import InlaidFeature, pieces_of, rounded_drawing, rounded_shape
from toolpaths.features.pockets import cleared
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.drawings_in.drawing import ERROR, areas, faults_in, outlines, placed, read_drawing
from toolpaths.geometry.loop import Area, Loop
from toolpaths.instrument.boards import half_width
from toolpaths.instrument.fans import FretLine, fret_line
from toolpaths.instrument.handwork.handwork import Handwork, Measure, depth_words
from toolpaths.instrument.marker_shapes import Points, block, diamond, rounded, trapezoid
from toolpaths.instrument.markers import Edge, Marker, Row, marker_places, space
from toolpaths.instrument.side_dot_places import dot_places
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.operation import Operation
from toolpaths.operations.rest_material import second_bit
from toolpaths.target_shape.demand import Demand, Level

_WANTED: dict[str, tuple[str, ...]] = {
    "round": ("diameter",),
    "block": ("length", "width"),
    "trapezoid": ("length", "inset"),
    "diamond": ("length", "width"),
    "drawn": ("drawing",),
}
_OPTIONAL: dict[str, tuple[str, ...]] = {"drawn": ("layer", "scale", "rotate")}
_OF_SHAPES = ("diameter", "length", "gap", "width", "inset", "drawing", "layer", "scale", "rotate")


class MarkerPockets(InlaidFeature):
    """Pockets for markers, level at the bottom."""

    key = "marker_pockets"
    cuts = frozenset({CutKind.marker})
    stage = Stage.fill
    within = (0.0, 0.1)

    then: str | None = Field(
        default=None, description="A smaller bit that cuts what the first one leaves in the corners."
    )
    shape: Literal["round", "block", "trapezoid", "diamond", "drawn"] = Field(
        default="round", description="Shape of every marker."
    )
    diameter: Size | None = Field(default=None, description="Diameter of round markers.")
    length: Size | None = Field(
        default=None, description="Length along the board, for blocks, trapezoids and diamonds."
    )
    gap: Depth | None = Field(default=None, description="Distance to the frets on both sides, in place of a length.")
    width: Size | None = Field(default=None, description="Width across the board, for blocks and diamonds.")
    inset: Depth | None = Field(
        default=None, description="For trapezoids: distance from the board's edges to their sides."
    )
    drawing: str | None = Field(
        default=None,
        min_length=1,
        max_length=400,
        description="A DXF or SVG file; its path counts from the job's folder.",
    )
    layer: str | None = Field(
        default=None, description="Layer of the drawing, in an SVG file the group with this id; all if absent."
    )
    scale: Positive = Field(
        default=1.0,
        le=1000,
        description="How much larger than drawn; the middle of the drawing lies at the marker's place.",
    )
    rotate: Number = Field(
        default=0.0, ge=-360, le=360, description="Turned counter-clockwise as seen from the face, degrees."
    )
    frets: Annotated[tuple[int, ...], AsTuple] | None = Field(
        default=None,
        max_length=61,
        description="Frets that get a marker; 3 5 7 9 12 15 17 19 21 24 as far as there are frets if absent.",
    )
    doubles: Annotated[tuple[int, ...], AsTuple] = Field(default=(12, 24), description="Frets that get two markers.")
    double_spacing: Size | None = Field(
        default=None, description="Distance between the two markers of a double; half the width if absent."
    )
    row: Row | None = Field(default=None, description="A row along an edge of the board, in place of the centreline.")
    side_dots: Edge | None = Field(
        default=None, description="Edge into which you bore dots by hand; the report lists their places."
    )

    @model_validator(mode="after")
    def _of_its_shape(self) -> Self:
        wanted = _WANTED[self.shape]
        for key in wanted:
            if getattr(self, key) is None and not (key == "length" and self.gap is not None):
                either = " or a `gap`" if key == "length" and self.shape != "diamond" else ""
                raise ValueError(f"a {self.shape} marker needs a `{key}`{either}")
        allowed = {*wanted, *_OPTIONAL.get(self.shape, ()), *(("gap",) if "length" in wanted else ())}
        for key in _OF_SHAPES:
            if key in self.model_fields_set and key not in allowed:
                raise ValueError(f"a {self.shape} marker has no `{key}`")
        if self.length is not None and self.gap is not None:
            raise ValueError("give a `length` or a `gap`, not both")
        if self.shape == "trapezoid" and ("doubles" in self.model_fields_set or self.row is not None):
            raise ValueError("a trapezoid reaches from edge to edge: leave out `doubles` and `row`")
        return self

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """A round marker."""
        if self.shape == "round" and self.diameter is not None:
            yield hole_fit(self, bit, "marker", "marker pocket", self.diameter, self.depth, "pocket")

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The shape at each place, level at the depth; its corners rounded where a piece is to fit."""
        radius = self.corner_radius(context)
        bit = context.bits[self.bits[-1]]
        squared = self.inlay is not None and self.inlay.corners == "square"
        for area in self._sharp(context):
            yield Demand(
                *self.demand_head(context, area.name),
                kind=CutKind.marker,
                asked=rounded_shape(area.shape(), radius),
                floor=Level(context.at_depth(self.depth)),
                radius=bit.width_at(self.depth) / 2,
                corners=squared,
            )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Each pocket cleared from the middle outwards, its wall skimmed last; round ones need no second bit."""
        bit, units = context.bits[self.bit], context.job.units
        must_be_flat(self.bit, bit, "the floor would not be level", units)
        if self.diameter is not None and bit.cut_diameter > self.diameter + 1e-9:
            raise FeatureError(
                f"{self.bit} is {show(bit.cut_diameter, units)} wide, and the pockets only "
                f"{show(self.diameter, units)}",
                "take a smaller bit",
                "bit",
            )
        if self.depth >= context.face:
            raise FeatureError("the pockets would go through the board", "make them less deep", "depth")
        found = self._areas(context)
        heights = (context.face, context.at_depth(self.depth))
        if self.shape == "round":
            if self.then is not None:
                second_bit(context, self.bit, self.then)
            title = f"pockets of {show(self.diameter or 0.0, context.machine.units)} for the markers"
            yield from cleared(self, None, found, context, heights, title)
        else:
            self._must_lie_on_board(context)
            yield from cleared(self, self.then, found, context, heights, f"{self.shape} pockets for the markers")

    def laid_in(self, context: SetupContext) -> tuple[tuple[str, Loop], ...]:
        """The pockets' outlines."""
        return tuple((a.name, a.outer) for a in self._areas(context))

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """The markers themselves, corners, side dots."""
        shapes, units = [area.shape() for area in self._sharp(context)], context.job.units
        volume = sum(shape.area for shape in shapes) * self.depth / 1000
        size = f"{show(self.diameter, units)} across, " if self.diameter is not None else ""
        figures = tuple(f for row in self.measures(context, near) for f in row.figures)
        fill, filler = "Inlay or fill", f", {volume:.2f} ml of filler in all"
        if self.inlay is not None:
            fill, filler = "Glue the pieces into", ""
        pockets = f"marker pocket{'s' if len(shapes) > 1 else ''}"
        words = f"{fill} {len(shapes)} {pockets}: {size}{depth_words(figures, units)}{filler}. Level them."
        notes = [self._about_corners(context), self._about_pieces(context), self._about_dots(context)]
        yield Handwork(self.name, words, figures=figures)
        yield from (Handwork(self.name, text) for text in notes if text)

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """Width and depth; a drawn marker has only a depth."""
        return [row for row in near.cuts(context, self) if self.drawing is None or row.figures[0].kind == "depth"]

    def _about_corners(self, context: SetupContext) -> str:
        """The corners that the bit leaves round in pockets for filler or bought markers."""
        if self.shape == "round" or self.inlay is not None:
            return ""
        radius, shapes = context.bits[self.bits[-1]].radius, [area.shape() for area in self._sharp(context)]
        left = sum(shape.difference(rounded_shape(shape, radius)).area for shape in shapes)
        if left < 1e-3:
            return ""
        return (
            f"The bit leaves a radius of {show(radius, context.job.units)} in the corners of the marker pockets "
            f"({show_area(left, context.job.units)} of wood in all). Filler needs nothing more. For bought markers, "
            "square the corners with a chisel, or round the markers."
        )

    def _about_pieces(self, context: SetupContext) -> str:
        if self.inlay is None or pieces_of(context, self.name):
            return ""
        units = context.job.units
        return (
            f"No setup of this job cuts the pieces for {self.name}. Make each {show_fine(self.inlay.clearance, units)} "
            "smaller than its pocket on every side, with corners rounded to "
            f"{show(max(self.corner_radius(context) - self.inlay.clearance, 0.0), units)} or more."
        )

    def _about_dots(self, context: SetupContext) -> str:
        if self.side_dots is None:
            return ""
        units = context.job.units
        at = [
            f"fret {dot.fret}{f' ({dot.side})' if dot.side else ''} {show(dot.along, units)}"
            for dot in dot_places(context.job.instrument, self.side_dots, self.frets, self.doubles)
        ]
        return (
            f"Bore the side dots into the {self.side_dots} edge. Measure along that edge from its corner at the nut: "
            f"{'; '.join(at)}. Use a centre punch or a stop block, so that the drill does not wander."
        )

    def _areas(self, context: SetupContext) -> list[Area]:
        """Each pocket as it is cut."""
        radius = self.corner_radius(context)
        found = self._sharp(context, radius)
        if self.inlay is None or self.shape != "drawn":
            return found
        return [Area(rounded_drawing(a.shape(), radius, a.name, context), (), a.name) for a in found]

    def _sharp(self, context: SetupContext, radius: float = 0.0) -> list[Area]:
        """Each pocket as drawn, corners of other shapes rounded to a radius, mm."""
        if self.shape == "drawn":
            return self._drawn(context)
        return [Area(self._outline(m, context, radius), (), m.name) for m in self._places(context)]

    def _outline(self, m: Marker, context: SetupContext, radius: float) -> Loop:
        if self.diameter is not None:
            return Loop.circle(m.x, m.y, self.diameter / 2)
        points = self._points(m, context)
        return rounded(points, radius) if radius > 0 else Loop.polygon(points)

    def _points(self, m: Marker, context: SetupContext) -> Points:
        length = self._length(m, context)
        if self.shape == "trapezoid":
            return trapezoid(context.job.instrument, *self._ends(m, length, context), self.inset or 0.0)
        return (block if self.shape == "block" else diamond)(m.x, m.y, length, self.width or 0.0)

    def _ends(self, m: Marker, length: float, context: SetupContext) -> tuple[FretLine, FretLine]:
        """Lines of a trapezoid's two ends: each leans as the frets do there, `gap` square from its fret."""
        before, behind = (fret_line(context.job.instrument, n) for n in (m.fret - 1, m.fret))
        if self.length is None:
            gap = self.gap or 0.0
            return (
                FretLine(before.x + gap * before.stretch, before.lean),
                FretLine(behind.x - gap * behind.stretch, behind.lean),
            )
        turn = (behind.lean - before.lean) / (behind.x - before.x)
        near, far = m.x - length / 2, m.x + length / 2
        return (
            FretLine(near, before.lean + turn * (near - before.x)),
            FretLine(far, before.lean + turn * (far - before.x)),
        )

    def _length(self, m: Marker, context: SetupContext) -> float:
        if self.length is not None:
            return self.length
        x0, x1 = space(context.job.instrument, m.fret)
        room = min(m.x - x0, x1 - m.x)
        if room <= (self.gap or 0.0):
            most = show(room, context.job.units)
            raise FeatureError(
                f"the gap leaves no length for the {m.name}",
                f"give a `gap` below {most}, or leave that fret out",
                "gap",
            )
        return 2 * room - 2 * (self.gap or 0.0)

    def _drawn(self, context: SetupContext) -> list[Area]:
        """What the drawing encloses, its middle at each place, with names."""
        name = self.drawing or ""
        out: list[Area] = []
        with faults_in(PurePath(name).name[:100]):
            found = read_drawing(context.folder / name, self.layer, ERROR / max(self.scale, 1.0))
            outlines(found)
            x0, y0, x1, y1 = found.box
            middle = placed(found, (-(x0 + x1) / 2, -(y0 + y1) / 2))
            for m in self._places(context):
                here = areas(placed(middle, (m.x, m.y), self.rotate, self.scale))
                out += [replace(a, name=m.name if len(here) == 1 else f"{m.name}: {a.name}") for a in here]
        return out

    def _must_lie_on_board(self, context: SetupContext) -> None:
        """Raises FeatureError for a marker that hangs over the board's edge, or over the other of its double."""
        instrument, found = context.job.instrument, [(a.name, a.shape()) for a in self._sharp(context)]
        for name, shape in found:
            x, y = shapely.get_coordinates(shape).T
            over = float((abs(y) - half_width(instrument, x)).max())
            if over > 1e-6:
                raise FeatureError(
                    f"the {name} would reach {show(over, context.job.units)} past the board's edge",
                    "make it narrower, or move it away from the edge",
                    "shape",
                )
        tree = shapely.STRtree([shape for _, shape in found])
        for i, j in tree.query([shape for _, shape in found], predicate="intersects").T.tolist():
            if i < j:
                raise FeatureError(
                    f"the {found[i][0]} and the {found[j][0]} overlap", "move them apart, or make them smaller", "shape"
                )

    def _places(self, context: SetupContext) -> tuple[Marker, ...]:
        count = context.job.instrument.frets
        doubles = () if self.shape == "trapezoid" else self.doubles
        places = marker_places(context.job.instrument, self.frets, doubles, self.double_spacing, self.row)
        if not places:
            raise FeatureError("no fret has a marker", f"name some in `frets`; the instrument has {count}", "frets")
        return places
