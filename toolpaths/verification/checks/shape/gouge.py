"""Is wood cut away that nobody asked to be cut?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.units import show, show_area
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.patches import patches
from toolpaths.verification.trace_queries import at_line, at_move

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
    units = inputs.job.units
    size = show_area(area, units) if area else "a strip narrower than a cell of the map"
    x, y = points[0]
    message = (
        f"{size} cut up to {show(worst, units, 3)} below what is allowed, "
        f"worst at x {show(x, units)}, y {show(y, units)}"
    )
    never = worst > _NEVER
    if never:
        message += f", and more than {show(_NEVER, units, 3)} is never accepted"
    move = _first_move(inputs, points[:_WORST], limits[:_WORST])
    if move < 0:
        found = at_line(inputs, "gouge", f"{message}; compare the program with the job there")
    else:
        line = int(inputs.trace.line[move])
        message += f"; line {line} is the first to go too low there: raise it or keep it off"
        found = replace(at_move(inputs, "gouge", message, move), x=float(x), y=float(y))
    return replace(found, never_accepted=never)


def _first_move(inputs: CheckInput, points: Array, limits: Array) -> int:
    """The trace's move that first went below the limits; -1 where none in this program did."""
    numbers = inputs.standing.first_below(points, limits) - inputs.first
    numbers = numbers[(numbers >= 0) & (numbers < len(inputs.moves))]
    return int(inputs.moves.parent[numbers.min()]) if len(numbers) else -1
