"""The base of features that follow a drawing: which drawing, and where it lies on the instrument."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePath
from typing import Annotated, Literal

from pydantic import Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import AsTuple, Number, Positive
from toolpaths.common.units import Length, Size, show
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.drawings_in.drawing import ERROR, Drawing, areas, faults_in, outlines, placed, read_drawing
from toolpaths.geometry.loop import Area, Loop
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.headstocks import wood_top
from toolpaths.instrument.places import x_of
from toolpaths.job.place import Along, AlongNeck
from toolpaths.job.setup_context import SetupContext


class DrawnFeature(Feature):
    """A feature whose shape comes from a DXF or SVG file."""

    drawing: str = Field(
        min_length=1, max_length=400, description="A DXF or SVG file; its path counts from the job's folder."
    )
    layer: str | None = Field(
        default=None, description="Layer of the drawing, in an SVG file the group with this id; all if absent."
    )
    depth: Size = Field(description="Depth below the finished face.")
    place: Annotated[tuple[AlongNeck, Length], AsTuple] = Field(
        default=(Along(0.0), 0.0), description="Where the drawing's anchor lies."
    )
    anchor: Literal["zero", "middle"] = Field(
        default="zero", description="zero: the drawing's own 0, 0; middle: the middle of what is drawn."
    )
    rotate: Number = Field(
        default=0.0, ge=-360, le=360, description="Turned counter-clockwise as seen from the face, degrees."
    )
    scale: Positive = Field(default=1.0, le=1000, description="How much larger than drawn.")
    mirror: bool = Field(
        default=False, description="Turned over, for what is read from the back or on a left-handed instrument."
    )

    @property
    def file(self) -> str:
        """The drawing's name without its folders."""
        return PurePath(self.drawing).name[:100]

    def drawn(self, context: SetupContext) -> Drawing:
        """The drawing at its place, in instrument coordinates, mm. Raises DrawingError, FeatureError."""
        found = self._read(context)
        if self.anchor == "middle":
            x0, y0, x1, y1 = found.box
            found = placed(found, (-(x0 + x1) / 2, -(y0 + y1) / 2))
        at = (x_of(self.place[0], context.job.instrument, "place"), self.place[1])
        return placed(found, at, self.rotate, self.scale, self.mirror)

    def outlines(self, context: SetupContext) -> tuple[tuple[Loop, str], ...]:
        """Its outlines at their place, with names. Raises DrawingError where one is open or crosses."""
        self._must_be_outlines(context)
        found = self.drawn(context)
        return tuple(zip(found.closed, found.closed_names, strict=True))

    def areas(self, context: SetupContext) -> tuple[Area, ...]:
        """The areas that its outlines enclose, with islands. Raises DrawingError where one is open or crosses."""
        self._must_be_outlines(context)
        found = self.drawn(context)
        with faults_in(self.file):
            return areas(found)

    def top_and_floor(self, context: SetupContext, right: float) -> tuple[float, float]:
        """Where the bit enters the wood and how deep it goes, mm above the bed, for a shape that ends at x `right`.

        A lowered headstock is cut before what lies within it. Raises FeatureError where the bit cannot go there.
        """
        top, floor, units = wood_top(context, right), context.at_depth(self.depth), context.job.units
        if floor <= 0:
            raise FeatureError("it would go through the wood", "make it less deep", "depth")
        if floor >= top:
            away = top if context.flipped else context.glue - top
            raise FeatureError(
                f"a floor {show(self.depth, units)} from the finished face is above the wood: nothing would be cut",
                f"give {'less' if context.flipped else 'more'} than {show(away, units)}: the wood's surface is "
                "so far from that face",
                "depth",
            )
        return top, floor

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """What was assumed about the drawing: to be measured before cutting."""
        notes = self.drawn(context).notes
        yield from (Handwork(self.name, f"Measure before cutting: {self.file} {note}.") for note in notes)

    def _read(self, context: SetupContext) -> Drawing:
        """The drawing as it was drawn, mm."""
        with faults_in(self.file):
            return read_drawing(context.folder / self.drawing, self.layer, ERROR / max(self.scale, 1.0))

    def _must_be_outlines(self, context: SetupContext) -> None:
        """Check the drawing before it is placed, so that a fault is reported in the drawing's own coordinates."""
        found = self._read(context)
        with faults_in(self.file):
            outlines(found)
