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
from toolpaths.features.back_rows import HIGHER, LOOKED_AT, around, sections_at, touching
from toolpaths.features.feature import Feature
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.way import followed, spaced, straightened
from toolpaths.instrument.back_surfaces import Faceted, NearBack, part_of_width
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.instrument.headstocks import head_drop
from toolpaths.instrument.necks import half_width_at, neck_end, neck_of, side_corners
from toolpaths.instrument.places import nearest_fret, x_of
from toolpaths.job.bit import Bit
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.place import AlongNeck
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.operation import Operation, SurfaceRows
from toolpaths.target_shape.demand import Demand

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

    leave: Depth = Field(default=1.0, description="Wood that stays on the finished back.")
    scallop: Annotated[Size, Between(0.02, 3.0)] = Field(
        default=0.5, description="Height of the ridges between passes, on top of `leave`."
    )
    down_to: Annotated[Positive, Field(ge=0.05, le=0.95)] = Field(
        default=0.75, description="How far down the flanks it cuts, as a part of the depth on the centreline."
    )
    start: AlongNeck | None = Field(
        default=None, alias="from", description="Where it begins; absent: where the headstock's blend ends."
    )
    to: AlongNeck | None = Field(default=None, description="Where it ends; absent: at the heel.")

    @abstractmethod
    def wanted(self, context: SetupContext) -> NearBack | Faceted:
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
        title = f"back, {show(self.leave, context.machine.units)} above its finished shape, {len(rows)} rows"
        yield SurfaceRows(*self.operation_head(context, title, floor), rows, (), links, self.scallop)

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """What stays on the back."""
        units = context.job.units
        yield Handwork(
            self.name,
            f"The router has left {show(self.leave, units)} of wood on the back of the shaft, and ridges of up to "
            f"{show(self.scallop, units)} on it, higher toward the edges. {self.left()}",
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
            raise FeatureError(
                f"`to` is at {show(x1, context.job.units)} and `from` at {show(x0, context.job.units)}: no row "
                "fits between",
                "give a `to` that is nearer to the bridge",
                "to",
            )
        return x0, x1

    def top_over(self, context: SetupContext, radius: float, x: Array, y: Array) -> Array:
        """The highest wood (K, N) that it leaves within `radius` of places at x (K,), y (K, N), mm above the bed.

        The blank's face at an x that lies beyond its ends.
        """
        bit, parts, (x0, x1) = context.bits[self.bit], self._sides(context), self.span(context)
        tops = np.full(y.shape, -np.inf)
        # What a bit's outermost edge meets beside the part is too thin to count.
        rim = _REACH * radius
        within = (x - radius >= x0) & (x + radius <= x1)
        for at in (x - rim, x, x + rim):
            rows = parts * self._outermost(context, bit, np.clip(at, x0, x1))[:, None]
            tips = touching(self.wanted(context), bit, np.repeat(at, len(parts)), rows.ravel()) + HIGHER
            for aside in (-rim, -rim / 2, 0.0, rim / 2, rim):
                over = bit.height_at(np.abs((y + aside)[:, :, None] - rows[:, None]))
                tops = np.maximum(tops, (over + tips.reshape(rows.shape)[:, None]).min(axis=2))
        return np.where(within[:, None], np.minimum(tops, context.face), context.face)

    def _refuse(self, context: SetupContext, bit: Bit) -> None:
        units = context.job.units
        if context.job.part != "neck" or not context.flipped:
            raise FeatureError("this setup does not show the neck's back", "put it into a setup with `flip: about x`")
        if bit.shape not in SHAPES:
            raise FeatureError(
                f"{self.bit} is a {bit.shape} bit and cannot cut a round back", "name a ball, bull or flat bit", "bit"
            )
        x0, x1 = self.span(context)
        bx0, _, bx1, _ = context.instrument_box
        if x0 < bx0 or x1 > bx1:
            raise FeatureError(
                f"it goes from {show(x0, units)} to {show(x1, units)}, past the blank's end",
                f"the blank reaches from {show(bx0, units)} to {show(bx1, units)}: stay inside that",
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
        # Where the outline bends its corner is nearest.
        for at, half in side_corners(context.job.instrument, neck_of(context.job.instrument).margin):
            beside = np.minimum(np.abs(at - np.asarray(x)), bit.radius)
            corner = half - np.sqrt(bit.radius**2 - beside**2) - _SPARE
            out = np.where(beside < bit.radius, np.minimum(out, corner), out)
        if np.any(out <= 0):
            raise FeatureError(f"{self.bit} is as wide as the neck", "name a narrower bit", "bit")
        return np.asarray(out)

    def _rows(self, context: SetupContext, bit: Bit) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
        """Rows and the links between them, in the order of the operation; x, y, z of the tip, and the wood's top."""
        sides = np.round(self._sides(context), 12)
        # A neck is symmetric: what is found on one side holds for the other.
        parts, number = np.unique(np.abs(sides), return_inverse=True)
        one_side = self._one_side(context, bit, parts)
        mirror = np.array([1.0, -1.0, 1.0, 1.0])
        rows = [one_side[k] * (mirror if part < 0 else 1.0) for part, k in zip(sides, number, strict=True)]
        ends = [(a[-1 if i % 2 == 0 else 0], b[-1 if i % 2 == 0 else 0]) for i, (a, b) in enumerate(pairwise(rows))]
        return tuple(rows), self._links(context, bit, *(np.array([pair[k] for pair in ends]) for k in (0, 1)))

    def _one_side(self, context: SetupContext, bit: Bit, parts: Array) -> list[Array]:
        """The rows at parts (K,) of how far out the bit may go, worked out together: closer where one bends."""
        (x0, x1), surface = self.span(context), self.wanted(context)

        def ways(x: Array) -> Array:
            out = parts[:, None] * self._outermost(context, bit, x)
            tips = touching(surface, bit, np.tile(x, len(parts)), out.ravel())
            return np.concatenate([out, tips.reshape(out.shape)])

        x = followed(ways, np.linspace(x0, x1, max(2, math.ceil((x1 - x0) / _STRAIGHT)) + 1))
        y, z = np.split(ways(x), 2)
        wood = np.full(len(x), context.face)
        return [straightened(np.column_stack([x, a, b + HIGHER, wood])) for a, b in zip(y, z, strict=True)]

    def _links(self, context: SetupContext, bit: Bit, first: Array, last: Array) -> tuple[Array, ...]:
        """The ways from ends of rows (K, 4) to the beginnings of the next ones, as the surface has it between them."""
        surface, way = self.wanted(context), last[:, :2] - first[:, :2]
        longest = float(np.hypot(*way.T).max())

        def tips(along: Array) -> Array:
            places = first[:, None, :2] + way[:, None] * along[:, None] / longest
            flat = places.reshape(-1, 2)
            return touching(surface, bit, flat[:, 0], flat[:, 1]).reshape(len(first), len(along))

        along = followed(tips, np.linspace(0.0, longest, max(2, math.ceil(longest / _LINK)) + 1))
        wood = np.full(len(along), context.face)
        return tuple(
            spaced(straightened(np.column_stack([a[:2] + w * along[:, None] / longest, z + HIGHER, wood])))
            for a, w, z in zip(first, way, tips(along), strict=True)
        )

    def _sides(self, context: SetupContext) -> Array:
        """Where the rows lie, as parts (N,) of how far out the bit may go: as few as leave no more than the scallop.

        Closer towards the edges, where the back is steeper: evenly around a circle. One lies on the centreline.
        """
        (x0, x1), bit = self.span(context), context.bits[self.bit]
        surface, part = self.wanted(context), part_of_width(context.job.instrument, self.down_to)
        xs = np.linspace(x0, x1, _SECTIONS)
        wide, out = part * half_width_at(context.job.instrument, xs), self._outermost(context, bit, xs)
        sections = sections_at(surface, bit, xs, out, wide)
        few, many = 3, _MOST_ROWS
        if max(s.left(around(many)) for s in sections) > self.scallop:
            raise FeatureError(
                f"{self.bit} cannot follow the flanks down to {self.down_to:g} of the depth",
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
    instrument = context.job.instrument
    corners = [x for x, _ in side_corners(instrument, neck_of(instrument).margin) if x0 < x < x1]
    xs = np.unique(np.concatenate([np.linspace(x0, x1, 2 * LOOKED_AT), corners]))
    half = _half(context, xs) - _SPARE if part == 1.0 else part * half_width_at(context.job.instrument, xs)
    return Polygon([*zip(xs, -half, strict=True), *zip(xs[::-1], half[::-1], strict=True)])


def _half(context: SetupContext, x: Array) -> Array:
    """Half width of the part as the outline leaves it, with its margin, at x of any shape, mm."""
    instrument = context.job.instrument
    side = np.array(side_corners(instrument, neck_of(instrument).margin))
    return np.asarray(np.interp(x, side[:, 0], side[:, 1]))
