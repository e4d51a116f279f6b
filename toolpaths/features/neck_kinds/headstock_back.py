"""`headstock_back`: the headstock cut to its thickness from the back, level to the blank's end."""

from __future__ import annotations

from pydantic import Field

from toolpaths.common.units import Size
from toolpaths.features.headstock_level import HeadLevel, HeadstockLevel
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext


class HeadstockBack(HeadstockLevel):
    """Take the headstock's back down to its thickness."""

    key = "headstock_back"
    cuts = frozenset({CutKind.head_back})

    leaves = "the headstock's back"

    thickness: Size | None = Field(
        default=None, description="Thickness of the headstock from its face to its back; the instrument's if absent."
    )
    start: AlongNeck | None = Field(
        default=None,
        alias="from",
        description="Place of its wall, from the nut line; where the finished back is level if absent.",
    )

    def level(self, context: SetupContext) -> HeadLevel:
        """The headstock's thickness below its face."""
        return self.back_level(context, self.thickness, self.start)
