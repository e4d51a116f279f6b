"""Job to target: what each feature demands, in the frame of its setup."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.core.feature import Feature
from toolpaths.core.finding import Refusal
from toolpaths.core.scene import Scene
from toolpaths.core.target import Demand, Target

FURTHEST = 1e4
"""Nothing that is cut reaches further from the nut line or the centreline, mm: a figure of another unit, or a slip."""


def target(scenes: Sequence[Scene]) -> Target:
    """Every demand of a job by setup name. Raises Refusal where a feature cannot be asked for."""
    return Target({scene.setup.name: tuple(_demands(scene)) for scene in scenes})


def asked_of(feature: Feature, scene: Scene) -> list[Demand]:
    """What one feature demands, in instrument coordinates. Raises Refusal where it cannot be asked for."""
    demands = feature.demands(scene)
    for demand in demands:
        if not all(abs(side) <= FURTHEST for side in demand.asked.bounds if side == side):
            raise Refusal(
                f"{demand.name} reaches further than {FURTHEST / 1000:.0f} m", "see its sizes and their units"
            )
    return demands


def _demands(scene: Scene) -> list[Demand]:
    out: list[Demand] = []
    for feature in scene.setup.features:
        for demand in asked_of(feature, scene):
            out.append(demand if scene.mirror > 0 else demand.mirrored())
    return out
