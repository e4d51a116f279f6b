"""The blank in the midst of a setup: what hangs together, which of it is the part, and where a holder has it.

Holders' places are as seen at the machine; here they are turned back, as the moves are, to how the blank lies.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Mask
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.feature_keys import NO_PART
from toolpaths.job.holders import FRICTION, PIN_HOLD, SCREW_HOLD, Clamp, Patch
from toolpaths.job.obstacles import ObstacleKind, Present, clamps_there, there_while
from toolpaths.job.setup_context import SetupContext
from toolpaths.simulation.columns import Columns, bodies
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.check_input import CheckInput
from toolpaths.verification.finished_part import finished_part
from toolpaths.verification.holding.joint_group import Bearing, area_bearings

_LIES = 0.05
"""Wood nearer than this to what is under it lies on it, mm."""
_EDGE = 0.5
"""How far inside its outline a part's wood is looked for, mm: the kerf's wall lies on it."""
_SEAL = 3.0
"""Width of the edge of a body that a vacuum does not hold, mm. Common practice, no source."""
_LEAKS = 0.8
"""Part of a vacuum's pull that is counted on. Common practice, no source."""
_GRIP = 1.0
"""Width of the blank's edge that is taken for a jaw's grip, mm."""


@dataclass(frozen=True, slots=True)
class Holder:
    """One holder where it has the blank: its cells (rows, cols), and whether it holds against lift at all.

    `bears`: what it bears, each thing; empty for an area, which bears `sideways` and `lift` N/mm2 of its cells.
    """

    name: str
    cells: Mask
    lifts: bool
    bears: tuple[Bearing, ...] = ()
    sideways: float = 0.0
    lift: float = 0.0

    def on(self, columns: Columns, body: Mask) -> tuple[Bearing, ...]:
        """What it bears of a body (rows, cols)."""
        cells = self.cells & body
        if not cells.any():
            return ()
        return self.bears or area_bearings(columns, cells, self.sideways, self.lift)


@dataclass(frozen=True)
class HeldBlank:
    """Wood, parts and holders at one moment. `parts`: cells (rows, cols) of each part."""

    columns: Columns
    parts: tuple[Mask, ...]
    holders: tuple[Holder, ...]

    @cached_property
    def labels(self) -> NDArray[np.int32]:
        """Number (rows, cols) of the body that each cell belongs to, from 1; found when first asked for."""
        return bodies(self.columns)[0]

    @property
    def adhered(self) -> Mask:
        """(rows, cols) what tape or a vacuum has."""
        none = np.zeros(self.columns.high.shape, dtype=bool)
        return np.asarray(np.logical_or.reduce([none, *(h.cells for h in self.holders if h.lifts and not h.bears)]))

    def body(self, number: int) -> Mask:
        """Cells (rows, cols) of one body."""
        return np.asarray(self.labels == number)

    def of_part(self, part: Mask) -> tuple[int, list[tuple[int, float]]]:
        """(number of the body that most of a part belongs to, 0 for none; all its bodies with their share of it)."""
        numbers, counts = np.unique(self.labels[part], return_counts=True)
        shares = [(int(n), float(c) / counts.sum()) for n, c in zip(numbers, counts, strict=True) if n]
        shares.sort(key=lambda s: -s[1])
        return (shares[0][0] if shares else 0), shares

    def held(self, body: Mask) -> bool:
        """Whether anything that holds against lift has the body."""
        return any(h.lifts and bool((h.cells & body).any()) for h in self.holders)

    @property
    def lies(self) -> Mask:
        """(rows, cols) wood that lies on what is under the blank."""
        return np.asarray((self.columns.low <= _LIES) & self.columns.wood)


def nothing_to_hold(inputs: CheckInput) -> bool:
    """Whether a program cuts no blank at all: nothing, the bare bed, or a board of the machine itself."""
    features = inputs.context.setup.features
    return inputs.on_bed or not len(inputs.moves) or all(f.lies == "on machine" for f in features)


def held_blank(inputs: CheckInput, wood: DepthMap | None = None) -> HeldBlank:
    """The blank at the end of a program, or as another map of it says."""
    if wood is None:
        known = inputs.kept.get("held blank")
        if not isinstance(known, HeldBlank):
            known = inputs.kept["held blank"] = held_blank(inputs, inputs.after)
        return known
    context = inputs.context
    columns = Columns.of(wood, inputs.other_side, context.glue)
    return HeldBlank(columns, tuple(parts_of(inputs, columns)), tuple(holders_of(inputs, columns)))


def parts_of(inputs: CheckInput, columns: Columns) -> Iterator[Mask]:
    """Cells (rows, cols) of what is to be made of the blank: part, pieces for inlays, or all of it."""
    for region in part_regions(inputs):
        cells = columns.cells(region.buffer(-_EDGE))
        if cells.any():
            yield cells


def part_regions(inputs: CheckInput) -> Sequence[BaseGeometry]:
    """What is to be made of the blank, seen from above in the setup's frame, mm. Worked out once for all checks."""
    known = inputs.kept.get("part regions")
    if isinstance(known, tuple):
        return known
    found = inputs.kept["part regions"] = tuple(_part_regions(inputs))
    return found


def _part_regions(inputs: CheckInput) -> Sequence[BaseGeometry]:
    context = inputs.context
    whole = box(*context.stock_box)
    if context.job.part == "jig" or context.setup.stand is not None:
        return [whole]
    if all(f.lies in NO_PART for f in context.setup.features):
        return [whole]
    if context.apart:
        rings = [d.asked for d in inputs.demands if d.kind is CutKind.inlay_piece]
        inner = [Polygon(hole) for ring in rings for part in shapely.get_parts(ring) for hole in part.interiors]
        return inner or [whole]
    return [finished_part(context).intersection(whole)]


def holders_of(inputs: CheckInput, columns: Columns) -> Iterator[Holder]:
    """What holds the blank while the program runs, each where it has the blank."""
    context = inputs.context
    there = there_while(context.setup, {o.feature for o in inputs.operations}, inputs.on_bed)
    hold, wood = context.setup.holders, columns.wood
    if Present.with_screws in there:
        yield from _screws(context, columns)
    for clamp in clamps_there(context.setup, there):
        yield _clamp(context, columns, clamp)
    for pin in (o for o in inputs.obstacles if o.kind is ObstacleKind.pin):
        x, y = context.on_blank(*pin.box[:2])
        around = columns.cells(Point(x, y).buffer(pin.radius + 2 * columns.pitch)) & wood
        yield Holder(pin.name, around, False, (Bearing((x, y), PIN_HOLD, PIN_HOLD, 0.0),))
    lies = (columns.low <= _LIES) & wood
    if hold.tape is not None:
        strength = hold.tape.strength
        yield Holder("the tape", lies & columns.cells(patch_region(context, hold.tape)), True, (), strength, strength)
    if hold.vacuum is not None:
        pull = _LEAKS * hold.vacuum.pull
        sealed = _inside(lies & columns.cells(patch_region(context, hold.vacuum)), round(_SEAL / columns.pitch))
        yield Holder("the vacuum", sealed, True, (), FRICTION * pull, pull)


def patch_region(context: SetupContext, patch: Patch) -> BaseGeometry:
    """A patch of the underside, mm in the setup's frame."""
    x0, y0, x1, y1 = context.stock_box
    (px0, px1), (py0, py1) = patch.x or (x0 - 1, x1 + 1), patch.y or (y0 - 1, y1 + 1)
    return on_blank(context, (px0, py0, px1, py1))


def on_blank(context: SetupContext, rectangle: tuple[float, float, float, float]) -> BaseGeometry:
    """A box of the machine as it lies over the blank, mm in the setup's frame."""
    x0, y0, x1, y1 = rectangle
    return Polygon([context.on_blank(*corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])


def foot_of(context: SetupContext, clamp: Clamp) -> BaseGeometry:
    """Where a clamp presses on the blank from above, mm in the setup's frame; empty where it does not."""
    of = clamp.foot if clamp.foot is not None else clamp
    return _over(context, on_blank(context, (of.x[0], of.y[0], of.x[1], of.y[1])))


# Private


def _over(context: SetupContext, region: BaseGeometry) -> BaseGeometry:
    """The part of a region that is over the blank; empty where it only touches it."""
    over = region.intersection(box(*context.stock_box))
    return over if over.area > 0 else Polygon()


def _screws(context: SetupContext, columns: Columns) -> Iterator[Holder]:
    for name, group, at in context.screws:
        # As much thread as 12 mm of a 4 mm screw bears three hundred newtons.
        bears = SCREW_HOLD * group.diameter * group.into_bed / 48.0
        cells = columns.cells(Point(at).buffer(group.head / 2)) & columns.wood
        yield Holder(name, cells, True, (Bearing(at, bears, bears, bears),))


def _clamp(context: SetupContext, columns: Columns, clamp: Clamp) -> Holder:
    if clamp.presses == "down":
        foot = foot_of(context, clamp)
        places, push = _corners(foot), clamp.force
    else:
        grip = on_blank(context, (clamp.x[0], clamp.y[0], clamp.x[1], clamp.y[1])).buffer(_GRIP)
        foot = _over(context, grip)
        places, push = _corners(foot), FRICTION * clamp.force
    sideways = FRICTION * clamp.force / max(len(places), 1)
    bears = tuple(Bearing(place, sideways, sideways, push / len(places)) for place in places)
    return Holder(clamp.name, columns.cells(foot) & columns.wood, True, bears)


def _corners(region: BaseGeometry) -> list[tuple[float, float]]:
    """The four corners of a rectangle's likeness; none of nothing."""
    if region.is_empty:
        return []
    found = shapely.get_coordinates(shapely.oriented_envelope(region))[:-1]
    return [(float(x), float(y)) for x, y in found[:4]]


def _inside(cells: Mask, by: int) -> Mask:
    """The cells (rows, cols) that have nothing else within so many cells, along and across."""
    out = cells.copy()
    for axis in (0, 1):
        near = np.pad(out, [(by, by) if k == axis else (0, 0) for k in (0, 1)])
        total = np.cumsum(near, axis=axis, dtype=np.int32)
        size = 2 * by + 1
        total = np.insert(total, 0, 0, axis=axis)
        first = [slice(None), slice(None)]
        last = [slice(None), slice(None)]
        first[axis], last[axis] = slice(0, -size), slice(size, None)
        out = (total[tuple(last)] - total[tuple(first)]) == size
    return np.asarray(out)


def within(cells: Mask, by: float, pitch: float) -> Mask:
    """The cells (rows, cols) at least `by` mm inside a region, by squares; less where nothing is so far inside."""
    for part in (1.0, 0.5, 0.2, 0.0):
        inner = _inside(cells, math.ceil(part * by / pitch))
        if inner.any():
            return inner
    return cells
