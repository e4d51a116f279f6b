"""Do bolts and their counterbores keep clear of the truss rod's channel, from whichever side they come?"""

from __future__ import annotations

import math

import numpy as np
import shapely

from toolpaths.common.units import show
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.hole_queries import Hole, holes_in

WARN = 3.0
"""Wood between a bolt and the channel below which it is told, mm. Common practice, no source."""
_SPARE = 1e-3


def check(evidence: CheckInput) -> list[Finding]:
    """Findings `bolts-near-rod`, the nearest channel of each bore."""
    here = {o.feature for o in evidence.operations}
    bolts = [h for h in holes_in(evidence.demands, evidence.scene) if h.kind in ("bolt", "counterbore")]
    bolts = [h for h in bolts if h.feature in here]
    if not bolts:
        return []
    channels = [
        (scene, demand if scene.mirror > 0 else demand.mirrored())
        for scene, demands in evidence.of_job
        for demand in demands
        if demand.feature in {f.name for f in scene.setup.features if f.key == "truss_rod_channel"}
    ]
    found: list[Finding] = []
    for hole in bolts:
        gaps = [_gap(hole, scene, demand) for scene, demand in channels if demand.may]
        if gaps and min(gaps) < WARN - _SPARE:
            found.append(_finding(evidence, hole, min(gaps)))
    return shortened(found)


def _gap(hole: Hole, scene: SetupContext, channel: Demand) -> float:
    """Least wood between a bore and a channel, mm; 0 where they meet."""
    aside = float(hole.region.distance(channel.asked))
    # The channel is open from the face that it is cut from to its deepest point.
    floor = _lowest(channel)
    near, far = (floor, math.inf) if scene.flipped else (0.0, math.inf if floor <= 0 else scene.glue - floor)
    below = max(hole.near - far, near - hole.far, 0.0)
    return math.hypot(aside, below)


def _lowest(channel: Demand) -> float:
    """Lowest height of a channel's floor in its setup, mm above the bed."""
    if isinstance(channel.floor, Level):
        return channel.floor.z
    edge = shapely.get_coordinates(shapely.segmentize(channel.asked, 1.0))
    return float(np.min(channel.floor.height(edge[:, 0], edge[:, 1])))


def _finding(evidence: CheckInput, hole: Hole, gap: float) -> Finding:
    units, stop = evidence.job.units, gap <= _SPARE
    said = (
        f"{hole.name} runs into the truss rod's channel; move it"
        if stop
        else f"{hole.name} leaves {show(gap, units)} of wood to the truss rod's channel; {show(WARN, units)} are sound"
    )
    x, y = hole.middle
    return Finding.of(
        "bolts-near-rod",
        said,
        feature=hole.feature,
        job_line=hole.job_line,
        program=evidence.program.name,
        place=(x, evidence.scene.mirror * y),
        severity=None if stop else Severity.warn,
    )
