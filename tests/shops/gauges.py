"""What calipers, depth gauge and rule find in the true wood of a shop at a figure of the measuring list."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.shops.wood import Wood, line
from toolpaths.instrument.handwork.handwork import Figure

Array = NDArray[np.float64]
Place = tuple[float, float]
STEP = 0.05
"""Between the places of the first look, mm."""
STRETCH = 1.0
FINE = 51
"""Places between two of the first look, so that an edge is found to 0.001 mm."""


@dataclass(frozen=True)
class Gauge:
    """A wood at hand, in a setup or on its bare bed, and how far beside its place each cut is found there.

    `place`: where a place of the setup is looked for; `face_place`: the same for cuts of the first side.
    """

    wood: Wood
    setup: str
    on_bed: bool
    place: Callable[[Place], Place]
    face_place: Callable[[Place], Place]

    def read(self, figure: Figure) -> float:
        """The true length, mm; NaN where there is nothing to measure."""
        at = self.place(figure.at)
        match figure.kind:
            case "thickness":
                return float(self.wood.through(self.setup, np.array([at]))[0])
            case "height":
                return self.height(at) + self.wood.lifted(self.setup)
            case "depth":
                assert figure.beside is not None
                return self.height(self.place(figure.beside)) - self.height(at)
            case "width":
                return self.wall(at, figure.axis) + self.wall(at, _back(figure.axis))
            case "place":
                return self.middle(at)[0]
            case "between":
                assert figure.beside is not None
                return self.middle(at)[0] - self.middle(self.place(figure.beside))[0]
            case "standing":
                return sum(self._end(at, axis, figure.value / 2 - 0.6) for axis in (figure.axis, _back(figure.axis)))
            case "beyond":
                return self._end(at, figure.axis, figure.value / 2)
            case "rim":
                bore = self._bore(figure)
                begin = np.asarray(at) + 0.8 * np.asarray(figure.axis)
                ring = _first(lambda p: self._heights(p), tuple(begin), figure.axis, 0.0, figure.value + 1.5, 0.1)
                return ring + 0.8 + float(np.dot(at, figure.axis)) - bore

    def wall(self, at: Place, axis: Place) -> float:
        """How far from a place in a cut its wall stands."""
        return _first(lambda p: self._heights(p), at, axis, 0.0, 12.0, 0.1)

    def middle(self, at: Place) -> Place:
        """The middle of a cut, found from a place in it: along x, then along y where it has walls there."""
        x = at[0] + (self.wall(at, (1.0, 0.0)) - self.wall(at, (-1.0, 0.0))) / 2
        y = at[1] + (self.wall((x, at[1]), (0.0, 1.0)) - self.wall((x, at[1]), (0.0, -1.0))) / 2
        return x, y

    def between_cuts(self, figure: Figure) -> float:
        """y of the middle of the wood that stands between two cuts."""
        at, begin = self.place(figure.at), figure.value / 2 - 0.6
        return at[1] + (self._end(at, (0.0, 1.0), begin) - self._end(at, (0.0, -1.0), begin)) / 2

    def height(self, at: Place) -> float:
        """Of the wood over what it lies on, as it lies."""
        return float(self._heights(np.array([at]))[0])

    @property
    def thick(self) -> float:
        """Of the wood between its planed face and its underside."""
        return float(self.wood.planed)

    # Private

    def _bore(self, figure: Figure) -> float:
        """Where the wall of the first side's bore stands along a rim's axis, as this side sees it."""
        face = next(n for n, p in self.wood.parts.items() if not p.flipped)
        x, y = self.face_place(figure.at)
        begin = x - figure.axis[0], y - figure.axis[1]
        heights = lambda p: self.wood.heights(face, p * [1.0, -1.0])  # noqa: E731
        return _first(heights, begin, figure.axis, 0.0, 3.0, 0.1) + float(np.dot(begin, figure.axis))

    def _end(self, at: Place, axis: Place, begin: float) -> float:
        return _first(lambda p: -self._heights(p), at, axis, begin, begin + 4.0, 0.03)

    def _heights(self, points: Array) -> Array:
        return self.wood.heights(self.setup, points, on_bed=self.on_bed)


def _back(axis: Place) -> Place:
    return -axis[0], -axis[1]


def _first(heights: Callable[[Array], Array], at: Place, axis: Place, begin: float, end: float, rise: float) -> float:
    """How far from a place along an axis it first stands higher than at the beginning; NaN where it does not."""
    low = float(heights(line(at, axis, np.array([begin])))[0]) + rise
    for first in np.arange(begin, end, STRETCH):
        along = np.arange(first, first + STRETCH + STEP / 2, STEP)
        up = heights(line(at, axis, along)) > low
        if up.any():
            k = max(1, int(np.argmax(up)))
            fine = np.linspace(along[k - 1], along[k], FINE)
            return float(fine[np.argmax(heights(line(at, axis, fine)) > low)])
    return math.nan
