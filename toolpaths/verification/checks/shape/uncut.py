"""Is wood left standing that was asked to be cut?

Inside corners that the round bit cannot reach are no finding: they are left for the hands.
"""

from __future__ import annotations

import numpy as np

from toolpaths.common.arrays import Array, Ints
from toolpaths.target_shape.demand import LEFT, Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.patches import patches, points_in
from toolpaths.verification.wording import shape as wording

_CLOSE = 0.01
"""How far beside a region a point still counts as the region's, mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `uncut`: one a patch and demand, worst first, of what this program, or a bit in it, finishes."""
    points, limits, heights, cell = _too_high(inputs)
    if not len(points):
        return []
    owner, demands = _owners(inputs, points, limits)
    found: list[tuple[float, Finding]] = []
    for i, demand in enumerate(demands):
        own = np.nonzero(owner == i)[0]
        if not len(own):
            continue
        member = patches(points[own], max(1.0, 2 * inputs.after.pitch))
        for patch in range(int(member.max()) + 1):
            part = own[member == patch]
            found.append(_finding(inputs, demand, points[part], heights[part], cell[part]))
    found.sort(key=lambda pair: -pair[0])
    return shortened([finding for _, finding in found])


def _too_high(inputs: CheckInput) -> tuple[Array, Array, Array, Array]:
    """Points (N, 2) above what may stay, limits, heights, and 1 for a cell, 0 for a probe."""
    after, comparison, probes = inputs.after, inputs.comparison, inputs.comparison.probes
    rows, cols = np.nonzero(after.heights > comparison.high)
    high = np.nonzero(comparison.probe_heights > probes.high)[0]
    return (
        np.concatenate([np.stack([after.xs[cols], after.ys[rows]], axis=1), probes.points[high]]),
        np.concatenate([comparison.high[rows, cols].astype(np.float64), probes.high[high]]),
        np.concatenate([after.heights[rows, cols].astype(np.float64), comparison.probe_heights[high]]),
        np.concatenate([np.ones(len(rows)), np.zeros(len(high))]),
    )


def _owners(inputs: CheckInput, points: Array, limits: Array) -> tuple[Ints, list[Demand]]:
    """Which demand (N,) each point lies in, the one whose limit it breaks; -1 for one that another program finished."""
    here = {o.feature for o in inputs.operations}
    owner = np.full(len(points), -1, dtype=np.int64)
    best = np.full(len(points), np.inf)
    finished = [d for d in inputs.demands if d.feature in inputs.finished]
    demands = [d for d in (*finished, *inputs.halfway) if d.must]
    for i, demand in enumerate(demands):
        region = demand.asked if demand.relaxed is None else demand.asked.difference(demand.relaxed)
        near = points_in(region.buffer(_CLOSE), points)
        allowed = demand.floor.height(points[near, 0], points[near, 1]) + LEFT + demand.scallop
        off = np.abs(allowed - limits[near])
        take = off < best[near]
        owner[near[take]] = i if demand.feature in here else -1
        best[near[take]] = off[take]
    return owner, demands


def _finding(inputs: CheckInput, demand: Demand, points: Array, heights: Array, cell: Array) -> tuple[float, Finding]:
    floor = demand.floor.height(points[:, 0], points[:, 1])
    left = heights - floor
    worst = int(np.argmax(left))
    x, y = _middle(points[left >= left[worst] - 1e-3])
    area = float(cell.sum()) * inputs.after.pitch**2
    message = wording.uncut(demand.name, float(left[worst]), area, LEFT + demand.scallop, inputs.job.units)
    return float(left[worst]), at_feature(inputs, "uncut", message, demand, (x, y))


def _middle(points: Array) -> Array:
    """The point (2,) among those that are equally bad (N, 2) that lies nearest to the middle of them all."""
    off = points - points.mean(axis=0)
    return np.asarray(points[int(np.argmin(np.hypot(off[:, 0], off[:, 1])))])
