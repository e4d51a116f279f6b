"""Measured values by mark, and what later programs take as it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from toolpaths.found.mark import Mark
from toolpaths.found.meaning import Meaning

SAME = 0.005
"""Differences up to this are nobody's, mm: no caliper shows them. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Correction:
    """One thing that later programs take as it was found. `asked` and `found` in mm; `subject`: which bit or feature.

    Of the blank, `asked` is its least and `found` its greatest thickness as measured; of two sides, x and y of how far
    apart.
    """

    meaning: Meaning
    marks: tuple[Mark, ...]
    subject: str
    asked: float
    found: float


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

    def asked_by(self, marks: tuple[Mark, ...]) -> Values:
        """The same values, at marks whose wanted figures are others."""
        return Values(marks, self.value, self.cut)

    def known(self, number: int) -> Values:
        """The values that the program with that number (from 0) could follow."""
        known = {n: v for n, v in self.value.items() if self.cut[n] <= number}
        return Values(self.marks, known, {n: self.cut[n] for n in known})

    def of(self, meaning: Meaning) -> list[tuple[Mark, float]]:
        """The values of one meaning, in the order of the marks."""
        return [(m, self.value[m.number]) for m in self.marks if m.meaning is meaning and m.number in self.value]
