"""One thing that is left to do by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from toolpaths.instrument.handwork.figures import Figure

Group = Literal["", "top", "edges", "frets", "glue", "back", "holes"]


@dataclass(frozen=True, slots=True)
class Handwork:
    """One thing left for the hands, in order of work. `area_mm2`, `reach_mm`: 0 where they say nothing.

    `when`: before the setup's first program; after the feature's, before the next program; else after all programs.
    `group`: the stretch of work that it belongs to, where its feature does not say that. `figures`: the lengths on
    the wood that `what` names.
    """

    feature: str
    what: str
    area_mm2: float = 0.0
    reach_mm: float = 0.0
    when: Literal["before the setup", "before the next", ""] = ""
    group: Group = ""
    figures: tuple[Figure, ...] = ()
