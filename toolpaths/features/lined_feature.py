"""The base of features that are cut in lines as wide as their bit: score lines and fret slots."""

from __future__ import annotations

from collections.abc import Collection
from typing import ClassVar, Final, Literal

from pydantic import Field

from toolpaths.common.errors import Problem
from toolpaths.features.feature import Feature
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Job

CAREFUL: Final = "careful"
"""The pace by which lines were cut before what a fine bit bears was reckoned."""


class LinedFeature(Feature):
    """A feature whose levels are cut one traverse each, both ways or one way."""

    lined: ClassVar[bool] = True

    pace: Literal["usual", "careful"] = Field(
        default="usual",
        description="`careful`: passes of a quarter of the bit's diameter, thinner chips, and every level cut twice.",
    )

    @property
    def careful(self) -> bool:
        """Whether the job asks for the careful pace."""
        return self.pace == CAREFUL


def paced(job: Job, careful: Collection[str]) -> tuple[Job, list[Problem]]:
    """(the job with the lines that those bits cut at the careful pace, a problem for each bit that cuts none)."""
    if not careful:
        return job, []
    lined = {f.bit for setup in job.setups for f in setup.features if isinstance(f, LinedFeature)}
    hint = f"bits that cut lines here: {', '.join(sorted(lined)) or 'none'}"
    words = "no lines or fret slots of this job are cut with this bit"
    wrong = [
        Problem("command line", 0, 0, f"--bit {name[:40]}={CAREFUL}", words, hint)
        for name in careful
        if name not in lined
    ]

    def at_pace(feature: FeatureKeys) -> FeatureKeys:
        if not isinstance(feature, LinedFeature) or feature.bit not in careful:
            return feature
        return feature.model_copy(update={"pace": CAREFUL})

    return job.with_features(at_pace), wrong
