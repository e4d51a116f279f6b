"""`outline`: the part cut free around its outside, held by tabs where asked. Always last in its setup."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from pydantic import Field
from shapely import LineString, Polygon
from shapely.geometry.polygon import orient

from toolpaths.common.errors import FeatureError
from toolpaths.common.input_model import InputModel
from toolpaths.common.units import Size, Units, show, size
from toolpaths.features.feature import Feature
from toolpaths.features.fret_strips import across
from toolpaths.features.surfaces import Surfaces
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.boards import corners
from toolpaths.instrument.drawn_headstock import neck_part
from toolpaths.instrument.fans import nut_front
from toolpaths.instrument.handwork.handwork import Figure, Handwork, Measure
from toolpaths.instrument.necks import neck_of, side_corners
from toolpaths.job.cut_kind import CutKind
from toolpaths.job.setup_context import SetupContext
from toolpaths.job.stage import Stage
from toolpaths.operations.bit_choice import must_be_flat
from toolpaths.operations.operation import Contour, Operation, Tab
from toolpaths.target_shape.demand import Demand, Level

FROM_CORNER = 20.0
"""Tabs keep this far from corners, mm."""
WIDE_KERF = 1.4
"""Kerf in bit diameters where the cut is deeper than two of them. Common practice, no source."""
FREE_STRIP = 1.0
"""Strip beyond the kerf in which cutting is allowed, never asked for, mm."""
ROOM = 2.0
"""Between two tabs the bit has this much more than its own width, mm."""
_SEGS = 64
_WIDE, _IN = 1e3, 0.1
"""More than any part is wide; how far inside its ends a width is measured, mm."""

Edge = tuple[tuple[float, float], tuple[float, float]]


class Tabs(InputModel):
    """Wood left standing between part and waste."""

    count: int = Field(ge=1, le=40, description="How many tabs.")
    length: Size = Field(description="Length of the wood at the top of a tab.")
    height: Size = Field(description="Height of a tab, from the blank's underside up.")


class Outline(Feature):
    """Cut the part out of the blank."""

    key = "outline"
    cuts = frozenset({CutKind.outline, CutKind.waste, CutKind.tab})
    stage = Stage.off_router
    lies = "anywhere"
    order = "free"

    depth: Size | None = Field(default=None, description="Depth below the finished face; through to the bed if absent.")
    tabs: Tabs | None = Field(
        default=None, description="Small bridges of wood that hold the part: `{count: 4, length: 8, height: 1.5}`."
    )
    sawn: Size | None = Field(
        default=None,
        description="Wood that stays outside the line where you sawed the blank roughly before; a deep cut then "
        "needs no wide kerf.",
    )

    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """A band of the kerf's width around the part, down to the bed or the depth, with the tabs standing in it."""
        bit = context.bits[self.bit]
        part = _part(context)
        kerf = self._kerf(context)
        around = part.buffer(kerf, quad_segs=_SEGS)
        band = around.difference(part)
        strip = part.buffer(kerf + FREE_STRIP, quad_segs=_SEGS).difference(around)
        floor, through = self._floor(context)
        tabs = self._tabs(context)
        cores = [_across(tab, tab.length / 2, kerf) for tab in tabs]
        # A shoulder reaches the bit's radius and the tolerance further.
        reach = bit.radius + context.tolerance
        shoulders = [_across(tab, tab.length / 2 + reach, kerf) for tab in tabs]
        cut = Demand(
            *self.demand_head(context, "outline"),
            kind=CutKind.outline,
            asked=band.difference(shapely.union_all(cores)),
            floor=Level(floor),
            radius=bit.radius,
            reach=context.breakthrough if through else 0.0,
            relaxed=shapely.union_all(shoulders) if shoulders else None,
            corners=False,
        )
        yield cut
        # The waste's edge need not be exact: beside the kerf cutting is allowed, never asked for.
        name = "waste beside the outline"
        yield replace(cut, kind=CutKind.waste, name=name, asked=strip, must=False, relaxed=None)
        for i, (core, shoulder) in enumerate(zip(cores, shoulders, strict=True), 1):
            height = Level(self.tabs.height if self.tabs else 0.0)
            tab = Demand(
                *self.demand_head(context, f"tab {i}"),
                asked=core,
                floor=height,
                radius=0.0,
                corners=False,
                kind=CutKind.tab,
            )
            yield tab
            yield replace(tab, asked=shoulder, may=False)

    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """Around the outside in passes with ramped entries, tabs left standing, then the wall skimmed."""
        bit, units = context.bits[self.bit], context.job.units
        must_be_flat(self.bit, bit, "the edge would not be square", context.job.units)
        floor, through = self._floor(context)
        if self.tabs is not None and not floor < self.tabs.height < context.face:
            raise FeatureError(
                f"a tab {show(self.tabs.height, units)} high does not fit into this cut",
                f"give a `height` between {show(max(floor, 0.0), units)} and {show(context.face, units)}",
                "tabs",
            )
        if context.job.part == "neck":
            loop = Loop.polygon([(x, y) for x, y in orient(_part(context)).exterior.coords[:-1]])
        else:
            loop = Loop.polygon(corners(context.job.instrument))
        yield Contour(
            *self.operation_head(
                context,
                "cut the outline" + (" free" if through else "") + self._for_binding(context, context.machine.units),
                -context.breakthrough if through else floor,
                slot=True,
            ),
            loop=loop,
            kerf=self._kerf(context),
            tabs=tuple(self._tabs(context)),
        )

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """Sawing before the setup, cutting the tabs after it."""
        units = context.job.units
        if self.sawn is not None:
            words = (
                f"Before setup {context.setup.name}: saw the blank out, {show(self.sawn, units)} outside the outline."
            )
            yield Handwork(self.name, words, when="before the setup")
        if self.tabs is not None:
            tabs, high = self._tabs_left(context, near)
            words = (
                f"Saw through the {self.tabs.count} tabs. Each is {show(self.tabs.length, units)} long and {high} "
                "high. "
                "Plane the edge flush."
            )
            yield Handwork(self.name, words, figures=tabs)
        if self._for_binding(context, units):
            words = (
                f"Glue binding {show(context.job.instrument.board.binding, units)} thick along both long edges once "
                "the slots are sawn. Scrape it flush. Later, cut the frets' tangs back at both ends, so that the wire "
                "lies over the binding."
            )
            yield Handwork(self.name, words, stage=Stage.edges)

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """The part's width at its ends, and how deep its outline is where it does not go through."""
        part = _part(context)
        # Where both edges are straight on: between the corners at the nut and those at the other end.
        xs = sorted(x for x, _ in corners(context.job.instrument))
        ends = (("the nut", max(xs[:2]) + _IN), ("the fretboard's end", min(xs[2:]) - _IN))
        out: list[Measure] = []
        for where, x in ends:
            y0, y1 = part.intersection(LineString([(x, -_WIDE), (x, _WIDE)])).bounds[1::2]
            wide = Figure("standing", y1 - y0, context.setup.name, (x, 0.0), (0.0, 1.0), within=self.within)
            out.append(Measure(f"at {where}", (wide,), of="width of the part"))
        if self.depth is None:
            return out
        demand, kerf = near.own(context, self)[0], self._kerf(context)
        for x in np.linspace(ends[0][1], ends[1][1], 9)[1:-1].tolist():
            y = part.intersection(LineString([(x, 0.0), (x, _WIDE)])).bounds[3] + kerf / 2
            deep = near.depth(context, demand, (x, y), (0.0, 1.0), self.within_depth)
            if deep is not None and abs(near.top(context, (x, y))[0] - context.at_depth(self.depth)) < 1e-6:
                return [*out, Measure(f"depth from {deep.surface}", (deep,), of="the cut beside the shaft")]
        return out

    def _tabs_left(self, context: SetupContext, near: Surfaces) -> tuple[tuple[Figure, ...], str]:
        """Each tab's length and the wood that is left of it, and how high that is in words."""
        tabs, radius, name = self._tabs(context), context.bits[self.bit].radius, context.setup.name
        figures: list[Figure] = []
        for tab in tabs:
            side = math.copysign(1.0, tab.at[1]) * radius  # where the bit's middle went
            (x, y), (ux, uy) = tab.at, tab.along
            at = (x - uy * side, context.mirror * (y + ux * side))
            figures.append(near.thickness(context, at))
            figures.append(Figure("standing", tab.length, name, at, (ux, context.mirror * uy)))
        heights = [f.value for f in figures if f.kind == "thickness"]
        least, most = (show(mm, context.job.units) for mm in (min(heights), max(heights)))
        return tuple(figures), least if least == most else f"{least} to {most}"

    def _for_binding(self, context: SetupContext, units: Units) -> str:
        board = context.job.instrument.board
        if context.job.part != "board" or board.binding == 0.0:
            return ""
        return f", {show(board.binding, units)} inside the finished edge for its binding"

    def _floor(self, context: SetupContext) -> tuple[float, bool]:
        if self.depth is None:
            return 0.0, True
        if self.depth >= context.face:
            raise FeatureError("the depth reaches the bed", "leave `depth` out to cut through", "depth")
        return context.at_depth(self.depth), False

    def _kerf(self, context: SetupContext) -> float:
        """Width of the band, mm: the bit and the finish allowance, wider where the cut is deep."""
        bit = context.bits[self.bit]
        cutting = self.settled(context, slot=True)
        floor, _ = self._floor(context)
        plain = bit.cut_diameter + cutting.finish_allowance
        deep = context.face - floor > 2 * bit.cut_diameter and self.sawn is None
        return max(plain, WIDE_KERF * bit.cut_diameter) if deep else plain

    def _tabs(self, context: SetupContext) -> list[Tab]:
        """Tabs by arc length along the straight long edges, the bass side first where the number is odd."""
        if self.tabs is None:
            return []
        out: list[Tab] = []
        for side, count in ((-1.0, (self.tabs.count + 1) // 2), (1.0, self.tabs.count // 2)):
            edges = _long_edges(context, side)
            for edge, number in zip(edges, self._shares(edges, count, context), strict=True):
                out += self._along(edge, number)
        return out

    def _shares(self, edges: list[Edge], count: int, context: SetupContext) -> list[int]:
        """How many of a side's tabs stand on each of its edges: always the next where they have the most room."""
        assert self.tabs is not None
        if count and not edges:
            problem = (
                f"tabs must be {size(FROM_CORNER, context.job.units)} away from corners, and one side has no "
                "straight edge "
                "twice as long"
            )
            raise FeatureError(problem, "leave `tabs` out, and hold the part another way or cut less deep", "tabs")
        room = [math.dist(a, b) - 2 * FROM_CORNER - self.tabs.length for a, b in edges]
        shares = [0] * len(edges)
        for _ in range(count):
            i = max(range(len(edges)), key=lambda k: room[k] / (shares[k] + 1))
            shares[i] += 1
        least = self.tabs.length + context.bits[self.bit].cut_diameter + ROOM
        for free, share in zip(room, shares, strict=True):
            if share and (free < 0 or (share > 1 and free / share < least)):
                raise FeatureError("the long edges have no room for these tabs", "give fewer or shorter tabs", "tabs")
        return shares

    def _along(self, edge: Edge, count: int) -> list[Tab]:
        assert self.tabs is not None
        (ax, ay), (bx, by) = edge
        length = math.dist(*edge)
        ux, uy = (bx - ax) / length, (by - ay) / length
        free = length - 2 * FROM_CORNER - self.tabs.length
        out: list[Tab] = []
        for i in range(count):
            s = FROM_CORNER + self.tabs.length / 2 + free * (i + 0.5) / count
            out.append(Tab((ax + s * ux, ay + s * uy), (ux, uy), self.tabs.length, self.tabs.height))
        return out


def _part(context: SetupContext) -> Polygon:
    """The neck with its margin, or the board's four corners from the formula.

    There the nut line is moved to the nut's front, the last fret past itself.
    """
    instrument = context.job.instrument
    if context.job.part == "neck":
        return neck_part(instrument, neck_of(instrument).margin, context.folder)
    near = across(instrument, 0).moved(nut_front(instrument).x)
    far = across(instrument, instrument.frets).moved(instrument.board.overhang)
    return Polygon([near.ends[0], far.ends[0], far.ends[1], near.ends[1]])


def _long_edges(context: SetupContext, sign: float) -> list[Edge]:
    """Straight edges of the treble side (sign 1) or the bass side (-1) on which tabs may stand, from the nut on."""
    instrument = context.job.instrument
    if context.job.part == "board":
        near_bass, far_bass, far_treble, near_treble = corners(instrument)
        return [(near_treble, far_treble) if sign > 0 else (near_bass, far_bass)]
    side = [(x, sign * y) for x, y in side_corners(instrument, neck_of(instrument).margin)]
    edges = list(pairwise(side))
    return [(a, b) for a, b in edges if math.dist(a, b) > 2 * FROM_CORNER]


def _across(tab: Tab, half: float, width: float) -> Polygon:
    """A rectangle from the finished edge outwards, `half` to each side of the tab's middle."""
    (x, y), (ux, uy) = tab.at, tab.along
    side = math.copysign(1.0, y)
    nx, ny = -uy * side, ux * side
    a, b = (x - half * ux, y - half * uy), (x + half * ux, y + half * uy)
    return Polygon([a, b, (b[0] + width * nx, b[1] + width * ny), (a[0] + width * nx, a[1] + width * ny)])
