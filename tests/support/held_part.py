"""A part in its blank, as columns: a kerf around it with tabs, and what holds the waste or the part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from toolpaths.simulation.columns import Columns

PITCH = 0.4


@dataclass(frozen=True)
class HeldPart:
    """A rectangle `length` x `width` in the middle of a blank 30 mm longer and 50 mm wider, all mm.

    `tabs`: (x, side) of each, side 1 or -1, `tab` long and high, in a kerf as wide as `kerf` that goes down to
    `web`. Screws stand in the corners of the blank.
    """

    length: float = 450.0
    width: float = 50.0
    thickness: float = 20.0
    tabs: Sequence[tuple[float, int]] = ()
    tab: tuple[float, float] = (8.0, 3.0)
    kerf: float = 4.0
    web: float = 0.0
    pitch: float = field(default=PITCH)

    def inside(self, grown: float) -> np.ndarray:
        """(rows, cols) what lies in the rectangle grown by that much."""
        x, y = self.grid
        return (np.abs(x) < self.length / 2 + grown) & (np.abs(y) < self.width / 2 + grown)

    @property
    def grid(self) -> tuple[np.ndarray, np.ndarray]:
        """x, y (rows, cols) of the cells' centres; the grid lies a little off round numbers."""
        a, b = self.length / 2 + 15, self.width / 2 + 25
        x, y = (np.arange(-s + 0.013, s, self.pitch) + self.pitch / 2 for s in (a, b))
        xx, yy = np.meshgrid(x, y)
        return xx, yy

    @property
    def columns(self) -> Columns:
        """The wood."""
        x, y = self.grid
        kerf = self.inside(self.kerf) & ~self.inside(0)
        high = np.where(kerf, self.web, self.thickness)
        for place, side in self.tabs:
            own = kerf & (np.abs(x - place) < self.tab[0] / 2) & (np.sign(y) == side)
            high = np.where(own & (np.abs(x) < self.length / 2), self.tab[1], high)
        high = high.astype(np.float32)
        return Columns(np.zeros_like(high), high, float(x[0, 0]), float(y[0, 0]), self.pitch)

    @property
    def core(self) -> np.ndarray:
        """3 mm inside the part."""
        return self.inside(-3)

    @property
    def held(self) -> np.ndarray:
        """Heads of screws, 8 mm wide, in the waste's corners."""
        x, y = self.grid
        a, b = self.length / 2 + 5, self.width / 2 + 15
        return np.hypot(np.abs(x) - a, np.abs(y) - b) < 4
