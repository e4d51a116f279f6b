"""How near to a place the bits of a setup come, and how low: from the shapes wanted, before any program is made."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.tool_parts import tool_parts
from toolpaths.target_shape.demand import Demand, Level


@dataclass(frozen=True, slots=True)
class Swept:
    """A place that something turning passes at some time: seen from above, and the lowest height of it there, mm."""

    region: BaseGeometry
    lowest: float

    def limits(self, shapes: Array, aside: float) -> Array:
        """How high (N,) something may stand at shapes (N,) that must stay that far aside; infinite where free."""
        if self.region.is_empty:
            return np.full(len(shapes), math.inf)
        near = shapely.distance(self.region, shapes) < aside
        return np.where(near, self.lowest, math.inf)


def swept(context: SetupContext, demands: Sequence[Demand]) -> list[Swept]:
    """What is swept while the shapes wanted in a setup are cut: by each bit, its shank, the collet nut and the holder.

    A bit's rim stays within a shape; what is wider stands out by as much on every side.
    """
    features = {f.name: f for f in context.setup.features}
    out: list[Swept] = []
    for demand in demands:
        feature = features.get(demand.feature)
        if feature is None or not demand.may or demand.asked.is_empty:
            continue
        whole = demand.asked if demand.run_out is None else shapely.union(demand.asked, demand.run_out)
        lowest = lowest_of(demand) - demand.reach
        for bit in (context.bits[name] for name in feature.bits):
            for _, radius, rises in tool_parts(bit, context.machine.collet):
                wider = radius if demand.everywhere else max(radius - bit.radius, 0.0)
                out.append(Swept(whole.buffer(wider), lowest + rises))
    return out


def lowest_of(demand: Demand) -> float:
    """The lowest height of a shape's floor at its corners and in its middle, mm."""
    if isinstance(demand.floor, Level):
        return demand.floor.z
    points = [*shapely.get_coordinates(demand.asked).tolist(), *_middles(demand.asked)]
    x, y = np.array(points).T
    return float(demand.floor.height(x, y).min())


def _middles(region: BaseGeometry) -> Iterator[tuple[float, float]]:
    for part in shapely.get_parts(region):
        point = part.representative_point()
        yield point.x, point.y
