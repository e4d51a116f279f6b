"""Measured values by mark, and what later programs take as it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning

SAME = 0.005
"""Differences up to this count as none, mm: no caliper shows them. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing that later programs take as it was found. `marks`: those that have shown it.

    `subject`: the bit, the feature or the setup that it is of.
    """

    marks: tuple[Mark, ...]
    subject: str

    @property
    def meaning(self) -> Meaning:
        """What the marks say."""
        return self.marks[0].meaning


@dataclass(frozen=True, slots=True)
class Replaced(Correction):
    """A length of a face, a bit or an axis that takes the place of the one asked for, mm."""

    asked: float
    found: float


@dataclass(frozen=True, slots=True)
class BlankMeasured(Correction):
    """The blank between its least and its greatest measured thickness, mm."""

    least: float
    most: float


@dataclass(frozen=True, slots=True)
class SideBeside(Correction):
    """A side that was cut so far in x and y beside the other, mm."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Values:
    """Measured values by mark number, mm, with how many programs were cut when each was written down."""

    marks: tuple[Mark, ...]
    value: Mapping[int, float]
    cut: Mapping[int, int]

    @property
    def programs_cut(self) -> int:
        """How many of the job's programs are cut already."""
        return max(self.cut.values(), default=0)

    def known(self, number: int) -> Values:
        """The values that the program with that number (from 0) could follow."""
        known = {n: v for n, v in self.value.items() if self.cut[n] <= number}
        return Values(self.marks, known, {n: self.cut[n] for n in known})

    def of(self, meaning: Meaning) -> list[tuple[Mark, float]]:
        """The values of one meaning, in the order of the marks."""
        return [(m, self.value[m.number]) for m in self.marks if m.meaning is meaning and m.number in self.value]
