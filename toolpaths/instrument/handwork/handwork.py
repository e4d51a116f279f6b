"""What is left to do by hand, and the lengths to measure on the wood: each with its place, and what it counts from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from toolpaths.common.units import Units, show
from toolpaths.job.stage import Stage

Place = tuple[float, float]
Kind = Literal["depth", "width", "standing", "thickness", "height", "place", "between", "rim", "beyond"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A length on the wood, mm. `at`, `beside`, and `axis` (a unit vector) in the frame of `setup`.

    `depth`: from the surface at `beside` down to the floor at `at`. `width`: between the walls of a cut, through `at`
    along `axis`. `standing`: so much wood between two cuts. `thickness`: of the wood at `at`. `height`: of the surface
    at `at` above the bed, or above the seat of a jig. `place`: from the nut line along x to the middle of the cut at
    `at`. `between`: along x from the middle of the cut at `beside` to that of the cut at `at`. `rim`: from `at` along
    `axis` to the wall of the cut. `beyond`: from there to where the wood ends.
    `within`: how far it may be off, below and above. `surface`: from what it is counted, in words.
    """

    kind: Kind
    value: float
    setup: str
    at: Place
    axis: Place = (1.0, 0.0)
    beside: Place | None = None
    surface: str = ""
    within: tuple[float, float] = (0.0, 0.0)

    def wanted(self, units: Units) -> str:
        """The value with its tolerance: `25.00 mm ± 0.10`, or `8.00 to 8.05 mm` where that is not symmetric."""
        low, high = self.within
        if low == high == 0:
            return show(self.value, units)
        if low == -high:
            return f"{show(self.value, units)} ± {show(high, units).split()[0]}"
        return f"{show(self.value + low, units).split()[0]} to {show(self.value + high, units)}"

    def loosened(self, by: float) -> Figure:
        """With a wider tolerance where walls decide it, each of which may stand off by `by` mm, to either side."""
        walls = {"width": 2, "standing": 2, "place": 1, "rim": 1, "beyond": 1}.get(self.kind, 0)
        low, high = self.within
        return replace(self, within=(low - walls * by, high + walls * by)) if walls and by > 0 else self


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing to measure. `figures` share one value; `said` is used where there is none.

    `of`: the cut that it is measured on, where several things are. `where`: which of several places of the same thing.
    """

    what: str
    figures: tuple[Figure, ...]
    said: str = ""
    where: str = ""
    of: str = ""

    @property
    def words(self) -> str:
        """What is measured, on which cut and at which place."""
        return ": ".join(part for part in (self.of, self.what, self.where) if part)

    def loosened(self, by: float) -> Measure:
        """With wider tolerances, as `Figure.loosened` widens each."""
        return replace(self, figures=tuple(figure.loosened(by) for figure in self.figures))


@dataclass(frozen=True, slots=True)
class Handwork:
    """One task left for handwork, in order of work. `area_mm2`, `reach_mm`: 0 where not known.

    `when`: before the setup's first program; after the feature's, before the next program; else after all programs.
    `stage`: of the work by hand; a feature's own where it says no other. `figures`: the lengths on
    the wood that `what` names. `setup`: whose work it is, where no feature of it says so.
    """

    feature: str
    what: str
    area_mm2: float = 0.0
    reach_mm: float = 0.0
    when: Literal["before the setup", "before the next", ""] = ""
    stage: Stage | None = None
    setup: str = ""
    figures: tuple[Figure, ...] = ()


def depth_words(figures: Sequence[Figure], units: Units) -> str:
    """`1.50 mm deep from the headstock's face`; each depth once, the least first."""
    depths = sorted({(round(f.value, 3), f.surface) for f in figures if f.kind == "depth"})
    return " and ".join(f"{show(deep, units)} deep from {surface}" for deep, surface in depths)
