"""Has everything that holds the blank a place, and can it stand there?"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

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
from toolpaths.verification.wording import holding as words
from toolpaths.verification.wording.message import Message

_FLOATS = 0.05
_SAME = 1e-6


def check(inputs: CheckInput) -> list[Finding]:
    """Findings `holder-unplaced` and `holder-place`; the same in every program of a setup, and told once."""
    if nothing_to_hold(inputs):
        return []
    if (unplaced := inputs.context.setup.unplaced) is not None:
        return [_unplaced(inputs, unplaced)]
    columns = held_blank(inputs).columns
    return [Finding.of("holder-place", said, severity=severity) for said, severity in _misplaced(inputs, columns)]


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
    said = words.no_places(context.setup.name, hold, value)
    return Finding.of("holder-unplaced", said, remedies=((Entry("hold", value, of="setup"),),) if value else ())


# Where it cannot stand


def _misplaced(inputs: CheckInput, columns: Columns) -> Iterator[tuple[Message, Severity]]:
    context, hold = inputs.context, inputs.context.setup.holders
    setup = context.setup.name
    yield from _boxes(inputs)
    for clamp in hold.clamps:
        yield from _clamp(context, clamp, columns)
    yield from _screws(inputs, columns)
    yield from _pins(inputs, columns)
    for patch, name in ((hold.tape, "the tape"), (hold.vacuum, "the vacuum")):
        if patch is not None and not patch_region(context, patch).intersects(box(*context.stock_box)):
            yield words.under_nothing(setup, name), Severity.stop
    if isinstance(context.setup.hold, Hold) and hold == Hold():
        yield words.holds_by_nothing(setup), Severity.stop


def _boxes(inputs: CheckInput) -> Iterator[tuple[Message, Severity]]:
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
            yield words.inside_blank(context.setup.name, it.name, deep, units=units), Severity.stop
        elif stops and place.distance(blank) > TOUCHES:
            off = place.distance(blank)
            yield words.stops_nothing(context.setup.name, it.name, off, TOUCHES, units=units), Severity.warn


def _clamp(context: SetupContext, clamp: Clamp, columns: Columns) -> Iterator[tuple[Message, Severity]]:
    units, blank, setup = context.job.units, _blank(context), context.setup.name
    if clamp.presses == "from the side":
        if _shape(clamp).intersection(blank).area > _SAME:
            yield words.grips_inside_blank(setup, clamp.name), Severity.stop
        elif (off := _shape(clamp).distance(blank)) > TOUCHES:
            yield words.grips_nothing(setup, clamp.name, off, TOUCHES, units=units), Severity.stop
        return
    foot = foot_of(context, clamp)
    if foot.area <= _SAME:
        yield words.presses_on_nothing(setup, clamp.name), Severity.stop
    elif clamp.height <= (top := context.above_bed(context.top)):
        yield words.clamp_in_the_wood(setup, clamp.name, clamp.height, top, units=units), Severity.stop
    elif (gap := _floats(columns, foot)) > _FLOATS:
        yield words.blank_off_the_bed(setup, clamp.name, gap, units=units), Severity.warn


def _screws(inputs: CheckInput, columns: Columns) -> Iterator[tuple[Message, Severity]]:
    context, units, setup = inputs.context, inputs.job.units, inputs.context.setup.name
    # A jig is screwed down through itself.
    part = Polygon() if inputs.job.part == "jig" else shapely.union_all(list(part_regions(inputs)))
    blank = box(*context.stock_box)
    for name, group, place in context.screws:
        at = Point(place)
        if not blank.contains(at):
            yield words.screw_beside_blank(setup, name), Severity.stop
            continue
        if part.intersects(at.buffer(group.head / 2)):
            yield words.screw_in_part(setup, name), Severity.stop
        seat = context.top - group.sunk - _gap(columns, at.buffer(group.head / 2))
        if seat < SEAT - _SAME:
            yield words.screw_sunk_too_deep(setup, name, max(seat, 0.0), SEAT, units=units), Severity.stop
        elif (away := at.distance(blank.exterior)) < EDGE - _SAME:
            yield words.screw_near_edge(setup, name, away, EDGE, units=units), Severity.warn
        elif (gap := _floats(columns, at)) > _FLOATS:
            yield words.blank_off_the_bed(setup, name, gap, units=units), Severity.warn


def _pins(inputs: CheckInput, columns: Columns) -> Iterator[tuple[Message, Severity]]:
    context, units = inputs.context, inputs.job.units
    for pin in (o for o in inputs.obstacles if o.kind is ObstacleKind.pin):
        x, y = context.on_blank(*pin.box[:2])
        cells = columns.cells(Point(x, y).buffer(pin.radius / 2))
        low = columns.low[cells]
        # Where no wood is left the bore goes through.
        through = bool(low.size) and not (columns.wood & cells).any()
        depth = context.top if through else min(float(low.max()) if low.size else 0.0, context.top)
        if pin.top > depth + _FLOATS:
            raised = context.above_bed(pin.top)
            yield words.pin_too_long(context.setup.name, pin.name, raised, depth, units=units), Severity.stop


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
