"""Results of each feature: minutes, wood removed, wood left, and the work left by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from shapely import Polygon

from toolpaths.common.units import show
from toolpaths.features.feature import features_of
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.boards import corners
from toolpaths.instrument.handwork.handwork import Handwork
from toolpaths.instrument.handwork.uncut import uncut
from toolpaths.instrument.handwork.whole_part import general
from toolpaths.instrument.handwork.work_order import in_order
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.job import Job
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import (
    Contour,
    Lines,
    Operation,
    ProgramPlan,
    Raster,
    Rebate,
    Rulings,
    SurfaceRows,
)
from toolpaths.pipeline.move import move
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.region_cells import covered
from toolpaths.target_shape.demand import Demand, Level
from toolpaths.toolpath.levels import levels, skimmed
from toolpaths.toolpath.strategies import contour, lines, surface_rows
from toolpaths.toolpath.time_estimate import minutes_of
from toolpaths.verification.outcome import FeatureReport

_LEAST_CORNER = 0.05
"""Corners smaller than this are nobody's work, mm2."""


def feature_reports(
    context: SetupContext,
    operations: Sequence[Operation],
    demands: Sequence[Demand],
    after: DepthMap,
    minutes: Mapping[tuple[str, str], float],
    removed: Mapping[tuple[str, str], float],
) -> tuple[FeatureReport, ...]:
    """What each bit does for each feature of a setup. `minutes` and `removed` (mm3) by feature name and bit."""
    rows: dict[tuple[str, str], list[Operation]] = {}
    for operation in operations:
        rows.setdefault((operation.feature, operation.bit), []).append(operation)
    return tuple(
        _feature(context, group, demands, after, minutes.get(key, 0.0), removed.get(key, 0.0))
        for key, group in rows.items()
    )


def volume_between(
    before: DepthMap, after: DepthMap, window: tuple[slice, slice] = (slice(None), slice(None)), *, on_bed: bool = False
) -> float:
    """Wood removed from one map to the next, mm3; what lies below the bed is not wood, unless the bed itself is cut.

    `window`: rows and columns in which the two differ at most.
    """
    if after.heights is before.heights:
        return 0.0
    a, b = before.heights[window], after.heights[window]
    if b.size and b.min() < 0 and not on_bed:
        a, b = np.maximum(a, 0), np.maximum(b, 0)
    return float((a.sum(dtype=np.float64) - b.sum(dtype=np.float64)) * before.pitch**2)


def handwork(
    contexts: Sequence[SetupContext], demands: Mapping[str, Sequence[Demand]], only: str | None = None
) -> tuple[Handwork, ...]:
    """Everything left by hand: corners that no bit reached, what each feature leaves, and what the whole part leaves;
    as it is done one after the other. `only`: what that feature leaves, alone.
    """
    near = Surfaces({context.setup.name: context for context in contexts}, demands)
    out: list[Handwork] = []
    for context in contexts:
        for demand in demands[context.setup.name]:
            region = demand.corner_region(context.tolerance)
            if region.area > _LEAST_CORNER:
                left = f"the bit left a radius of {show(demand.radius, context.job.units)}."
                what = f"Square the corners of {demand.name}: {left}"
                out.append(Handwork(demand.feature, what, region.area, demand.radius * (math.sqrt(2) - 1)))
        for feature in features_of(context.setup):
            out += feature.by_hand(context, near)
    stages = {f.name: f.stage for s in contexts for f in s.setup.features}
    out = [replace(work, stage=work.stage or stages.get(work.feature)) for work in out]
    job = contexts[0].job
    face = next((s.setup.name for s in contexts if any(CutKind.outline in f.cuts for f in s.setup.features)), "")
    whole = general(job, _pins_under_board(job, contexts, demands), face)
    return in_order(job, [work for work in (*uncut(job), *out, *whole) if only in (None, work.feature)])


def _pins_under_board(job: Job, contexts: Sequence[SetupContext], demands: Mapping[str, Sequence[Demand]]) -> int:
    """How many pins stand in the glue face within the finished board: those in waste hold no board."""
    board = Polygon(corners(job.instrument))
    faces = [context for context in contexts if not (context.flipped or context.apart)]
    pins = [d for s in faces for d in demands[s.setup.name] if d.kind is CutKind.pin_hole]
    return sum(board.contains(d.asked) for d in pins)


def _feature(
    context: SetupContext,
    group: Sequence[Operation],
    demands: Sequence[Demand],
    after: DepthMap,
    minutes: float,
    removed: float,
) -> FeatureReport:
    """One row: what one bit does for one feature, in all its operations."""
    first = group[0]
    bit, cutting = context.bits[first.bit], first.cutting
    feature = next(f for f in context.setup.features if f.name == first.feature)
    on_bed = feature.order == "bed"
    mine = [d for d in demands if d.feature == first.feature and d.may and d.must and not on_bed]
    scored = [o for o in group if isinstance(o, Lines)]
    return FeatureReport(
        name=first.feature,
        feature=feature.key,
        job_line=first.job_line,
        bit=first.bit,
        minutes=minutes,
        removed_mm3=removed,
        left_mm3=sum(_left(d, after) for d in mine),
        # From the wood that the cut begins in: on a lowered headstock that is not the glue face.
        deepest_mm=0.0 if isinstance(first, Raster) else max(o.top for o in group) - min(o.floor for o in group),
        chip_load_mm=cutting.feed / (cutting.rpm * bit.flutes),
        passes=max(_passes(o) for o in group),
        width_mm=bit.width_at(scored[0].depth) + bit.widening(context.machine.runout) if scored else None,
        cutting=cutting,
        one_way_minutes=_one_way(context, scored),
    )


def _one_way(context: SetupContext, scored: Sequence[Lines]) -> float | None:
    """Minutes that it costs to cut the levels of lines one way; None where they go both ways, or there are none."""
    slow = tuple(o for o in scored if o.cutting.lines == "one way" and not o.cutting.twice)
    if not slow:
        return None
    quick = tuple(replace(o, cutting=replace(o.cutting, lines="both")) for o in slow)
    one, both = (minutes_of(move(ProgramPlan(context.setup.name, o), context), context)[0] for o in (slow, quick))
    return one - both


def _passes(operation: Operation) -> int:
    """In how many levels, or turns of a helix no steeper than a pass is deep, an operation goes down."""
    if isinstance(operation, Raster | Rebate):
        return len(skimmed(operation))
    if isinstance(operation, Lines):
        return len(lines.passes(operation))
    if isinstance(operation, Rulings):
        return len(operation.layers)
    if isinstance(operation, SurfaceRows):
        return len(surface_rows.layers(operation))
    if isinstance(operation, Contour):
        return len(contour.passes(operation))
    return len(levels(operation.top, operation.floor, operation.cutting.pass_depth))


def _left(demand: Demand, after: DepthMap) -> float:
    """Wood standing above a demand's floor within its region, mm3."""
    if isinstance(demand.floor, Level) and after.heights.max() <= demand.floor.z:
        return 0.0
    found = covered(demand.asked, after)
    if found is None:
        return 0.0
    rows, cols, mask = found
    heights = after.heights[rows, cols][mask]
    if isinstance(demand.floor, Level):
        above = heights - np.float32(demand.floor.z)
    else:
        x, y = np.broadcast_arrays(after.xs[None, cols], after.ys[rows, None])
        above = heights - demand.floor.height(x[mask], y[mask])
    return float(above[above > 0].sum(dtype=np.float64) * after.pitch**2)
