"""The base of features that are cut in lines as wide as their bit: score lines and fret slots."""

from __future__ import annotations

from typing import ClassVar, Final, Literal

from pydantic import Field

from toolpaths.features.feature import Feature

CAREFUL: Final = "careful"
"""The pace by which lines were cut before what a fine bit bears was reckoned."""


class LinedFeature(Feature):
    """A feature whose levels are cut one traverse each, both ways or one way."""

    lined: ClassVar[bool] = True

    pace: Literal["usual", "careful"] = Field(
        default="usual",
        description="`careful`: a quarter of the bit's diameter a pass, a thinner chip, and every level cut twice.",
    )
