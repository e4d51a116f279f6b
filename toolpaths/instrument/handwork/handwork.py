"""One thing that is left to do by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from toolpaths.instrument.handwork.figures import Figure
from toolpaths.job.stage import Stage


@dataclass(frozen=True, slots=True)
class Handwork:
    """One thing left for the hands, in order of work. `area_mm2`, `reach_mm`: 0 where they say nothing.

    `when`: before the setup's first program; after the feature's, before the next program; else after all programs.
    `stage`: of the work by hand; a feature's own where it says no other. `figures`: the lengths on
    the wood that `what` names.
    """

    feature: str
    what: str
    area_mm2: float = 0.0
    reach_mm: float = 0.0
    when: Literal["before the setup", "before the next", ""] = ""
    stage: Stage | None = None
    figures: tuple[Figure, ...] = ()
