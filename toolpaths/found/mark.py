"""A place to measure, with its short mark, the value asked for, and what a wrong one means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from toolpaths.common.units import Units
from toolpaths.found.meaning import Meaning
from toolpaths.instrument.handwork.handwork import Figure, Measure


@dataclass(frozen=True, slots=True)
class Mark:
    """One row of the measuring list. `number` counts from 1 over the whole job and is printed as M1, M2, ...

    `after`: how many of the job's programs are cut when it is measured; 0 before the first. `before`: it is measured as
    the work lies in its setup, before anything is cut there. `feature`, `bit`: whose cut it is; both empty for the
    blank itself. `measure` holds one or more figures of the same value, or none where something is only looked at.
    `later`: whether a program comes after it that can follow it; `together`: the numbers of the marks that say
    something only together.
    """

    number: int
    setup: str
    feature: str
    bit: str
    after: int
    measure: Measure
    meaning: Meaning
    before: bool = False
    later: bool = False
    together: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        """As it is printed and typed: `M3`."""
        return f"M{self.number}"

    @property
    def figure(self) -> Figure:
        """The length that is measured. Raises IndexError where something is only looked at."""
        return self.measure.figures[0]

    @property
    def asked(self) -> float:
        """The value asked for, mm; of a blank that may be thicker and thinner, the middle."""
        low, high = self.figure.within
        return self.figure.value + ((low + high) / 2 if self.meaning is Meaning.blank else 0.0)

    def wanted(self, units: Units) -> str:
        """The value asked for with its tolerance, or what is to be seen."""
        return self.figure.wanted(units) if self.measure.figures else self.measure.said

    def whole(self, found: Mapping[int, float]) -> bool:
        """Whether all is measured that says something only together with it."""
        return all(number in found for number in self.together)

    def fits(self, value: float) -> bool:
        """Whether a value, mm, lies within the tolerance."""
        low, high = self.figure.within
        return low - 1e-9 <= value - self.figure.value <= high + 1e-9


def names_of(marks: tuple[Mark, ...]) -> str:
    """Several marks as they are read: `M1`, `M1 and M4`, `M1 to M6`."""
    numbers = sorted(m.number for m in marks)
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"M{numbers[0]} to M{numbers[-1]}"
    *some, last = (f"M{n}" for n in numbers)
    return f"{', '.join(some)} and {last}" if some else last
