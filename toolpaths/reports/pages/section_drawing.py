"""Sections across the finished neck with the cuts in it, the least wall marked: at the worst place and at frets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from toolpaths.common.arrays import Array, Mask
from toolpaths.common.units import Units, show
from toolpaths.instrument.cross_sections import board_section, neck_section
from toolpaths.instrument.fans import fret_x
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.reports.pages.template import part
from toolpaths.verification.outcome import Outcome, SetupReport
from toolpaths.verification.wall_demands import WalledCut, Walls, holders, neck_as_cut, walled_cuts

FRETS = (1, 5, 9, 12)
_NECK, _BOARD, _CUT = "#f3ead9", "#8a7358", "#ffffff"
_TOUCH = 0.02


@dataclass(frozen=True, slots=True)
class CutSection:
    """One section: `neck`, `board`, `cuts` in y and z up from the glue face, mm.

    `wall`: (from, to) of the least wall in this section and what it leaves less the carver's tolerance; None: no cut.
    """

    title: str
    x: float
    neck: Array
    board: Array
    cuts: BaseGeometry
    wall: tuple[tuple[float, float], tuple[float, float], float] | None
    left_handed: bool = False


def section_drawings(outcome: Outcome) -> str:
    """A heading and one inline SVG a section, for the pages; empty unless the job makes a neck."""
    sections = neck_sections(outcome)
    if not sections:
        return ""
    units, neck = outcome.job.units, outcome.job.instrument.neck
    carver = show(neck.wall.carver if neck is not None else 0.0, units)
    return part("pages/sections.html", carver=carver, drawings=[section_drawing(s, units) for s in sections])


def neck_sections(outcome: Outcome) -> list[CutSection]:
    """The section at the thinnest wall first, then at frets 1, 5, 9 and 12."""
    outcome = replace(outcome, setups=tuple(s for s in outcome.setups if not s.context.apart))
    instrument = outcome.job.instrument
    if outcome.job.part != "neck" or instrument.neck is None or not outcome.setups:
        return []
    neck = neck_as_cut(outcome.setups[0].context)
    places = [(f"fret {n}", fret_x(instrument, n)) for n in FRETS if n <= instrument.frets]
    found = [_section(outcome, neck, title, x) for title, x in places if neck.low < x < neck.high]
    thinnest = [_section(outcome, neck, "at the thinnest wall", x) for x in _thin_places(outcome, neck)]
    walled = [s for s in thinnest if s.wall is not None]
    return [*([min(walled, key=lambda s: s.wall[2] if s.wall else math.inf)] if walled else []), *found]


def section_drawing(section: CutSection, units: Units) -> str:
    """One section as an inline SVG, drawn in mm; text escaped."""
    cuts = [np.array(piece.exterior.coords) for piece in _polygons(section.cuts)]
    outlines = [(section.neck, _NECK), (section.board, _BOARD), *((cut, _CUT) for cut in cuts)]
    ends = np.concatenate([section.neck, section.board]) if len(section.board) else section.neck
    (y0, z0), (y1, z1) = ends.min(axis=0).tolist(), ends.max(axis=0).tolist()
    wall = None
    if section.wall is not None:
        a, b, left = section.wall
        words = f"wall {show(left, units, 1 if units == 'mm' else 2)}" if left > 0 else "no wall left"
        aside = 0.75 * max(abs(y0), abs(y1)) * (1.0 if b[0] >= 0 else -1.0)
        wall = {"a": a, "b": b, "aside": aside, "words": words}
    return part(
        "pages/section.html",
        said=f"{section.title}, x {show(section.x, units)}",
        outlines=[(points.tolist(), fill) for points, fill in outlines if len(points)],
        wall=wall,
        sides=("treble", "bass") if section.left_handed else ("bass", "treble"),
        y0=y0,
        z0=z0,
        y1=y1,
        z1=z1,
    )


# Private


def _thin_places(outcome: Outcome, neck: FinishedNeck) -> list[float]:
    """x where the thinnest wall may be: where findings say so, and where what was asked for comes nearest."""
    told = [f.x for f in outcome.findings if f.code == "wall-too-thin" and f.x is not None]
    least, place = math.inf, math.nan
    for setup in outcome.setups:
        if setup.context.flipped:
            continue
        for cut in walled_cuts(setup.context, setup.demands, neck):
            if cut.walls is not Walls.around:
                continue
            points = _edge(setup, cut, neck)
            if len(points):
                wall = neck.in_section(points)
                if wall.min() < least:
                    least, place = float(wall.min()), float(points[int(wall.argmin()), 0])
    return [x for x in (*told, place) if neck.low < x < neck.high]


def _edge(setup: SetupReport, cut: WalledCut, neck: FinishedNeck) -> Array:
    """(N, 3: x, y, depth) along the floor's edge of a cut, every mm or so, where it lies over the neck."""
    x, y = shapely.get_coordinates(cut.demand.asked.segmentize(1.0)).T
    depth = setup.context.glue - cut.demand.floor.height(x, y)
    points = np.stack([x, y, depth], axis=1)
    return np.asarray(points[neck.over(x, y)])


def _section(outcome: Outcome, neck: FinishedNeck, title: str, x: float) -> CutSection:
    instrument = outcome.job.instrument
    across = neck.plan.intersection(LineString([(x, -500.0), (x, 500.0)]))
    _, y0, _, y1 = across.bounds
    wood = neck_section(instrument, x, neck.drop, (float(y0), float(y1)) if neck.drawn is not None else None)
    # Where the blank is thinner than the finished neck, its own underside is the back.
    wood[:, 1] = np.maximum(wood[:, 1], -neck.wood)
    solid = Polygon(wood).buffer(0)
    cuts, judged = [], []
    last = {s.context.flipped: s for s in outcome.setups}
    for setup in last.values():
        every, walled = _cut_here(outcome, setup, neck, x)
        cuts += [p.intersection(solid) for p in every]
        judged += walled
    both = shapely.union_all(cuts) if cuts else Polygon()
    board, wall = board_section(instrument, x), _wall(neck, wood, judged)
    return CutSection(title, x, wood, board, both, wall, outcome.job.handed == "left")


def _cut_here(
    outcome: Outcome, setup: SetupReport, neck: FinishedNeck, x: float
) -> tuple[list[Polygon], list[Polygon]]:
    """What one side's programs took away in the section, and those parts of it that must leave a wall."""
    context, after = setup.context, setup.after
    col = round((x - after.x0) / after.pitch)
    if not 0 <= col < after.heights.shape[1]:
        return [], []
    heights = after.heights[:, col].astype(np.float64)
    y = after.ys
    surface = context.top if context.flipped else context.glue
    cut = heights < surface - _TOUCH
    same_side = [s for s in outcome.setups if s.context.flipped == context.flipped]
    demands = [d for s in same_side for d in s.demands]
    walls = [c.walls for s in same_side for c in walled_cuts(s.context, s.demands, neck)]
    held = holders(np.stack([np.full(len(y), x), y], axis=1), heights, demands, 0.05)
    must = np.array([i >= 0 and walls[i] is Walls.around for i in held]) & cut
    if context.flipped:
        # The bed is the glue face: a floor that high lies as deep below it; seen from the face y changes its sign.
        y, heights, cut = -y[::-1], heights[::-1], cut[::-1]
        return _runs(y, -heights, cut, -surface, after.pitch), []
    z = heights - context.glue
    return _runs(y, z, cut, 0.0, after.pitch), _runs(y, z, must, 0.0, after.pitch)


def _runs(y: Array, z: Array, which: Mask, surface: float, pitch: float) -> list[Polygon]:
    """A polygon for each run of neighbouring cells, from the surface to their heights."""
    edges = np.diff(np.concatenate([[0], which.astype(np.int8), [0]]))
    out = []
    for a, b in zip(np.nonzero(edges == 1)[0], np.nonzero(edges == -1)[0], strict=True):
        left, right = y[a] - pitch / 2, y[b - 1] + pitch / 2
        floor = zip([left, *y[a:b], right], [z[a], *z[a:b], z[b - 1]], strict=True)
        out.append(Polygon([(left, surface), *floor, (right, surface)]).buffer(0))
    return out


def _wall(
    neck: FinishedNeck, wood: Array, judged: Sequence[Polygon]
) -> tuple[tuple[float, float], tuple[float, float], float] | None:
    """The shortest way in the section from what must leave a wall to the back or a side."""
    cuts = shapely.union_all(judged) if judged else Polygon()
    if cuts.is_empty:
        return None

    def carved(z: float) -> float:
        return 0.0 if z < 1e-9 - neck.wood else neck.neck.wall.carver

    back, solid = LineString(wood), Polygon(wood).buffer(1e-6)
    outside = cuts.difference(solid)
    if outside.area > 1e-3:
        points = np.asarray(shapely.points(shapely.get_coordinates(outside)))
        inner, outer = nearest_points(back, points[int(np.argmax(shapely.distance(points, back)))])
        return (outer.x, outer.y), (inner.x, inner.y), -outer.distance(inner) - carved(inner.y)
    a, b = nearest_points(cuts, back)
    return (a.x, a.y), (b.x, b.y), a.distance(b) - carved(b.y)


def _polygons(region: BaseGeometry) -> list[Polygon]:
    return [p for p in shapely.get_parts(region) if isinstance(p, Polygon) and p.area > 1e-3]
