"""How far a part gives way sideways that hangs on slender strips of waste.

The waste on either side of the part is a beam along x; the part itself is stiff, stands on the strips' joints, and
can move across and turn: two unknowns.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from toolpaths.common.arrays import Array, Mask
from toolpaths.simulation.columns import Columns
from toolpaths.verification.holding.joints import Joints

ELEMENT = 4.0
"""Length of a beam's elements, mm."""
_STIFF = 1e-9
"""Give of a joint that stands on fixed waste, mm/N: as good as none, but no division by 0."""
_SAWN = 1e-4
"""Part of a strip's greatest second moment below which it is as good as sawn through. Own choice."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A beam of E elements along x: `x` (E + 1,) its nodes, mm; `moment` (E,): second moments of area over 0, mm4.

    `fixed` (E,): elements that can neither move nor turn; `tabs` (T,): where the part stands on it, mm.
    """

    x: Array
    moment: Array
    fixed: Mask
    tabs: Array

    def give(self, elasticity: float) -> Array | None:
        """Movement across (T, T), mm, at each tab for 1 N at each; None where nothing holds the strip.

        Beam elements of two nodes that move and turn, exact for loads at nodes: elementary mechanics.
        """
        from scipy.linalg import solveh_banded

        if not self.fixed.any():
            return None
        # Nodes that nearly meet would make a beam too stiff to reckon with: they are brought to tenths of a mm.
        nodes = np.round(self.x, 1)
        tabs = np.clip(np.round(self.tabs, 1), nodes[0], nodes[-1])
        x = np.unique(np.concatenate([nodes, tabs]))
        own = np.clip(np.searchsorted(nodes, (x[:-1] + x[1:]) / 2) - 1, 0, len(self.moment) - 1)
        length = np.diff(x)
        k = elasticity * self.moment[own] / length**3
        rows = [[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]]
        power = [[0, 1, 0, 1], [1, 2, 1, 2], [0, 1, 0, 1], [1, 2, 1, 2]]
        element = k[:, None, None] * np.array(rows) * length[:, None, None] ** np.array(power)
        at = 2 * np.arange(len(length))[:, None] + np.arange(4)
        still = np.zeros(2 * len(x), dtype=bool)
        still[at[self.fixed[own]].ravel()] = True
        # Stiffness in bands: the entry of row i and column j <= i lies at [i - j, j].
        banded = np.zeros((4, 2 * len(x)))
        for i in range(4):
            for j in range(i + 1):
                np.add.at(banded[i - j], at[:, j], element[:, i, j])
        for band in range(4):
            banded[band, : 2 * len(x) - band][still[: 2 * len(x) - band] | still[band:]] = 0
        banded[0, still] = 1
        tab = 2 * np.searchsorted(x, tabs)
        load = np.zeros((2 * len(x), len(tab)))
        load[tab, np.arange(len(tab))] = ~still[tab]
        return np.asarray(load.T @ solveh_banded(banded, load, lower=True))


def part_sway(strips: Sequence[Strip], elasticity: float, force: float, places: Array) -> float:
    """How far a stiff part moves across, mm, under a force across (N) at the worst of the places (K,), x in mm.

    `elasticity`: of the wood along the grain, N/mm2. Infinite where the strips do not hold it, 0 without a force.
    """
    if force <= 0:
        return 0.0
    whole = np.zeros((2, 2))
    middle = float(np.mean(places))
    for strip in strips:
        give = strip.give(elasticity) if len(strip.tabs) else None
        if give is not None:
            arms = np.stack([np.ones(len(strip.tabs)), strip.tabs - middle], axis=1)
            whole += arms.T @ np.linalg.solve(give + _STIFF * np.eye(len(give)), arms)
    if np.linalg.matrix_rank(whole) < 2:
        return math.inf
    at = np.stack([np.ones(len(places)), places - middle], axis=1)
    return float((at * np.linalg.solve(whole, force * at.T).T).sum(axis=1).max())


def strips_of(columns: Columns, part: Mask, held: Mask, joints: Joints) -> list[Strip]:
    """The waste above and below the part, y larger and y smaller, as beams; sawn through, each piece is one.

    `part`, `held` (rows, cols): the part's outline, and the cells that a holder has. In each column of cells the run
    of waste with the greatest section counts; it is fixed where a holder has a cell of it, and where the column has no
    part: there the waste is as wide as the blank.
    """
    return [strip for side in (1, -1) for strip in _strips(columns, part, held, joints, side)]


def _strips(columns: Columns, part: Mask, held: Mask, joints: Joints, side: int) -> list[Strip]:
    pitch, (rows, cols) = columns.pitch, columns.high.shape
    thick = np.where(columns.wood & ~part, columns.high - columns.low, 0.0)
    has_part = part.any(axis=0)
    # Beyond the part, from its last cell of each column on.
    first, last = part.argmax(axis=0), rows - 1 - part[::-1].argmax(axis=0)
    row = np.arange(rows)[:, None]
    beyond = (row > last) if side > 0 else (row < first)
    run = _greatest_run(np.where(beyond & has_part, thick, 0.0))
    area = pitch * run.sum(axis=0)
    middle = (run * pitch * columns.ys[:, None]).sum(axis=0) / np.maximum(area, 1e-12)
    moment = (run * pitch * (pitch**2 / 12 + (columns.ys[:, None] - middle) ** 2)).sum(axis=0)
    fixed = ~has_part | (held & (run > 0)).any(axis=0)
    n = max(1, round(ELEMENT / pitch))
    starts = np.arange(0, cols, n)
    nodes = columns.x0 - pitch / 2 + pitch * np.append(starts, cols)
    most = float(moment.max(initial=0.0)) or 1.0
    sawn = np.logical_or.reduceat(~fixed & (moment < _SAWN * most), starts)
    # Elements in a row bend one after the other: their gives add up.
    softness = np.add.reduceat(np.where(fixed, 0.0, 1 / np.maximum(moment, _SAWN * most)), starts)
    still = np.logical_and.reduceat(fixed, starts)
    mean = np.where(still, most, np.diff(np.append(starts, cols)) / np.maximum(softness, 1e-300))
    tabs = joints.middle[np.sign(joints.normal[:, 1]) == side, 0]
    out = []
    for piece in np.split(np.arange(len(starts)), np.nonzero(np.diff(sawn))[0] + 1):
        if not sawn[piece[0]]:
            x = nodes[piece[0] : piece[-1] + 2]
            out.append(Strip(x, mean[piece], still[piece], tabs[(tabs >= x[0]) & (tabs <= x[-1])]))
    return out


def _greatest_run(thick: Array) -> Array:
    """Of each column's runs of wood (rows, cols), mm high, the one with the greatest section; 0 elsewhere."""
    rows, cols = thick.shape
    wood = thick > 0
    begins = wood.copy()
    begins[1:] &= ~wood[:-1]
    number = np.cumsum(begins, axis=0) * wood
    key = number * cols + np.arange(cols)
    section = np.bincount(key.ravel(), thick.ravel(), minlength=(rows + 1) * cols).reshape(-1, cols)
    return np.where(wood & (number == section.argmax(axis=0)), thick, 0.0)
