"""Keep the bounds of wanted heights up to date from program to program: each region and each probe once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.standing_wood import StandingWood
from toolpaths.target_shape.demand import GOUGE
from toolpaths.verification.bounds import Bounded, Comparison, Probes, apply_high, apply_low, point_bounds, probes_of


class RunningComparison:
    """Bounds and probes of a sequence of programs on one blank. Demands are only added, never removed."""

    __slots__ = ("_begun", "_finished", "_heights", "_high", "_keep", "_low", "_moves", "_probes")

    def __init__(self, blank: DepthMap, *, keep: bool = True) -> None:
        """An empty comparison, with the uncut blank. `keep` false: a comparison's maps last only until the next."""
        self._keep = keep
        self._low = blank.heights - np.float32(GOUGE)
        self._high = np.full(blank.heights.shape, np.inf, dtype=np.float32)
        self._begun: list[Bounded] = []
        self._finished: list[Bounded] = []
        self._probes = Probes(np.empty((0, 2)), np.empty(0), np.empty(0), np.empty(0, dtype=np.int64))
        self._heights = np.empty(0)
        self._moves = 0

    def compare(
        self, after: DepthMap, standing: StandingWood, begun: Sequence[Bounded], finished: Sequence[Bounded]
    ) -> Comparison:
        """The comparison at the end of a program.

        `begun`, `finished`: all demands begun and all wholly finished by then, those of earlier programs first.
        `standing` holds all moves up to this program's last.
        """
        new_begun = begun[len(self._begun) :]
        new_finished = [b for b in finished if not any(b is f for f in self._finished)]
        if self._keep and new_begun:
            self._low = self._low.copy()
        if self._keep and new_finished:
            self._high = self._high.copy()
        for b in new_begun:
            apply_low(self._low, after, b)
        for b in new_finished:
            apply_high(self._high, after, b)
        self._probe(standing, new_begun, new_finished)
        self._begun += new_begun
        self._finished += new_finished
        return Comparison(self._low, self._high, self._probes, self._heights)

    def _probe(self, standing: StandingWood, new_begun: Sequence[Bounded], new_finished: Sequence[Bounded]) -> None:
        old = self._probes
        low, high = point_bounds(old.points, standing.uncut(old.points), new_begun, new_finished)
        heights = np.minimum(self._heights, standing.heights(old.points, since=self._moves))
        points, owners = probes_of(new_begun, standing.box)
        new_low, new_high = point_bounds(
            points, standing.uncut(points), [*self._begun, *new_begun], [*self._finished, *new_finished]
        )
        self._probes = Probes(
            np.concatenate([old.points, points]),
            np.concatenate([np.minimum(old.low, low), new_low]),
            np.concatenate([np.minimum(old.high, high), new_high]),
            np.concatenate([old.demand, owners + len(self._begun)]),
        )
        self._heights = np.concatenate([heights, standing.heights(points)])
        self._moves = standing.count


def compare(
    after: DepthMap, standing: StandingWood, begun: Sequence[Bounded], finished: Sequence[Bounded]
) -> Comparison:
    """The comparison at one moment: low from the demands begun by then, high from those finished."""
    y, x = np.meshgrid(after.ys, after.xs, indexing="ij")
    uncut = standing.uncut(np.column_stack([x.ravel(), y.ravel()])).reshape(x.shape)
    blank = after.with_heights(uncut.astype(np.float32))
    return RunningComparison(blank).compare(after, standing, begun, finished)
