"""`rough_back`: the shaft's back cut by the router to a little above its finished shape."""

from __future__ import annotations

from toolpaths.features.back_passes import BackPasses, near_back
from toolpaths.instrument.back_surfaces import NearBack
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage


class RoughBack(BackPasses):
    """Take most of the shaft's back off in rows along the grain."""

    key = "rough_back"
    cuts = frozenset({CutKind.rough_back})
    stage = Stage.back

    def wanted(self, context: SetupContext) -> NearBack:
        """The finished back, so much wood on it."""
        return near_back(context, self.leave)

    def left(self) -> str:
        """The last of the carving."""
        return "Take the ridges off with a spokeshave or a rasp, then carve to the gauges."
