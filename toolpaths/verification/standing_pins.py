"""Pins that stand up out of the bed into the blank's own bores, as obstacles."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from toolpaths.job.cut_kind import CutKind
from toolpaths.job.obstacles import Obstacle, ObstacleKind, Present
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Demand

MEETS = 0.05
"""A pin and its hole, or two bores for one pin, stand at one place within this, mm. Common practice, no source."""
LOOSE = 0.3
"""How much wider than its pin a bore may be across the neck, mm. Common practice, no source."""


def pins_of(context: SetupContext, demands: Sequence[Demand]) -> tuple[Obstacle, ...]:
    """The pins of a setup: where the job says, else in each bore that the setup wants in the bed."""
    pins = context.setup.holders.pins
    if pins is None:
        return ()
    places = list(_bored(context, demands)) if pins.at is None else [(p.x, p.y, p.diameter / 2) for p in pins.at]
    return tuple(
        Obstacle(ObstacleKind.pin, f"pin {number}", (x, y, x, y), pins.height + context.bed, Present.with_blank, radius)
        for number, (x, y, radius) in enumerate(places, 1)
    )


def bores_of_other_setups(
    context: SetupContext, of_job: Iterable[tuple[SetupContext, Sequence[Demand]]]
) -> list[Demand]:
    """The bores for pins that the blank has from a job's other setups, as it lies in this one."""
    return [
        demand if other.flipped == context.flipped else demand.mirrored()
        for other, demands in of_job
        if other.setup.name != context.setup.name and not other.apart
        for demand in demands
        if demand.kind is CutKind.pin_hole
    ]


def _bored(context: SetupContext, demands: Sequence[Demand]) -> Iterator[tuple[float, float, float]]:
    """(x, y, radius) of each bore in the bed, from the shapes wanted, as the blank lies."""
    for demand in demands:
        if demand.kind is CutKind.bed_hole:
            x, y = context.as_it_lies(*demand.middle)
            # The bed stays where it is when the blank is moved along.
            yield x + (0.0 if context.lie is None else context.lie.shift), y, math.sqrt(demand.asked.area / math.pi)
