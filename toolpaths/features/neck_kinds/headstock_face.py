"""`headstock_face`: the headstock lower than the glue face, from a wall at the nut to the blank's end.

In a setup that is turned over it is the headstock's back, as `headstock_back`.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import Size, marked, show
from toolpaths.features.headstock_level import HeadLevel, HeadstockLevel
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext


def _level_head(value: Any) -> Any:
    raise ValueError(
        "this program cannot cut a headstock that is tilted back: leave `angle` out for a level headstock; "
        "a tilted one needs a scarf joint or a tilted fixture"
    )


class HeadstockFace(HeadstockLevel):
    """Take the headstock's face down below the glue face."""

    key = "headstock_face"
    cuts = frozenset({CutKind.step, CutKind.head_back})

    leaves = "the headstock's face"

    drop: Size | None = Field(
        default=None, description="How far it lies below the glue face; in a setup that cuts the face."
    )
    start: AlongNeck | None = Field(
        default=None, alias="from", description="Place of its wall, from the nut line; negative."
    )
    thickness: Size | None = Field(
        default=None,
        description="Thickness of the headstock from its face to its back, in a setup that is turned over; the "
        "instrument's if absent.",
    )
    angle: Annotated[Any, BeforeValidator(_level_head)] = Field(
        default=None, description="Refused: a tilted headstock cannot be cut."
    )

    def level(self, context: SetupContext) -> HeadLevel:
        """The drop below the glue face; turned over, the headstock's back."""
        if context.flipped:
            if self.drop is not None:
                raise FeatureError(
                    "this setup shows the headstock's back, and `drop` is for its face",
                    "leave `drop` out and give `thickness`, or cut the face in the setup without `flip`",
                    "drop",
                )
            return self.back_level(context, self.thickness, self.start)
        if self.thickness is not None:
            raise FeatureError(
                "this setup shows the headstock's face, and `thickness` is for its back",
                "leave `thickness` out and give `drop`, or cut the back in a setup with `flip: about x`",
                "thickness",
            )
        if self.drop is None:
            raise FeatureError("the headstock's face needs `drop`", f"give it, such as `drop: {marked(4.0)}`", "drop")
        if self.start is None:
            raise FeatureError("the headstock's face needs `from`", f"give it, such as `from: {marked(-8.0)}`", "from")
        title = f"headstock face, {show(self.drop, context.machine.units)} below the glue face"
        wall, z = x_of(self.start, context.job.instrument, "from"), context.at_depth(self.drop)
        return HeadLevel(CutKind.step, "headstock face", wall, z, z + self.drop, title)
