"""`bores`: any round holes, such as for string guides, pilot holes or cables."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import Field

from toolpaths.features.bored_feature import BoredFeature
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext


class Bores(BoredFeature):
    """Round holes for whatever the job says, through unless a depth is given."""

    key = "bores"
    cuts = frozenset({CutKind.hole})
    hole = CutKind.hole
    word = "hole"
    on_jig = True
    title = "round holes"

    of: str = Field(alias="for", min_length=1, max_length=60, description="What the holes are for, in words.")

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """A backing before through holes, and what they are for."""
        yield from super().by_hand(context, near)
        yield Handwork(self.name, f"What the {len(self.at or ())} holes are for: {self.of}.")
