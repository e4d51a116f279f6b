"""A neck's back near its finished shape: rows along the grain, each as low as the bit may come without cutting in."""

from __future__ import annotations

import math
from abc import abstractmethod
from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated

import numpy as np
from pydantic import Field
from shapely import Polygon

from toolpaths.common.arrays import Array
from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import Positive
from toolpaths.common.units import Between, Depth, Size, show
from toolpaths.features.back_rows import HIGHER, LOOKED_AT, Section, around, followed, straightened, touching
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.back_surfaces import NearBack, part_of_width
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.headstocks import head_drop
from toolpaths.instrument.necks import half_width_at, neck_end, neck_of, side_corners
from toolpaths.instrument.places import nearest_fret, x_of
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Operation, SurfaceRows
from toolpaths.target_shape.demand import Demand, Floor

SHAPES = ("ball", "bull", "flat")
_STRAIGHT = 2.0
"""Between the places along a row where it is straight, mm."""
_MOST_ROWS = 201
_SECTIONS = 7
"""At which rows are tried."""
_LINK = 0.4
"""Between the places of the way to the next row, mm."""
_SPARE = 1e-6
_REACH = 0.95
"""Part of a following bit's radius within which it meets wood that counts."""
_ROUND = 37
"""Places around half of a bit's rim."""


class BackPasses(Feature):
    """The shaft's back in rows along the grain."""

    lies = "anywhere"
    order = "face"
    leaves = "the rough back"

    leave: Depth = Field(default=1.0, description="Wood left on the finished back.")
    scallop: Annotated[Size, Between(0.02, 3.0)] = Field(
        default=0.5, description="Height of the ridges left between passes, beside that."
    )
    down_to: Annotated[Positive, Field(ge=0.05, le=0.95)] = Field(
        default=0.75, description="Part of the depth on the centreline down to which the flanks are followed."
    )
    start: AlongNeck | None = Field(default=None, alias="from", description="Where it begins; the headstock's blend.")
    to: AlongNeck | None = Field(default=None, description="Where it ends; the heel.")

    @abstractmethod
    def wanted(self, context: SetupContext) -> Floor:
        """The surface wanted."""

    @abstractmethod
    def left(self) -> str:
        """What is left to do, as the end of a sentence for the list for the hands."""

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The shaft as far out as `down_to`; beside it and at both ends the bit runs out, no lower than the surface."""
        x0, x1 = self.span(context)
        radius = context.bits[self.bit].radius
        part = part_of_width(context.job.instrument, self.down_to)
        asked = _strip(context, x0, x1, part)
        yield Demand(
            *self.demand_head(context, "rough back"),
            kind=CutKind.rough_back,
            asked=asked,
            floor=self.wanted(context),
            radius=radius,
            run_out=_strip(context, x0 - radius, x1 + radius, 1.0).difference(asked),
            scallop=self.scallop + HIGHER,
            corners=False,
        )

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Rows from one edge to the other, closer where the back is steeper, in layers of their own shape."""
        bit = context.bits[self.bit]
        self._refuse(context, bit)
        rows, links = self._rows(context, bit)
        floor = min(float(row[:, 2].min()) for row in rows)
        title = f"the back, {show(self.leave, context.machine.units)} above the finished one, {len(rows)} rows"
        yield SurfaceRows(*self.operation_head(context, title, floor), rows, (), links, self.scallop)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """What stays on the back."""
        units = context.job.units
        yield Handwork(
            self.name,
            f"The router has left {show(self.leave, units)} of wood on the back of the shaft, ridges of up to "
            f"{show(self.scallop, units)} beside it and more towards the edges: {self.left()}",
        )

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """How thick the shaft is on the centreline."""
        x0, x1 = self.span(context)
        x = x0 + (x1 - x0) / 2
        figure = near.thickness(context, (x, 0.0), self.within_depth)
        return [Measure(f"thickness on the centreline at x {show(x, context.job.units)}", (figure,))]

    def span(self, context: SetupContext) -> tuple[float, float]:
        """x of both ends, mm: as asked for, else the shaft with its blends. Raises FeatureError where that is none."""
        instrument = context.job.instrument
        neck = neck_of(instrument)
        x0 = 0.0 if neck.headstock is None else -neck.headstock.blend
        x1 = neck_end(instrument) if neck.heel is None else neck.heel.start
        x0 = x0 if self.start is None else x_of(self.start, instrument, "from")
        x1 = x1 if self.to is None else x_of(self.to, instrument, "to")
        if x1 - x0 < context.bits[self.bit].cut_diameter:
            raise FeatureError("it ends before it has begun", "`to` lies nearer to the bridge than `from`", "to")
        return x0, x1

    def top_over(self, context: SetupContext, radius: float, x: float, y: Array) -> Array:
        """The highest wood (N,) that it leaves within `radius` of places at x, y (N,), mm above the bed."""
        bit, parts = context.bits[self.bit], self._sides(context)
        tops = []
        # At its very rim it meets a thread of what stands beside the part, which is nothing to cut.
        rim = _REACH * radius
        for at in (x - rim, x, x + rim):
            row = parts * self._outermost(context, bit, np.array([at]))
            tip = touching(self.wanted(context), bit, np.full(len(row), at), row) + HIGHER
            for aside in (-rim, -rim / 2, 0.0, rim / 2, rim):
                over = tip[:, None] + bit.height_at(np.abs(y + aside - row[:, None]))
                tops.append(np.minimum(over.min(axis=0), context.face))
        return np.asarray(np.max(tops, axis=0))

    def _refuse(self, context: SetupContext, bit: Bit) -> None:
        units = context.job.units
        if context.job.part != "neck" or not context.flipped:
            raise FeatureError("the back is cut with the neck on its face", "set it in a setup with `flip: about x`")
        if bit.shape not in SHAPES:
            raise FeatureError(
                f"a bit of shape {bit.shape} does not follow a back", "name a ball, bull or flat bit", "bit"
            )
        x0, x1 = self.span(context)
        bx0, _, bx1, _ = context.instrument_box
        if x0 < bx0 or x1 > bx1:
            raise FeatureError(
                "it reaches past the blank's end", f"the blank lies from {show(bx0, units)} to {show(bx1, units)}",
                "from" if x0 < bx0 else "to",
            )  # fmt: skip
        xs = np.linspace(x0, x1, LOOKED_AT)
        deepest = context.face - float(self.wanted(context).height(xs, self._outermost(context, bit, xs)).min())
        if deepest > bit.cutting_length:
            raise FeatureError(
                f"its flanks come down by {show(deepest, units)}, and the cutting edges of {self.bit} are "
                f"{show(bit.cutting_length, units)} long",
                "take a bit with longer edges, or plane the blank thinner",
                "bit",
            )

    def _outermost(self, context: SetupContext, bit: Bit, x: Array) -> Array:
        """How far off the centreline the bit's middle may go at x (N,), mm: nothing beside the part is touched."""
        turn = np.linspace(0.0, math.pi, _ROUND)
        rim = _half(context, np.asarray(x)[:, None] + bit.radius * np.cos(turn))
        out = (rim - bit.radius * np.sin(turn)).min(axis=1) - _SPARE
        if np.any(out <= 0):
            raise FeatureError(f"{self.bit} is as wide as the neck", "name a narrower bit", "bit")
        return np.asarray(out)

    def _rows(self, context: SetupContext, bit: Bit) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
        """Rows and the links between them, in the order of the operation; x, y, z of the tip, and the wood's top."""
        sides = np.round(self._sides(context), 12)
        # A neck is symmetric: what is found on one side holds for the other.
        one_side = {part: self._row(context, bit, part) for part in np.unique(np.abs(sides))}
        rows = [one_side[abs(part)] * [1.0, -1.0 if part < 0 else 1.0, 1.0, 1.0] for part in sides]
        links = []
        for i, (a, b) in enumerate(pairwise(rows)):
            end = -1 if i % 2 == 0 else 0
            links.append(self._link(context, bit, a[end, :2], b[end, :2]))
        return tuple(rows), tuple(links)

    def _link(self, context: SetupContext, bit: Bit, a: Array, b: Array) -> Array:
        """The way from the end of one row to the beginning of the next."""
        surface = self.wanted(context)

        def tip(part: Array) -> Array:
            return touching(surface, bit, a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part)[None]

        part = followed(tip, np.linspace(0.0, 1.0, max(2, math.ceil(abs(b[1] - a[1]) / _LINK) + 1)))
        place = a + (b - a) * part[:, None]
        return np.column_stack([place, tip(part)[0] + HIGHER, np.full(len(part), context.face)])

    def _row(self, context: SetupContext, bit: Bit, part: float) -> Array:
        """The row at a part of how far out the bit may go: its places lie closer where it bends."""
        x0, x1 = self.span(context)
        surface = self.wanted(context)

        def way(x: Array) -> Array:
            out = part * self._outermost(context, bit, x)
            return np.stack([out, touching(surface, bit, x, out)])

        x = followed(way, np.linspace(x0, x1, max(2, math.ceil((x1 - x0) / _STRAIGHT)) + 1))
        y, z = way(x)
        return straightened(np.column_stack([x, y, z + HIGHER, np.full(len(x), context.face)]))

    def _sides(self, context: SetupContext) -> Array:
        """Where the rows lie, as parts (N,) of how far out the bit may go: as few as leave no more than the scallop.

        Closer towards the edges, where the back is steeper: evenly around a circle. One lies on the centreline.
        """
        (x0, x1), bit = self.span(context), context.bits[self.bit]
        surface, part = self.wanted(context), part_of_width(context.job.instrument, self.down_to)
        xs = np.linspace(x0, x1, _SECTIONS)
        wide, out = part * half_width_at(context.job.instrument, xs), self._outermost(context, bit, xs)
        sections = [Section(surface, bit, *at) for at in zip(xs, out, wide, strict=True)]
        few, many = 3, _MOST_ROWS
        if max(s.left(around(many)) for s in sections) > self.scallop:
            raise FeatureError(
                f"with {self.bit} the flanks cannot be followed down to {self.down_to:g} of the depth",
                "name a narrower or a rounder bit, or a greater `down_to` or `scallop`",
                "down_to",
            )
        while many - few > 2:
            middle = (few + many) // 4 * 2 + 1
            if max(s.left(around(middle)) for s in sections) > self.scallop:
                few = middle
            else:
                many = middle
        return around(few if max(s.left(around(few)) for s in sections) <= self.scallop else many)


def near_back(context: SetupContext, leave: float) -> NearBack:
    """The finished back of a setup's job with so much wood on it, mm."""
    return NearBack(context.job.instrument, head_drop(context.job), leave)


def at_fret(context: SetupContext, x: float) -> str:
    """A place along the neck in words: its x and the nearest fret."""
    return f"x {show(x, context.job.units)} ({nearest_fret(context.job.instrument, x)})"


# Private


def _strip(context: SetupContext, x0: float, x1: float, part: float) -> Polygon:
    """The shaft from x0 to x1 as far out as a part of its half width, mm; all of it with its margin."""
    xs = np.unique(np.concatenate([np.linspace(x0, x1, 2 * LOOKED_AT)]))
    half = _half(context, xs) - _SPARE if part == 1.0 else part * half_width_at(context.job.instrument, xs)
    return Polygon([*zip(xs, -half, strict=True), *zip(xs[::-1], half[::-1], strict=True)])


def _half(context: SetupContext, x: Array) -> Array:
    """Half width of the part as the outline leaves it, with its margin, at x of any shape, mm."""
    instrument = context.job.instrument
    side = np.array(side_corners(instrument, neck_of(instrument).margin))
    return np.asarray(np.interp(x, side[:, 0], side[:, 1]))
