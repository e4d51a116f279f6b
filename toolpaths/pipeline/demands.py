"""Job to target: the demands of each feature, in the frame of its setup."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.features.feature import features_of
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Demand, Target


def target(contexts: Sequence[SetupContext]) -> Target:
    """Every demand of a job by setup name. Raises FeatureError where a feature cannot be asked for."""
    return Target({context.setup.name: tuple(_demands(context)) for context in contexts})


def _demands(context: SetupContext) -> list[Demand]:
    out: list[Demand] = []
    for feature in features_of(context.setup):
        for demand in feature.demands(context):
            out.append(demand if context.mirror > 0 else demand.mirrored())
    return out
