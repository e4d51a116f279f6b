"""The round holes that a setup asks for."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.cone_floor import ConeFloor
from toolpaths.target_shape.demand import Demand, Level

Kind = Literal["tuner", "bolt", "counterbore", "pin"]
_NAMES = re.compile(r"(counterbore|tuner|bolt|pin)( of bolt)? \d+")


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole in instrument coordinates, mm. `near`, `far`: depths below the glue face between which it is open."""

    kind: Kind
    name: str
    feature: str
    job_line: int
    region: BaseGeometry
    near: float
    far: float

    @property
    def middle(self) -> tuple[float, float]:
        """Its middle."""
        x0, y0, x1, y1 = self.region.bounds
        return (x0 + x1) / 2, (y0 + y1) / 2

    def concentric(self, other: Hole) -> bool:
        """Whether both are one stepped hole, such as a counterbore and its bolt's."""
        return math.dist(self.middle, other.middle) < 1e-3


def holes_in(demands: Sequence[Demand], scene: SetupContext, *, mirrored: bool = True) -> list[Hole]:
    """The bores among a setup's demands. `mirrored`: the demands are in the setup's frame, not the instrument's."""
    out: list[Hole] = []
    for d in demands:
        match = _NAMES.fullmatch(d.name)
        if match is None or not isinstance(d.floor, Level | ConeFloor):
            continue
        region = scale(d.asked, yfact=scene.mirror, origin=(0, 0)) if mirrored else d.asked
        if scene.flipped:
            near, far = d.floor.z, math.inf
        else:
            near, far = 0.0, (math.inf if d.floor.z <= 0 else scene.glue - d.floor.z)
        out.append(Hole(match[1], d.name, d.feature, d.job_line, region, near, far))  # type: ignore[arg-type]
    return out
