"""What will be left of scored lines, slots and marker pockets when the top has been radiused by hand?

Radiusing takes the edges down by the sagitta, R - sqrt(R^2 - (w/2)^2), and leaves the middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, box

from toolpaths.common.arrays import Array
from toolpaths.instrument.boards import drop_at
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import SAWN_FIRST
from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import Demand, Floor
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Entry, Finding, Remedy
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.remedies import depth, given_depth, in_words
from toolpaths.verification.wording.instrument import shallow_after_radius
from toolpaths.verification.wording.message import Message

ENOUGH = {CutKind.line: 0.15, CutKind.fret_slot: 1.5, CutKind.marker: 0.5}
"""Depth that should be left at the edge, mm: a line that a saw follows, a slot that a tang of about 1.5 goes into,
a marker that survives levelling. Common practice, no source."""
_ROUND = 1e-9
_UNDER = 1.5
"""Least wood under a pocket that is made deeper, mm. Common practice, no source."""
_SAWN: tuple[Remedy, ...] = ((Entry("by_hand", SAWN_FIRST, of="job"),),)


@dataclass(frozen=True, slots=True)
class Left:
    """One line, slot or pocket where the top comes down most over it: its place, its depth there below the flat face,
    how much comes off there, and the depth that remains in the middle. mm. `follows`: its depth counts from the top
    once it is radiused."""

    name: str
    x: float
    y: float
    depth: float
    drop: float
    middle: float
    follows: bool = False

    @property
    def remains(self) -> float:
        """Depth that is left there; 0 where it is gone."""
        return max(self.depth - self.drop, 0.0)


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `gone-after-radius` and `thin-after-radius`: one a feature, where least is left."""
    job = inputs.job
    cut_here = any(CutKind.top in f.cuts for s in job.setups for f in s.features)
    if job.instrument.board.radius is None or cut_here:
        return []
    mine = {o.feature for o in inputs.operations}
    found: list[Finding] = []
    for name, key in dict.fromkeys((d.feature, d.kind) for d in inputs.demands):
        if name not in mine or key not in ENOUGH or (key is not CutKind.marker and SAWN_FIRST in job.by_hand):
            continue
        every = left_after(inputs, [d for d in inputs.demands if d.feature == name])
        few = [p for p in every if p.remains < ENOUGH[key] - _ROUND and p.drop > _ROUND]
        if few:
            worst = min(few, key=lambda p: (p.remains, -p.drop))
            gone = worst.remains <= _ROUND
            remedies = _deeper(inputs, name, key, worst) if key is CutKind.marker or worst.follows else _SAWN
            said = _said(inputs, key, worst, len(few), len(every), remedies)
            code = "gone-after-radius" if gone else "thin-after-radius"
            found.append(at_feature(inputs, code, said, name, (worst.x, worst.y), remedies=remedies))
    return found


def left_after(inputs: CheckInput, demands: Sequence[Demand]) -> list[Left]:
    """What each of some shapes has left once the top is radiused."""
    out = []
    for demand in demands:
        points = _bottom(demand)
        # Both edges of a fanned line may come down differently: the place that is lowered most counts.
        drops = [drop_at(inputs.job.instrument, float(x), float(y)) for x, y in points]
        far = int(np.argmax(np.round(drops, 9)))
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        places = np.stack([points[far], middle])
        depth, inside = (inputs.context.face - demand.floor.height(*places.T)).tolist()
        (x, y), (mx, my) = places.tolist()
        left = inside - drop_at(inputs.job.instrument, mx, my)
        out.append(Left(demand.name, x, y, depth, drops[far], left, _dome(demand.floor) is not None))
    return out


def _dome(floor: Floor) -> CrownFloor | None:
    """The future top that a floor follows."""
    under = floor.under if isinstance(floor, ConeGroove) else floor
    return under if isinstance(under, CrownFloor) else None


def _bottom(demand: Demand) -> Array:
    """Places (N, 2) by which a shape's depth is told: its corners; both ends of the bottom where its walls slope.

    Beside the bottom such a groove is shallower, and where it leans or the board tapers its corners lie there. A line
    that follows the future top ends where the bit's flat end stands: within that last width it is shallower. mm
    """
    floor, asked = demand.floor, demand.asked
    if not isinstance(floor, ConeGroove):
        dome, (x0, y0, x1, y1) = _dome(floor), asked.bounds
        if dome is not None:
            bass, treble = dome.level_from
            asked = asked.intersection(box(x0, max(y0, -bass), x1, min(y1, treble)))
        return shapely.get_coordinates(asked)
    return shapely.get_coordinates(asked.intersection(LineString([floor.start, floor.end])))


def _deeper(inputs: CheckInput, feature: str, kind: CutKind, worst: Left) -> tuple[Remedy, ...]:
    """The depth that leaves enough, where the job gives one, the bit reaches it and the board bears it."""
    deepest = ENOUGH[kind] + worst.drop
    reach = min(inputs.bit_named(o.bit).cutting_length for o in inputs.operations if o.feature == feature)
    most = min(reach, inputs.job.instrument.board.thickness - _UNDER)
    if given_depth(inputs, feature) is None or deepest > most:
        return ()
    wanted = ENOUGH[kind] if worst.follows else deepest
    return ((Entry("depth", depth(wanted + _ROUND, inputs.job.units, up=True)),),)


def _said(
    inputs: CheckInput, kind: CutKind, worst: Left, few: int, count: int, remedies: tuple[Remedy, ...]
) -> Message:
    return shallow_after_radius(
        few,
        count,
        "" if kind is CutKind.marker else worst.name,
        worst.drop,
        worst.depth,
        ENOUGH[kind],
        remedy=in_words(remedies, ""),
        deeper=ENOUGH[kind] + (0.0 if worst.follows else worst.drop),
        units=inputs.job.units,
    )
