"""Rest material: what a round bit leaves in a pocket, and how much of it a smaller bit can take.

Source: derived here; a bit of radius r leaves r^2 (1 - pi / 4) in each square corner, r (sqrt 2 - 1) along its
diagonal.
"""

from __future__ import annotations

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import show
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.operation import Cutting
from toolpaths.target_shape.demand import opened

OVERLAP = 0.3
"""How far the second bit runs on over what the first has cleared, mm. Common practice, no source."""
_HAIR = 5e-3
"""Thinner wood is ignored, mm."""
_LEAST = 1e-3
"""Smaller pieces are ignored, mm2."""
ROOM = 0.06
"""A bit needs its middle to move at least so far from the walls' own path to be let down into a pocket, mm."""
_FOR_FIRST = ("rpm", "feed", "plunge", "pass_depth", "finish_allowance")


def left_standing(area: BaseGeometry, first: float, then: float) -> BaseGeometry:
    """The part of an area that a bit of radius `first` leaves standing and one of radius `then` can take. mm."""
    found = opened(area, then).difference(opened(area, first).buffer(_HAIR))
    parts = [p for p in shapely.get_parts(found) if p.area > _LEAST]
    return shapely.union_all(parts) if parts else Polygon()


def goes_in(area: BaseGeometry, radius: float) -> bool:
    """Whether a bit of that radius fits into an area, with room to ramp down."""
    return not area.buffer(-radius - ROOM).is_empty


def second_bit(context: SetupContext, bit: str, then: str) -> Bit:
    """The bit that follows. Raises FeatureError where it is not flat, or reaches no further than the first."""
    first, second, units = context.bits[bit], context.bits[then], context.job.units
    must_be_flat(then, second, "the floor would not be level", units, "then")
    if second.cut_diameter >= first.cut_diameter - 1e-9:
        raise FeatureError(
            f"{then} cuts {show(second.cut_diameter, units)} wide and {bit} {show(first.cut_diameter, units)}: "
            "only a smaller bit cuts what the first leaves",
            "name a smaller bit, or leave `then` out",
            "then",
        )
    return second


def second_cutting(feature: FeatureKeys, bit: Bit, context: SetupContext) -> Cutting:
    """Speeds and feeds of the second bit: the job's own values for speed, feed and depth are for the first bit only."""
    own = feature.model_copy(update=dict.fromkeys(_FOR_FIRST))
    return settle(own, bit, context.wood, context.machine)
