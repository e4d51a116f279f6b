"""Has everything that holds the blank a place, and can it stand there?"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from toolpaths.common.units import show
from toolpaths.job.holders import TOUCHES, Clamp, Hold
from toolpaths.job.obstacles import ObstacleKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stock import KeepOut
from toolpaths.simulation.columns import Columns
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finding import Entry, Finding, Severity
from toolpaths.verification.holding.held_blank import foot_of, held_blank, nothing_to_hold, part_regions, patch_region
from toolpaths.verification.holding.proposed_places import (
    EDGE,
    SEAT,
    clamp_places,
    clamps_typed,
    screw_places,
    screws_typed,
)

_FLOATS = 0.05
_SAME = 1e-6


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `holder-unplaced` and `holder-place`; the same in every program of a setup, and told once."""
    if nothing_to_hold(inputs):
        return []
    if (unplaced := inputs.context.setup.unplaced) is not None:
        return [_unplaced(inputs, unplaced)]
    columns = held_blank(inputs).columns
    return [
        Finding.of("holder-place", f"setup {inputs.context.setup.name}: {message}", severity=severity)
        for message, severity in _misplaced(inputs, columns)
    ]


# Without a place


def _unplaced(inputs: CheckInput, hold: str) -> Finding:
    context, units = inputs.context, inputs.job.units
    part = shapely.union_all(list(part_regions(inputs)))
    if hold == "screws":
        columns = held_blank(inputs).columns
        places = screw_places(context, inputs.demands, part, columns)
        value = screws_typed(places, units) if places else ""
    else:
        clamps = clamp_places(context, inputs.demands, part)
        value = clamps_typed(clamps, units) if len(clamps) > 1 else ""
    message = f"setup {context.setup.name}: {hold} without a place: no program can keep clear of them; "
    if value:
        message += f"these fit: `hold: {value}`"
    else:
        message += (
            "and there is no room for them: all wood that they could have is cut, or passed too low. Take tape, a "
            "larger blank, or plane it before"
        )
    return Finding.of("holder-unplaced", message, remedies=((Entry("hold", value, of="setup"),),) if value else ())


# Where it cannot stand


def _misplaced(inputs: CheckInput, columns: Columns) -> Iterator[tuple[str, Severity]]:
    context, hold = inputs.context, inputs.context.setup.holders
    yield from _boxes(inputs)
    for clamp in hold.clamps:
        yield from _clamp(context, clamp, columns)
    yield from _screws(inputs, columns)
    yield from _pins(inputs, columns)
    for patch, name in ((hold.tape, "the tape"), (hold.vacuum, "the vacuum")):
        if patch is not None and not patch_region(context, patch).intersects(box(*context.stock_box)):
            yield f"{name} does not lie under the blank: see its x and y", Severity.stop
    if isinstance(context.setup.hold, Hold) and hold == Hold():
        yield "`hold` names nothing: say what holds the blank", Severity.stop


def _boxes(inputs: CheckInput) -> Iterator[tuple[str, Severity]]:
    """What stands in the blank's own place, or beside it and too far off to stop it."""
    context, units = inputs.context, inputs.job.units
    blank, hold = _blank(context), context.setup.holders
    for it, stops in [*((k, False) for k in context.setup.keep_out), *((s, True) for s in hold.stops)]:
        place = _shape(it)
        over = place.intersection(blank).area
        # A stop stands from the bed up; what is only in the way may be an arm above the blank.
        reaches = stops or it.height <= context.above_bed(context.top)
        if over > _SAME and it.height > context.setup.under_thickness and reaches:
            deep = min(place.intersection(blank).bounds[k + 2] - place.intersection(blank).bounds[k] for k in (0, 1))
            yield (
                f"{it.name} stands inside the blank's own place, by {show(deep, units)}: move it off, or see nut_at "
                "and the blank's size",
                Severity.stop,
            )
        elif stops and place.distance(blank) > TOUCHES:
            yield (
                f"{it.name} stands {show(place.distance(blank), units)} off the blank and stops nothing: move it there",
                Severity.warn,
            )


def _clamp(context: SetupContext, clamp: Clamp, columns: Columns) -> Iterator[tuple[str, Severity]]:
    units, blank = context.job.units, _blank(context)
    if clamp.presses == "from the side":
        if _shape(clamp).intersection(blank).area > _SAME:
            yield f"{clamp.name} presses from the side and stands inside the blank's own place", Severity.stop
        elif _shape(clamp).distance(blank) > TOUCHES:
            off = show(_shape(clamp).distance(blank), units)
            yield f"{clamp.name} stands {off} off the blank's edge and grips nothing", Severity.stop
        return
    foot = foot_of(context, clamp)
    if foot.area <= _SAME:
        yield f"{clamp.name} does not reach over the blank, and presses on nothing", Severity.stop
    elif clamp.height <= context.above_bed(context.top):
        top = show(context.above_bed(context.top), units)
        yield f"{clamp.name} is no higher than the blank ({top}): it stands in the wood", Severity.stop
    elif _floats(columns, foot) > _FLOATS:
        gap = show(_floats(columns, foot), units)
        yield (
            f"under {clamp.name} the blank lies {gap} above the bed: pack it there, or clamp where it lies",
            Severity.warn,
        )


def _screws(inputs: CheckInput, columns: Columns) -> Iterator[tuple[str, Severity]]:
    context, units = inputs.context, inputs.job.units
    # A jig is screwed down through itself.
    part = Polygon() if inputs.job.part == "jig" else shapely.union_all(list(part_regions(inputs)))
    blank = box(*context.stock_box)
    for name, group, place in context.screws:
        at = Point(place)
        if not blank.contains(at):
            yield f"{name} stands beside the blank and holds nothing", Severity.stop
            continue
        if part.intersects(at.buffer(group.head / 2)):
            yield f"{name} goes through the part: put it into the waste", Severity.stop
        seat = context.top - group.sunk - _gap(columns, at.buffer(group.head / 2))
        if seat < SEAT - _SAME:
            yield (
                f"under the head of {name} stay {show(max(seat, 0.0), units)} of wood, and "
                f"{show(SEAT, units)} must (common practice, no source): sink it less deep",
                Severity.stop,
            )
        elif at.distance(blank.exterior) < EDGE - _SAME:
            yield (
                f"{name} is {show(at.distance(blank.exterior), units)} from the blank's edge, which may "
                f"split: {show(EDGE, units)} are usual (common practice, no source)",
                Severity.warn,
            )
        elif _floats(columns, at) > _FLOATS:
            gap = show(_floats(columns, at), units)
            yield f"under {name} the blank lies {gap} above the bed: pack it there", Severity.warn


def _pins(inputs: CheckInput, columns: Columns) -> Iterator[tuple[str, Severity]]:
    context, units = inputs.context, inputs.job.units
    for pin in (o for o in inputs.obstacles if o.kind is ObstacleKind.pin):
        x, y = context.on_blank(*pin.box[:2])
        cells = columns.cells(Point(x, y).buffer(pin.radius / 2))
        low = columns.low[cells]
        # Where no wood is left the bore goes through.
        through = bool(low.size) and not (columns.wood & cells).any()
        depth = context.top if through else min(float(low.max()) if low.size else 0.0, context.top)
        if pin.top > depth + _FLOATS:
            raised = show(context.above_bed(pin.top), units)
            yield (
                f"{pin.name} stands {raised} above the bed, and the blank's bore there is {show(depth, units)} deep: a "
                "shorter pin, or a bore of its own",
                Severity.stop,
            )


def _blank(context: SetupContext) -> Polygon:
    """The blank from above, where it lies on the machine."""
    x0, y0, x1, y1 = context.stock_box
    return Polygon([context.as_it_lies(*corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])


def _shape(it: KeepOut) -> Polygon:
    return box(it.x[0], it.y[0], it.x[1], it.y[1])


def _gap(columns: Columns, region: BaseGeometry) -> float:
    """How high the wood's underside lies above what is under it, at its highest in a region, mm."""
    low = columns.low[columns.cells(region) & columns.wood]
    return float(low.max()) if low.size else 0.0


def _floats(columns: Columns, region: BaseGeometry) -> float:
    """How high the wood lies above what is under it where it comes nearest in a region and around it, mm."""
    low = columns.low[columns.cells(region.buffer(EDGE)) & columns.wood]
    return float(low.min()) if low.size else 0.0
