"""Plan the operations of a job: their order, their bits, and the programs they go into.

Faces first, then what lies inside, in the job's order but one bit at a time, and last what frees the part.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import count, groupby
from types import MappingProxyType

import numpy as np

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import show
from toolpaths.features.feature import Feature, features_of
from toolpaths.instrument.fans import fret_x
from toolpaths.instrument.places import x_of
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import Along
from toolpaths.job.placed import OVERLAP, Lie
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import (
    Bore,
    Carve,
    Channel,
    Clear,
    Contour,
    Corners,
    Engrave,
    KeptClear,
    Lines,
    Operation,
    ProgramPlan,
    Raster,
    Rebate,
    Rulings,
    Skim,
    SurfaceRows,
    Tab,
)
from toolpaths.operations.parts_along import parts_along

AsCut = Mapping[str, SetupContext]
"""By feature name, for what is cut already: the setup as it was known when that was planned."""


def plan(contexts: Sequence[SetupContext], as_cut: AsCut = MappingProxyType({})) -> tuple[ProgramPlan, ...]:
    """One plan for each program, in cutting order. Raises FeatureError where a feature cannot be cut as asked."""
    program_plans: list[ProgramPlan] = []
    for context in contexts:
        features, lies = ordered(features_of(context.setup)), lies_of(context)
        groups: list[tuple[bool, list[Operation]]] = []
        for orders in (("bed",), ("screws",), ("first",), ("face", "inside", "free")):
            part = [f for f in features if f.order in orders]
            groups.append(("bed" in orders, [seen(o, context) for o in _in_turn(part, context, as_cut)]))
        if not lies:
            for on_bed, operations in groups:
                program_plans += _batched(context, operations, on_bed)
            continue
        (_, bed), *others = groups
        program_plans += [replace(one, lie=lies[0]) for one in _batched(context, bed, True)]
        divided = [[parts_of(o, context, lies) for o in operations] for _, operations in others]
        for k, lie in enumerate(lies):
            for parts in divided:
                mine = [part[k] for part in parts]
                program_plans += [
                    replace(one, lie=lie) for one in _batched(context, [o for o in mine if o is not None], False)
                ]
    return tuple(replace(one, number=i) for i, one in enumerate(program_plans))


def lies_of(context: SetupContext) -> tuple[Lie, ...]:
    """The places in which a setup's blank lies one after another; none where it stays where it is.

    Raises FeatureError for a place that does not lie to the right of the one before.
    """
    placed = context.setup.placed
    out: list[Lie] = []
    low = -math.inf
    for i, one in enumerate(placed, 1):
        high = _seam(one.end, context) if isinstance(one.end, Along) else math.inf
        if high <= low + 2 * OVERLAP:
            raise FeatureError(
                f"the part of {one.name} ends at x {show(high, context.job.units)}, less than "
                f"{show(2 * OVERLAP, context.job.units)} after it begins",
                "write `from` and `to` further apart",
                "placed",
            )
        out.append(Lie(one, i, len(placed), low, high))
        low = high
    return tuple(out)


def _seam(border: Along, context: SetupContext) -> float:
    """Where a seam lies, mm from the nut: halfway from a fret that is named to the next, so that no line is in it."""
    instrument = context.job.instrument
    at = x_of(border, instrument, "placed")
    if border.fret is None:
        return at
    return (at + fret_x(instrument, border.fret + 1)) / 2


def parts_of(operation: Operation, context: SetupContext, lies: Sequence[Lie]) -> list[Operation | None]:
    """What each place cuts of an operation. Raises FeatureError for one that no place can cut."""
    return parts_along(operation, context.bits[operation.bit], lies, context.job.units)


def _in_turn(features: Sequence[Feature], context: SetupContext, as_cut: AsCut) -> list[Operation]:
    """The operations of features in cutting order.

    What a feature's second bit does waits until that bit is in the collet for a later feature, at the latest until
    all else is done that does not free the part.
    """
    out: list[Operation] = []
    waiting: list[Operation] = []
    for feature in features:
        if feature.order == "free":
            out += _by_bit(waiting, feature.bit)
            waiting = []
        own = list(feature.operations(as_cut.get(feature.name, context)))
        out += [o for o in waiting if o.bit == feature.bit] + [o for o in own if o.bit == feature.bit]
        waiting = [o for o in waiting if o.bit != feature.bit] + [o for o in own if o.bit != feature.bit]
    return [*out, *_by_bit(waiting)]


def _by_bit(operations: Sequence[Operation], last: str = "") -> list[Operation]:
    """Operations one bit at a time, in the order in which the bits come up, one of them last."""
    bits = sorted(dict.fromkeys(o.bit for o in operations), key=lambda bit: bit == last)
    return [o for bit in bits for o in operations if o.bit == bit]


def _batched(context: SetupContext, operations: Sequence[Operation], on_bed: bool) -> list[ProgramPlan]:
    changer = context.machine.tool_change == "automatic"
    groups = groupby(operations, key=lambda o: "" if changer else o.bit)
    return [ProgramPlan(context.setup.name, tuple(group), on_bed) for _, group in groups]


def ordered(features: Sequence[Feature]) -> list[Feature]:
    """Features in cutting order: face, inside (grouped by bit), free."""
    before = [f for order in ("bed", "screws", "first") for f in features if f.order == order]
    # What planes the whole blank comes before what lowers a part of it.
    face = sorted((f for f in features if f.order == "face"), key=lambda f: CutKind.face not in f.cuts)
    free = [f for f in features if f.order == "free"]
    inside = [f for f in features if f.order == "inside"]
    bits = list(dict.fromkeys(f.bit for f in inside))
    # A bit that is in the collet already, or must be in it next, saves a change.
    bits.sort(key=lambda b: (face[-1].bit != b if face else 0, free[0].bit == b if free else 0))
    return [*before, *face, *(f for b in bits for f in inside if f.bit == b), *free]


def chosen(
    program_plans: Sequence[ProgramPlan], only: str | None, start: str | None
) -> tuple[tuple[ProgramPlan, ...], tuple[ProgramPlan, ...]]:
    """(as if cut, to write): the plans before a named feature, and those of it alone or from it on.

    `only` or `start` names it; without a name, nothing is as if cut. From a feature on is all that comes after its
    first operation: also what a second bit has still to do for a feature that began before it.
    Raises KeyError with the names there are for a name that is not among them.
    """
    name = only if only is not None else start
    if name is None:
        return (), tuple(program_plans)
    features = list(dict.fromkeys(o.feature for b in program_plans for o in b.operations))
    if name not in features:
        raise KeyError(", ".join(features))
    if only is not None and any(plan.lie is not None for plan in program_plans):
        # Where the blank was moved along, all is cut that comes before the last of it: also the bores for the pins.
        every = [o for b in program_plans for o in b.operations]
        last = max(i for i, o in enumerate(every) if o.feature == name)
        before = _of(program_plans, lambda i, o: i < last and o.feature != name)
        return before, _of(program_plans, lambda _, o: o.feature == name)
    if only is not None:
        earlier = features[: features.index(name)]
        return _of(program_plans, lambda _, o: o.feature in earlier), _of(program_plans, lambda _, o: o.feature == name)
    first = next(i for i, o in enumerate(o for b in program_plans for o in b.operations) if o.feature == name)
    return _of(program_plans, lambda i, _: i < first), _of(program_plans, lambda i, _: i >= first)


def _of(program_plans: Sequence[ProgramPlan], wanted: Callable[[int, Operation], bool]) -> tuple[ProgramPlan, ...]:
    """The plans with those operations alone that are wanted, by their number in cutting order or for themselves."""
    number = count()
    kept = [replace(b, operations=tuple(o for o in b.operations if wanted(next(number), o))) for b in program_plans]
    return tuple(b for b in kept if b.operations)


def seen(operation: Operation, context: SetupContext) -> Operation:
    """The operation as seen in its setup's frame."""
    if context.mirror > 0:
        return operation
    flip = np.array([1.0, -1.0])
    if isinstance(operation, Raster | Rebate):
        return replace(operation, box=_turned(operation.box))
    if isinstance(operation, Skim):
        kept = tuple(KeptClear(_turned(k.box), k.by) for k in operation.clear)
        return replace(operation, box=_turned(operation.box), clear=kept)
    if isinstance(operation, Lines):
        return replace(operation, lines=operation.lines * flip)
    if isinstance(operation, Clear | Corners | Carve):
        return replace(operation, areas=tuple(area.mirrored() for area in operation.areas))
    if isinstance(operation, Contour):
        tabs = tuple(Tab((t.at[0], -t.at[1]), (t.along[0], -t.along[1]), t.length, t.height) for t in operation.tabs)
        return replace(operation, loop=operation.loop.mirrored(), tabs=tabs)
    if isinstance(operation, Bore):
        return replace(operation, centres=operation.centres * flip)
    if isinstance(operation, Channel):
        return replace(operation, ends=operation.ends * flip)
    if isinstance(operation, Rulings):
        solid = np.array([1.0, -1.0, 1.0])
        return replace(operation, layers=tuple((r, (b * solid, a * solid)) for r, (a, b) in operation.layers))
    if isinstance(operation, SurfaceRows):
        wide = np.array([1.0, -1.0, 1.0, 1.0])
        rows, links = (tuple(way * wide for way in ways) for ways in (operation.rows, operation.links))
        return replace(operation, rows=rows, links=links)
    if isinstance(operation, Engrave):
        return replace(operation, paths=tuple(path * flip for path in operation.paths))
    raise AssertionError(f"an operation of unknown kind: {operation!r}")


def _turned(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = box
    return x0, -y1, x1, -y0
