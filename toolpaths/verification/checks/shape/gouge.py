"""Is wood cut away that nobody asked to be cut?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.target_shape.demand import GOUGE
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.patches import patches
from toolpaths.verification.trace_queries import at_line, at_move
from toolpaths.verification.wording import shape as wording

_LOOKED_UP = 10
"""Patches whose first move is looked up."""
_WORST = 5
"""Points of a patch that are asked for the first move that went too low."""
_NEVER = 0.05
"""A cut further below what is allowed is never accepted, mm: a hand smooths away less. Common practice, no source."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `gouge`: one a patch that this program cut too low, worst first.

    What an earlier program cut too low already was found there.
    """
    points, limits, heights, cell = _too_low(inputs)
    if not len(points):
        return []
    member = patches(points, max(1.0, 2 * inputs.after.pitch))
    depth = limits - heights
    worst = np.zeros(int(member.max()) + 1)
    np.maximum.at(worst, member, depth)
    area = np.bincount(member, weights=cell) * inputs.after.pitch**2
    found: list[Finding] = []
    for rank, patch in enumerate(np.argsort(-worst, kind="stable")):
        own = np.nonzero(member == patch)[0] if rank < _LOOKED_UP else np.nonzero(member == patch)[0][:1]
        own = own[np.argsort(-depth[own], kind="stable")]
        found.append(_finding(inputs, points[own], limits[own], float(worst[patch]), float(area[patch])))
        if rank >= 4 * _LOOKED_UP:
            break
    return shortened(found, _LOOKED_UP)


def _too_low(inputs: CheckInput) -> tuple[Array, Array, Array, Array]:
    """Points (N, 2) that this program cut too low, limits, heights, and 1 for a cell, 0 for a probe."""
    after, before, comparison = inputs.after, inputs.before, inputs.comparison
    window = inputs.window
    low_here = comparison.low[window]
    rows, cols = np.nonzero((after.heights[window] < low_here) & (before.heights[window] >= low_here))
    rows, cols = rows + window[0].start, cols + window[1].start
    cells = np.stack([after.xs[cols], after.ys[rows]], axis=1)
    probes = comparison.probes
    low = np.nonzero((comparison.probe_heights < probes.low) & np.isfinite(comparison.probe_heights))[0]
    if len(low):
        numbers = np.full(len(low), inputs.first, dtype=np.int64)
        low = low[inputs.standing.heights(probes.points[low], before=numbers) >= probes.low[low]]
    return (
        np.concatenate([cells, probes.points[low]]),
        np.concatenate([comparison.low[rows, cols].astype(np.float64), probes.low[low]]),
        np.concatenate([after.heights[rows, cols].astype(np.float64), comparison.probe_heights[low]]),
        np.concatenate([np.ones(len(rows)), np.zeros(len(low))]),
    )


def _finding(inputs: CheckInput, points: Array, limits: Array, worst: float, area: float) -> Finding:
    move = _first_move(inputs, points[:_WORST], limits[:_WORST])
    message = wording.gouge(worst + GOUGE, area, GOUGE, move >= 0, inputs.job.units)
    found = at_line(inputs, "gouge", message) if move < 0 else at_move(inputs, "gouge", message, move)
    x, y = points[0]
    return replace(found, x=float(x), y=float(y), never_accepted=worst > _NEVER)


def _first_move(inputs: CheckInput, points: Array, limits: Array) -> int:
    """The trace's move that first went below the limits; -1 where none in this program did."""
    numbers = inputs.standing.first_below(points, limits) - inputs.first
    numbers = numbers[(numbers >= 0) & (numbers < len(inputs.moves))]
    return int(inputs.moves.parent[numbers.min()]) if len(numbers) else -1
