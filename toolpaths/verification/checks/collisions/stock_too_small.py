"""Is the blank large enough for the part, thick enough to clean up, and thick enough for the part once it is planed?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.job.feature_keys import NO_PART
from toolpaths.target_shape.demand import Demand
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Finding
from toolpaths.verification.finding_places import at_feature
from toolpaths.verification.finished_part import finished_depths, finished_part
from toolpaths.verification.patches import points_in
from toolpaths.verification.wording.collisions import part_out_of_wood, past_blank, too_thin_to_plane

_CODE = "stock-too-small"
_SPARE = 1e-6
_THIN = 0.01
"""A part may stick out of the wood by so much, mm: as deep as a cut may go below what was asked for."""
_SEAM = 1e-3
"""Pieces of one band are joined over gaps this narrow, mm."""
_ENDS = ("left end", "near edge", "right end", "far edge")


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `stock-too-small` of the features that this program cuts, and of the finished part in this side's wood.

    What is cut around may have its kerf off the blank, but not itself; a groove may run out, but its finished
    length may not.
    """
    here = dict.fromkeys(o.feature for o in inputs.operations)
    found: list[Finding] = []
    for feature in here:
        own = [d for d in inputs.demands if d.feature == feature]
        found += _too_thin(inputs, [d for d in own if d.everywhere])
        shapes = [d for d in own if not d.everywhere]
        if shapes and (sunk := _too_short(inputs, shapes)) is not None:
            found.append(sunk)
    # A piece of its own is no blank of a part, nor is the bare bed; a turned blank was looked at from its face.
    planes = [d for d in inputs.demands if d.everywhere]
    turned = inputs.context.flipped and not planes and inputs.other_side is not None
    scrap = all(f.lies in NO_PART for f in inputs.context.setup.features)
    planing = not {d.feature for d in planes} <= inputs.finished
    if inputs.context.apart or inputs.job.part == "jig" or inputs.on_bed or scrap or turned or planing:
        return found
    return [*found, *_beside_blank(inputs), *_out_of_wood(inputs, planes)]


def _too_thin(inputs: CheckInput, demands: list[Demand]) -> Iterator[Finding]:
    context, units = inputs.context, inputs.job.units
    x0, y0, x1, y1 = context.stock_box
    middle = (np.array([(x0 + x1) / 2]), np.array([(y0 + y1) / 2]))
    for demand in demands:
        face = float(demand.floor.height(*middle)[0])
        if face > context.least + _SPARE:
            message = too_thin_to_plane(context.least, face, units)
            yield at_feature(inputs, _CODE, message, demand)


def _too_short(inputs: CheckInput, demands: list[Demand]) -> Finding | None:
    most, side, (demand, region) = max(
        ((*_beyond(inputs, shape), (demand, shape)) for demand, shape in _finished(demands)), key=lambda one: one[0]
    )
    if most <= _SPARE:
        return None
    message = past_blank(demand.name, _ENDS[side], most, inputs.job.units)
    return at_feature(inputs, _CODE, message, demand, _end_of(region, side))


def _beside_blank(inputs: CheckInput) -> list[Finding]:
    """Where no feature frees the part, and so tells of its outline: whether all of the part lies on the blank."""
    if any(f.order == "free" for setup in inputs.job.setups if setup.stock is None for f in setup.features):
        return []
    part = finished_part(inputs.context)
    most, side = _beyond(inputs, part)
    if most <= _THIN:
        return []
    message = past_blank(f"the finished {inputs.job.part}", _ENDS[side], most, inputs.job.units)
    return [Finding.of(_CODE, message, feature="stock", place=_end_of(part, side))]


def _end_of(shape: BaseGeometry, side: int) -> tuple[float, float]:
    """The middle of one of the sides of a shape's box, as `_ENDS` counts them."""
    x0, y0, x1, y1 = shape.bounds
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return [(x0, y), (x, y0), (x1, y), (x, y1)][side]


def _beyond(inputs: CheckInput, shape: BaseGeometry) -> tuple[float, int]:
    """(how far a shape reaches past the blank at most, mm, and at which of `_ENDS`)."""
    box, bounds = np.array(inputs.context.stock_box), np.array(shape.bounds)
    beyond = np.concatenate([box[:2] - bounds[:2], bounds[2:] - box[2:]])
    return float(beyond.max()), int(np.argmax(beyond))


def _out_of_wood(inputs: CheckInput, planes: list[Demand]) -> list[Finding]:
    """Where the blank, or what planing has left of it, is thinner than the finished part: one finding, the worst place.

    Every program of a side finds the same, so that it names none of them.
    """
    context, job = inputs.context, inputs.job
    lowest = min(((float(d.floor.height(*np.zeros((2, 1)))[0]), d) for d in planes), key=lambda p: p[0], default=None)
    places, depth = finished_depths(context)
    wood = inputs.standing.heights(places)
    wood = np.where(wood >= context.top - _SPARE, context.least, wood)
    # What else is cut there on purpose, now or in an earlier setup of this side, says nothing of how thick the wood is.
    meant = np.zeros(len(places), dtype=bool)
    for demand in (*inputs.demands, *_cut_before(inputs)):
        if not demand.everywhere:
            around = demand.asked if demand.run_out is None else shapely.union(demand.asked, demand.run_out)
            meant[points_in(around.buffer(2 * context.tolerance), places)] = True
    wood[meant] = np.inf if context.flipped else min(context.least, context.least if lowest is None else lowest[0])
    # What planing was found to have left too thin is told by the measuring list: no program puts it back.
    missing = np.where(np.isfinite(wood), depth - wood - context.found.thinner, 0.0)
    worst = int(np.argmax(missing - _SPARE * np.abs(places[:, 1])))
    most = float(missing[worst])
    if most <= _THIN + context.machine.half_digit:
        return []
    (x, y), need, left = places[worst], float(depth[worst]), float(wood[worst])
    short = places[missing > _THIN, 0]
    plane = None if lowest is None else lowest[1]
    thicker, stretch = need > context.stock.thickness.min, (float(short.min()), float(short.max()))
    message = part_out_of_wood(job.part, plane is not None, left, need, thicker, stretch, job.units)
    feature, line = ("stock", 0) if plane is None else (plane.feature, plane.job_line)
    return [Finding.of(_CODE, message, feature=feature, job_line=line, place=(x, y))]


def _cut_before(inputs: CheckInput) -> Iterator[Demand]:
    """What the setups before this one ask for on the same side of the blank."""
    for context, demands in inputs.of_job:
        if context.setup.name == inputs.context.setup.name:
            return
        if context.flipped == inputs.context.flipped and not context.apart:
            yield from demands


def _finished(demands: list[Demand]) -> list[tuple[Demand, BaseGeometry]]:
    """What must lie on the blank: the part inside where the demands together are a band around one, else themselves."""
    whole = shapely.union_all([d.asked.buffer(_SEAM, join_style="mitre") for d in demands if d.may])
    holes = [shapely.Polygon(ring) for part in shapely.get_parts(whole) for ring in getattr(part, "interiors", ())]
    if holes:
        return [(demands[0], shapely.union_all(holes).buffer(_SEAM, join_style="mitre"))]
    return [(d, d.asked) for d in demands]
