"""Is there wood enough between any two cuts of the whole job, and between each cut and the finished part's surfaces?

Asked of the shapes that the job wants, as solids in one frame (`verification/cut_solids.py`): both sides, all setups,
every kind. What may meet is said by type: a bolt's hole in its counterbore, an adjuster's pocket in its channel, a
ring around its bore, one hole bored from both sides. Shallow cuts of one side may lie near each other; a pin's hole
may lie in a fret's slot, which the fret covers, and not in a marker. Under and beside the cuts of a neck
`wall-too-thin` measures the wood that the text leaves. Limits: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from toolpaths.instrument.boards import drop_at
from toolpaths.instrument.necks import half_width_at
from toolpaths.job.cut_kind import HOLES, ROD_AND_BARS, CutKind
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.cut_solids import CutSolid, Gap, cut_solid, deepest, gap_between
from toolpaths.verification.finding import Finding, Severity
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.finished_part import finished_part
from toolpaths.verification.wording import walls as words
from toolpaths.verification.wording.message import Message

STOP, WARN = 2.0, 3.0
"""Least wood where the instrument's neck says nothing else (`wall`), mm."""
UNDER_STOP, UNDER_WARN = 0.5, 1.5
"""Least wood between a cut and the other face of a board, mm."""
WASHERS = 6.0
"""Wood between the holes of two tuners below which their washers meet, mm."""
_SPARE = 1e-3
_DEEP = HOLES | ROD_AND_BARS | {CutKind.pocket, CutKind.nut_slot}
_SHALLOW = frozenset({CutKind.line, CutKind.fret_slot, CutKind.marker, CutKind.engraving, CutKind.ring})
_CUTS = _DEEP | _SHALLOW
_SLOTS = frozenset({CutKind.line, CutKind.fret_slot})
_ASKED = _CUTS | {CutKind.outline, CutKind.step}

Limits = tuple[float, float]
"""Less wood than the first stops, less than the second is warned of; mm."""


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `wood-between`, the worst of each two features and of each feature and surface, once both are cut."""
    if inputs.on_bed or inputs.context.apart:
        return []
    ask = _Asked.of(inputs)
    found = [*ask.between(), *ask.to_the_edge(), *ask.to_the_other_face()]
    return shortened([_finding(inputs, one) for one in sorted(found, key=lambda one: one.gap.wood)])


@dataclass(frozen=True, slots=True)
class _Found:
    """Too little wood between a cut and what is `beside` it. Places in instrument coordinates, mm.

    `said`: what is said where that is not how much wood stays.
    """

    solid: CutSolid
    gap: Gap
    limits: Limits
    beside: str
    todo: str
    said: Message | None = None


@dataclass(frozen=True, slots=True)
class _Asked:
    """The cuts that this program completes (`new`), and all that are cut then (`cut`)."""

    inputs: CheckInput
    new: tuple[CutSolid, ...]
    cut: tuple[CutSolid, ...]

    @staticmethod
    def of(inputs: CheckInput) -> _Asked:
        """The cuts to compare for a program: those of its setup so far, and of the setups before it."""
        here = {o.feature for o in inputs.operations} & inputs.finished
        new: list[CutSolid] = []
        old: list[CutSolid] = []
        for context, demands in inputs.of_job:
            own = context.setup.name == inputs.context.setup.name
            for demand in demands:
                if demand.kind not in _ASKED or context.apart or demand.asked.is_empty or not demand.may:
                    continue
                if not own or demand.feature in inputs.finished:
                    (new if own and demand.feature in here else old).append(cut_solid(context, demand))
            if own:
                break
        return _Asked(inputs, tuple(new), (*old, *new))

    @property
    def wall(self) -> Limits:
        """Least wood that the instrument needs."""
        neck = self.inputs.job.instrument.neck
        return (STOP, WARN) if neck is None else (neck.wall.stop, neck.wall.warn)

    def between(self) -> list[_Found]:
        """Pairs of cuts with too little wood between them."""
        fresh, cuts = set(map(id, self.new)), [s for s in self.cut if s.demand.kind in _CUTS]
        # From both sides only the part counts: a pin in waste may be opened by what is cut over it.
        inside = {}
        if len({s.flipped for s in cuts}) > 1:
            part = self._part()
            inside = {id(s): s.within(part) for s in cuts}
        worst: dict[tuple[str, str], _Found] = {}
        for a, b in combinations(cuts, 2):
            limits = self._limits(a, b) if {id(a), id(b)} & fresh else None
            if limits is None:
                continue
            pair = (inside[id(a)], inside[id(b)]) if a.flipped != b.flipped else (a, b)
            gap = gap_between(*pair, limits[1] - _SPARE)
            if gap is None or (gap.wood <= _SPARE and _belong(a, b)):
                continue
            key = (f"{a.setup} {a.demand.feature}", f"{b.setup} {b.demand.feature}")
            if key not in worst or gap.wood < worst[key].gap.wood:
                later, other = (b, a) if id(b) in fresh else (a, b)
                worst[key] = _Found(later, gap, limits, _called(other), words.MOVE_ONE)
        return list(worst.values())

    def to_the_edge(self) -> Iterator[_Found]:
        """Holes and bars' slots, to the finished part's edge as seen from above."""
        holes = [s for s in self.new if s.demand.kind in HOLES]
        part = self._part() if holes else shapely.Polygon()
        kerf = shapely.union_all([s.region for s in self.cut if s.demand.kind is CutKind.outline])
        for hole in holes:
            found = self._edge(hole, part, kerf)
            if found is not None:
                yield found
        if self.inputs.job.instrument.neck is not None and self.inputs.job.part == "neck":
            for bar in (s for s in self.new if s.demand.kind is CutKind.bar_slot):
                # The slot's edge is a polygon and the neck's side is made of straight lines: a vertex is nearest.
                x, y = shapely.get_coordinates(bar.demand.asked).T
                beside = half_width_at(self.inputs.job.instrument, x) - np.abs(y)
                i = int(np.argmin(beside))
                if beside[i] < self.wall[1] - _SPARE:
                    gap = Gap(float(beside[i]), (float(x[i]), float(y[i])))
                    yield _Found(bar, gap, self.wall, words.NECK_SIDE, words.BARS_IN)

    def to_the_other_face(self) -> Iterator[_Found]:
        """Blind cuts, to the finished surface opposite: a lowered headstock's face, a radiused top, a board's back."""
        job = self.inputs.job
        board = job.part == "board"
        limits = (UNDER_STOP, UNDER_WARN) if board else self.wall
        steps = [(p.region, p.far) for s in self.cut if s.demand.kind is CutKind.step for p in s.prisms]
        # How much stays under a slot is another check's; under a neck's cuts from the face, wall-too-thin's.
        asked = [s for s in self.new if s.demand.kind in (_CUTS if s.flipped else _CUTS - _SLOTS if board else ())]
        part = self._part() if asked else shapely.Polygon()
        for solid in (s for s in asked if not s.demand.through):
            if board and not solid.flipped and job.instrument.board.thickness - solid.glue + solid.least >= limits[1]:
                continue
            worst: Gap | None = None
            for prism, end in deepest(solid):
                inside = prism.region.intersection(part)
                if inside.area < _SPARE:
                    continue  # a pin in waste
                x, y = inside.representative_point().coords[0]
                wood = job.instrument.board.thickness - end
                if solid.flipped:
                    wood = end - (drop_at(job.instrument, x, y) if board and job.instrument.board.radius else 0.0)
                    lowered = [(r.intersection(inside), far) for r, far in steps if r.intersects(inside)]
                    for common, far in lowered:
                        if common.area > _SPARE and end - far < wood:
                            wood, (x, y) = end - far, common.representative_point().coords[0]
                if wood < limits[1] - _SPARE and (worst is None or wood < worst.wood):
                    worst = Gap(wood, (x, y))
            if worst is not None:
                face = words.FACE_ABOVE if solid.flipped else words.BOARD_BACK
                yield _Found(solid, worst, limits, face, words.LESS_DEEP)

    def _part(self) -> BaseGeometry:
        """The finished part as seen from above, in instrument coordinates."""
        context = self.inputs.context
        return scale(finished_part(context), yfact=context.mirror, origin=(0, 0))

    def _limits(self, a: CutSolid, b: CutSolid) -> Limits | None:
        """Least wood between two cuts; None where there is no limit."""
        kinds, opposite = {a.demand.kind, b.demand.kind}, a.flipped != b.flipped
        if kinds == {CutKind.pin_hole, CutKind.marker}:
            return self.wall
        if kinds & _SHALLOW:
            if opposite:
                return None if a.demand.through or b.demand.through else self.wall
            # They may lie near each other; a marker must not run into what lies under the board.
            return (_SPARE, 2 * _SPARE) if CutKind.marker in kinds and kinds & ROD_AND_BARS else None
        if opposite:
            return self.wall
        if kinds == {CutKind.tuner_hole}:
            return self.wall[0], max(self.wall[1], WASHERS)
        if kinds <= {CutKind.pocket, CutKind.nut_slot}:
            return None  # an inlay in an inlay
        if CutKind.nut_slot in kinds and kinds & ROD_AND_BARS:
            return None  # the nut stands over the adjuster's end of the channel
        return self.wall

    def _edge(self, hole: CutSolid, part: BaseGeometry, kerf: BaseGeometry) -> _Found | None:
        pin = hole.demand.kind is CutKind.pin_hole
        edge = words.PART_EDGE
        if part.covers(hole.region):
            left = float(part.boundary.distance(hole.region))
            # Nothing bears on a pin's hole in a board, and a neck is carved beside one.
            limits = (self.wall[0], self.wall[0]) if pin and self.inputs.job.part == "board" else self.wall
            found = _Found(hole, Gap(left, hole.middle), limits, edge, words.MOVE_IN)
            return found if left < limits[1] - _SPARE else None
        outside = shapely.points(shapely.get_coordinates(hole.region.difference(part)))
        over = Gap(-float(shapely.distance(outside, part).max()), hole.middle)
        if not part.disjoint(hole.region):
            return _Found(hole, over, self.wall, edge, words.MOVE_OFF if pin else words.MOVE_IN)
        if not pin:
            return _Found(hole, over, self.wall, edge, "", words.beside_part(hole.demand.name))
        if kerf.is_empty or hole.region.distance(kerf) > _SPARE:
            return None
        away = float(part.distance(hole.region))
        said = words.pin_opened(hole.demand.name, away, units=self.inputs.job.units)
        return _Found(hole, Gap(0.0, hole.middle), (-math.inf, self.wall[1]), edge, "", said)


def _belong(a: CutSolid, b: CutSolid) -> bool:
    """Whether two cuts may meet, by their types."""
    kinds = {a.demand.kind, b.demand.kind}
    if kinds == {CutKind.rod_channel, CutKind.adjuster_pocket}:
        return a.demand.feature == b.demand.feature
    if CutKind.ring in kinds and kinds & HOLES:
        ring, bore = (a, b) if a.demand.kind is CutKind.ring else (b, a)
        return bool(ring.region.covers(bore.region))
    if math.dist(a.middle, b.middle) >= _SPARE:
        return False
    # A stepped hole, or one hole bored from both sides.
    return kinds == {CutKind.bolt_hole, CutKind.counterbore} or (kinds <= HOLES and a.flipped != b.flipped)


def _called(solid: CutSolid) -> str:
    demand = solid.demand
    return f"{demand.name} (line {demand.job_line})" if demand.job_line else demand.name


def _finding(inputs: CheckInput, found: _Found) -> Finding:
    wood, (stop, warn) = found.gap.wood, found.limits
    stops = wood < stop - _SPARE
    said = found.said or words.cuts_too_close(
        found.solid.demand.name, found.beside, wood, stop if stops else warn, todo=found.todo, units=inputs.job.units
    )
    x, y = found.gap.place
    severity = Severity.stop if stops else Severity.warn
    place = (x, inputs.context.mirror * y)
    return at_feature(inputs, "wood-between", said, found.solid.demand, place, severity=severity)
