"""Does an engraving, a bore, a pocket or a marker lie in wood that is cut or carved away later?

Asked of the shapes that the whole job wants and of the finished neck, in whichever order the setups come: from the
back against the carved back, from the face against a lowered headstock's face. What lies beside the finished part,
and what goes through, is not asked. Depths are mm below the glue face, which grow towards the back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import polylabel

from toolpaths.common.arrays import Array
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.job.cut_kind import BACK_SURFACES, HOLES, CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.target_shape.demand import Demand, Groove
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Entry, Finding, Remedy, Severity
from toolpaths.verification.finding_limit import shortened
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.patches import points_in
from toolpaths.verification.remedies import depth as typed_depth
from toolpaths.verification.remedies import given_depth, in_words
from toolpaths.verification.wall_demands import neck_as_cut
from toolpaths.verification.wording import walls as words

LOST = 0.1
"""A cut that loses no more of its depth is as it was asked for, mm. Common practice, no source."""
NOTHING = 0.01
"""Less than this is nothing, mm: as much as a gouge."""
_CUTS = HOLES | {CutKind.pocket, CutKind.marker, CutKind.engraving}
_SURFACES = BACK_SURFACES | {CutKind.face, CutKind.step}
_GRID = 24
"""Places across a cut at which it is looked at."""
_AREA = 1e-3


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `carved-away`, one a feature: a stop where nothing of a cut remains, a warning where it loses depth."""
    job = inputs.job
    if inputs.on_bed or inputs.context.apart or job.part != "neck" or job.instrument.neck is None:
        return []
    here = {o.feature for o in inputs.operations} & inputs.finished
    asked = [d for d in inputs.demands if d.feature in here and d.kind in _CUTS and d.may and d.must and not d.through]
    if not asked:
        return []
    neck = neck_as_cut(inputs.context)
    shapely.prepare(neck.plan)
    by_feature: dict[str, list[_Remains]] = {}
    for demand in asked:
        found = _remains(inputs, demand, neck)
        if found is not None:
            by_feature.setdefault(demand.feature, []).append(found)
    return shortened([f for feature, each in by_feature.items() if (f := _finding(inputs, feature, each)) is not None])


@dataclass(frozen=True, slots=True)
class _Remains:
    """What is left of one cut in the finished neck, at the place where least of it is left.

    `own`: its depth in the wood that it is cut into; `gone`: how much wood goes there from above; `most`: what stays of
    the cut where most does; `finished`: the finished surface there, below the glue face. All mm. `place`: in the
    setup's frame.
    """

    demand: Demand
    own: float
    gone: float
    most: float
    finished: float
    place: tuple[float, float]

    @property
    def lost(self) -> float:
        """How much of its depth goes, mm."""
        return min(self.own, max(self.gone, 0.0))

    @property
    def left(self) -> float:
        """How much of its depth stays, mm."""
        return self.own - self.lost


def _remains(inputs: CheckInput, demand: Demand, neck: FinishedNeck) -> _Remains | None:
    """None for a cut that lies beside the finished part, or is cut into no wood."""
    context = inputs.context
    region = demand.asked.intersection(neck.plan)
    if region.area < _AREA:
        return None
    places = _places(demand, region)
    if not len(places):
        return None
    x, y = places[:, 0], places[:, 1]
    floor = demand.floor.height(x, y)
    surface = _surface(inputs, demand, places)
    if context.flipped:
        finished = neck.depth(x, y)
        gone = surface - finished
    else:
        finished = _finished_face(inputs, places)
        gone = surface - (context.glue - finished)
    own = np.maximum(surface - floor, 0.0)
    left = own - np.clip(gone, 0.0, own)
    if float(own.max()) <= NOTHING:
        return None
    i = int(np.argmax(own - left))
    at = (float(x[i]), float(y[i]))
    return _Remains(demand, float(own[i]), float(gone[i]), float(left.max()), float(finished[i]), at)


def _places(demand: Demand, region: BaseGeometry) -> Array:
    """Places (N, 2) within a region at which a cut is looked at: where it is deepest among them."""
    if isinstance(demand.floor, Groove):
        path = shapely.get_coordinates(shapely.segmentize(demand.floor.path, 1.0))
        return path[points_in(region, path)]
    x0, y0, x1, y1 = region.bounds
    xs, ys = np.meshgrid(np.linspace(x0, x1, _GRID), np.linspace(y0, y1, _GRID))
    grid = np.column_stack([xs.ravel(), ys.ravel()])
    inside = grid[points_in(region, grid)]
    largest = max((p for p in shapely.get_parts(region) if isinstance(p, Polygon)), key=lambda p: float(p.area))
    deepest = polylabel(largest, 0.05)
    middle = demand.asked.centroid
    own = [(p.x, p.y) for p in (deepest, middle) if region.covers(p)]
    return np.concatenate([inside, np.array(own).reshape(-1, 2)])


def _surface(inputs: CheckInput, demand: Demand, places: Array) -> Array:
    """Height (N,) of the wood's surface that a cut begins in at places (N, 2), mm above the bed of its setup.

    Surfaces that setups before it have cut from the same side, and those of its own setup, which come first there.
    """
    context = inputs.context
    out = np.full(len(places), context.top)
    for other, demands in inputs.of_job:
        own = other.setup.name == context.setup.name
        if not other.apart and other.flipped == context.flipped:
            first = {f.name for f in other.setup.features if f.order == "face"}
            surfaces = [d for d in demands if d.kind in _SURFACES and d.must and (not own or d.feature in first)]
            out = np.minimum(out, _lowest(surfaces, places, out))
        if own:
            break
    return out


def _finished_face(inputs: CheckInput, places: Array) -> Array:
    """Depth (N,) of the finished face below the glue face at places (N, 2): a headstock's, whenever it is lowered."""
    out = np.zeros(len(places))
    for context, demands in inputs.of_job:
        if not context.flipped and not context.apart:
            steps = [d for d in demands if d.kind is CutKind.step]
            height = _lowest(steps, places, np.full(len(places), context.glue))
            out = np.maximum(out, context.glue - height)
    return out


def _lowest(demands: Iterable[Demand], places: Array, above: Array) -> Array:
    """Height (N,) of the lowest of some floors at places (N, 2), `above` (N,) where there is none."""
    out = above.copy()
    for demand in demands:
        inside = points_in(demand.asked, places)
        out[inside] = np.minimum(out[inside], demand.floor.height(places[inside, 0], places[inside, 1]))
    return out


def _finding(inputs: CheckInput, feature: str, cuts: Sequence[_Remains]) -> Finding | None:
    """What is told of a feature, by the cut that loses most; None where none loses depth that matters."""
    units = inputs.job.units
    gone = [c for c in cuts if c.most <= NOTHING]
    short = [c for c in cuts if c.lost > LOST]
    if not gone and not short:
        return None
    worst = max(gone or short, key=lambda c: c.lost)
    if worst in gone:
        remedies, right = _right_depth(inputs, feature, cuts)
        at_head = inputs.context.flipped and all(c.place[0] < 0 for c in cuts)
        said = words.nothing_stays(
            _floor(inputs.context, worst), worst.finished, "back" if inputs.context.flipped else "face",
            remedy=in_words(remedies, ""), right=right, first=words.HEAD_FIRST if at_head else words.WOOD_FIRST,
            units=units,
        )  # fmt: skip
        return at_feature(inputs, "carved-away", said, worst.demand, worst.place, remedies=remedies)
    said = words.loses_depth(worst.left, worst.own, units=units)
    return at_feature(inputs, "carved-away", said, worst.demand, worst.place, severity=Severity.warn)


def _floor(context: SetupContext, cut: _Remains) -> float:
    """Depth of a cut's floor below the glue face at its place, mm."""
    at = np.array([cut.place])
    height = float(cut.demand.floor.height(at[:, 0], at[:, 1])[0])
    return height if context.flipped else context.glue - height


def _right_depth(inputs: CheckInput, feature: str, cuts: Sequence[_Remains]) -> tuple[tuple[Remedy, ...], str]:
    """The `depth` with which every cut of a feature is as deep in the finished neck as it was asked for: as an entry,
    and as typed where its bit does not reach so deep before the wood above is gone, which leaves no entry.

    Neither where the feature has no such key, or where no wood would stay under it.
    """
    context, units = inputs.context, inputs.job.units
    if context.flipped:
        value = min(c.finished - c.own for c in cuts)
        stays, deep = value, max(c.own + c.gone for c in cuts)
    else:
        value = max(c.finished + c.own for c in cuts)
        stays, deep = context.glue - value, max(c.own + c.gone for c in cuts)
    if given_depth(inputs, feature) is None or stays <= LOST:
        return (), ""
    typed = typed_depth(value, units, up=not context.flipped)
    return ((), typed) if deep > _reach(inputs, feature) else (((Entry("depth", typed),),), "")


def _reach(inputs: CheckInput, feature: str) -> float:
    """How deep the bits of a feature cut, mm."""
    bits = [inputs.bit_named(o.bit) for o in inputs.operations if o.feature == feature]
    return min((b.rim[0] if b.is_pointed else b.cutting_length for b in bits), default=0.0)
