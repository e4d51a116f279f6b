"""How a job's headstock lies below the glue face: its face's drop, its level back; and where holes begin. mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.common.errors import FeatureError
from toolpaths.instrument.necks import neck_of
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Instrument, Job
from toolpaths.job.neck import Headstock
from toolpaths.job.setup_context import SetupContext


@dataclass(frozen=True, slots=True)
class Lowered:
    """A headstock's surface that a setup cuts level, `drop` below the glue face, from x = `start` on to its end, mm.

    Over the last `ramp` before `start` it rises to the wood's surface. From the face it is the headstock's face, from
    the back its back.
    """

    start: float
    drop: float
    ramp: float

    def holds(self, x: float) -> bool:
        """Whether the surface lies at its full depth at x and beyond."""
        return x <= self.start - self.ramp + 1e-9


def head_drop(job: Job) -> float:
    """How far the headstock's face lies below the glue face in a job's finished neck, mm; 0 where no setup cuts it."""
    faces = [f for s in job.setups if s.flip is None for f in s.features if CutKind.step in f.cuts]
    return max((float(getattr(f, "drop", None) or 0.0) for f in faces), default=0.0)


def headstock_of(instrument: Instrument) -> Headstock:
    """The instrument's headstock. Raises FeatureError where it has none."""
    head = neck_of(instrument).headstock
    if head is None:
        raise FeatureError("the instrument's neck has no headstock", "give `neck.headstock`", "instrument")
    return head


def level_back_from(instrument: Instrument) -> float:
    """x from which on, toward the headstock's end, the finished back is level, mm: beyond its blend and a volute."""
    level, volute = -headstock_of(instrument).blend, neck_of(instrument).volute
    if volute is None:
        return level
    return min(level, x_of(volute.at, instrument, "neck.volute.at") - volute.length / 2)


def lowered(context: SetupContext) -> Lowered | None:
    """The headstock's face, or turned over its back, that this setup cuts level; None where it cuts none.

    Raises FeatureError where it cuts the back of a headstock that the instrument has not.
    """
    kind = CutKind.head_back if context.flipped else CutKind.step
    for feature in context.setup.features:
        if kind in feature.cuts:
            drop = _back_depth(context, feature) if context.flipped else float(getattr(feature, "drop", None) or 0.0)
            return Lowered(_start(context, feature), drop, float(getattr(feature, "ramp", None) or 0.0))
    return None


def wood_top(context: SetupContext, x: float, radius: float = 0.0, y: float | None = None) -> float:
    """Height above the bed of the wood that a hole begins in, mm, once headstock and heel's seat are cut.

    The seat counts where `y` is given and the hole lies wholly in it. x, y in instrument coordinates.
    """
    head = lowered(context)
    if head is not None and head.holds(x + radius):
        return context.at_depth(head.drop)
    return context.face if y is None else min(_seat_top(context, x, y, radius), context.face)


# Private


def _seat_top(context: SetupContext, x: float, y: float, radius: float) -> float:
    """Height of the heel's seat that this setup cuts under a hole, mm; infinite beside it."""
    instrument = context.job.instrument
    seats = [f for f in context.setup.features if context.flipped and CutKind.heel_seat in f.cuts]
    heel = None if instrument.neck is None else instrument.neck.heel
    if not seats or heel is None:
        return math.inf
    within = heel.start <= x - radius and x + radius <= heel.to and abs(y) + radius <= heel.width / 2
    given = getattr(seats[0], "thickness", None)
    thick = heel.thickness - instrument.board.thickness if given is None else float(given)
    return context.at_depth(thick) if within else math.inf


def _start(context: SetupContext, feature: FeatureKeys) -> float:
    start = getattr(feature, "start", None)
    if start is None:
        return level_back_from(context.job.instrument) if context.flipped else 0.0
    return x_of(start, context.job.instrument, "from")


def _back_depth(context: SetupContext, feature: FeatureKeys) -> float:
    given = getattr(feature, "thickness", None)
    own = headstock_of(context.job.instrument).thickness
    return head_drop(context.job) + float(own if given is None else given)
