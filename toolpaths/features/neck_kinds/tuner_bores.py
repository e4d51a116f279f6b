"""`tuner_bores`: holes for the tuning machines, at places given or laid out along the headstock's sides."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, model_validator

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Size
from toolpaths.features.bored_feature import BoredFeature, Hole, Places
from toolpaths.instrument.places import x_of
from toolpaths.instrument.tuner_posts import post_layout
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext


def _sides(value: Any) -> Any:
    pair = value if isinstance(value, list | tuple) else [value, value]
    whole = [v for v in pair if isinstance(v, int) and not isinstance(v, bool) and 0 <= v <= 12]
    if len(pair) != 2 or len(whole) != 2 or not any(whole):
        raise ValueError("give one number for both sides, or [treble side, bass side], each from 0 to 12")
    return tuple(pair)


class Layout(InputModel):
    """Posts in a row along each side of the headstock."""

    per_side: Annotated[tuple[int, int], BeforeValidator(_sides)] = Field(
        description="How many tuners on each side, or [treble side, bass side]."
    )
    first: AlongNeck = Field(description="Place of the post nearest the nut; negative.")
    spacing: Size = Field(description="Distance from one post to the next, along the neck.")
    edge: Size = Field(description="Distance from the middle of a post to the headstock's side, straight across.")


class TunerBores(BoredFeature):
    """Holes for the tuning machines, through the headstock unless a depth is given."""

    key = "tuner_bores"
    cuts = frozenset({CutKind.tuner_hole})
    hole = CutKind.tuner_hole
    word = "tuner"
    title = "holes for the tuning machines"

    diameter: Size = Field(description="Diameter of the holes.")
    at: Places | None = Field(
        default=None, min_length=1, max_length=200, description="Places of the holes, as in `pin_bores`."
    )
    layout: Layout | None = Field(
        default=None, description="Rows along the sides: `{per_side: 2, first: -45, spacing: 38, edge: 14}`."
    )
    depth: Size | None = Field(default=None, description="Depth below the glue face; through if absent.")

    @model_validator(mode="after")
    def _one_way(self) -> TunerBores:
        if (self.at is None) == (self.layout is None):
            raise ValueError("give the places either in `at` or by `layout`")
        return self

    def _holes(self, context: SetupContext) -> list[Hole]:
        """(x, y, diameter) of each."""
        instrument = context.job.instrument
        if self.layout is not None:
            row = self.layout
            first = x_of(row.first, instrument, "layout")
            places = post_layout(instrument, row.per_side, first, row.spacing, row.edge)
            return [(x, y, self.diameter) for x, y in places]
        if not self.at:
            raise FeatureError("no places are given", "give each in `at`, or rows in `layout`", "at")
        return [(x_of(p.x, instrument, "at"), p.y, p.diameter or self.diameter) for p in self.at]
