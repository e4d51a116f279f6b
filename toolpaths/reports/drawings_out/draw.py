"""The exact shapes of a job as a drawing at 1:1, seen from the finished face with the nut on the left.

Shapes come from the demands (what the job asks for) and from the formulas of the trade, never from a program.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import assert_never

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from toolpaths.common.units import Units, show
from toolpaths.geometry.arc_fit import arcs_in
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.boards import corners, crossings, unbound
from toolpaths.instrument.drawn_headstock import neck_part
from toolpaths.instrument.fans import FretLine, fret_line, nut_front
from toolpaths.job.cut_kind import ROD_AND_BARS, CutKind
from toolpaths.job.job import Instrument, Job
from toolpaths.job.setup_context import SetupContext
from toolpaths.reports.drawings_out.marks import (
    BACK,
    WORDS,
    Circle,
    Line,
    Mark,
    OutlineMark,
    OutputDrawing,
    TextMark,
    box_of,
    in_order,
)
from toolpaths.reports.text.words import plain, scale_words
from toolpaths.target_shape.demand import Demand, Target

_ARC = 3e-4
"""Chords of the demands stray at most 2e-4 mm from their arcs: arcs are found again within this, mm."""
_ROUND = 1e-6
"""Vertices of a disc lie on its circle within this, mm."""
_CROSS = 2.5


def drawing_of(job: Job, contexts: Mapping[str, SetupContext], target: Target) -> OutputDrawing:
    """Every shape of a job on its layer, mm. `contexts` and `target` as the job was laid out."""
    mirror = -1.0 if job.handed == "left" else 1.0
    contexts = {name: context for name, context in contexts.items() if not context.apart}
    first = next(iter(contexts.values()))
    stock = _turned(shapely.box(*first.stock_box), -1.0 if first.flipped else 1.0)
    layers: dict[str, list[Mark]] = defaultdict(list, stock=[_outline(stock)])
    _instrument(layers, job, mirror, first)
    for name, context in contexts.items():
        _cuts(layers, context, target.demands[name])
    _centres(layers, job.units)
    from_back = any(name.endswith(BACK) and marks for name, marks in layers.items())
    return OutputDrawing(in_order(layers), _lines(job, from_back))


def shape_marks(region: BaseGeometry) -> list[Mark]:
    """Each ring of a region (mm): a circle where it is a disc's, else an outline with its arcs found again."""
    out: list[Mark] = []
    for part in shapely.get_parts(region):
        if not isinstance(part, Polygon) or part.is_empty:
            continue
        for ring in (part.exterior, *part.interiors):
            points = np.asarray(orient(Polygon(ring)).exterior.coords)[:-1, :2]
            out.append(_disc(points) or OutlineMark(arcs_in(points, _ARC)))
    return out


def layer_of(kind: CutKind) -> str | None:
    """The layer of a kind of cut; None for those that are drawn by what they leave: outline, fret lines, surfaces."""
    match kind:
        case CutKind.marker:
            return "markers"
        case CutKind.pin_hole:
            return "pins"
        case (
            CutKind.tuner_hole | CutKind.bolt_hole | CutKind.counterbore | CutKind.hole
            | CutKind.jig_pin | CutKind.pilot_hole | CutKind.stop_pin
        ):  # fmt: skip
            return "bores"
        case CutKind.rod_channel | CutKind.adjuster_pocket | CutKind.bar_slot | CutKind.nut_slot | CutKind.fret_slot:
            return "slots"
        case CutKind.pocket | CutKind.ring | CutKind.seat:
            return "pockets"
        case CutKind.engraving:
            return "engraving"
        case CutKind.step | CutKind.head_back | CutKind.heel_seat:
            return "steps"
        case (
            CutKind.face | CutKind.top | CutKind.outline | CutKind.waste | CutKind.tab | CutKind.line
            | CutKind.line_in_waste | CutKind.depth_kerf | CutKind.rough_back | CutKind.side_dot
            | CutKind.inlay_piece | CutKind.bed_hole | CutKind.screw_hole | CutKind.trial
        ):  # fmt: skip
            return None
        case _:
            assert_never(kind)


# The instrument


def _instrument(layers: dict[str, list[Mark]], job: Job, mirror: float, context: SetupContext) -> None:
    """Outlines, fret lines, nut line and centreline. A job may keep a margin or room for binding beside the finish.

    Of a jig the last two alone: board and neck only lie on it.
    """
    instrument, words = job.instrument, layers[WORDS]
    layers["nut line"] = [_across(instrument, nut_front(instrument), mirror, "nut", words)]
    x0, _, x1, _ = context.stock_box
    layers["centreline"] = [Line((x0 - 5, 0.0), (x1 + 5, 0.0))]
    if job.part == "jig":
        return
    board = _outline(_turned(Polygon(corners(instrument)), mirror))
    if job.part == "neck" and instrument.neck is not None:
        layers["board outline"] = [board]
        margins = {"finished outline": 0.0, "cut outline": instrument.neck.margin}
        for layer, margin in margins.items():
            if margin > 0 or layer == "finished outline":
                layers[layer] = shape_marks(_turned(neck_part(instrument, margin, context.folder), mirror))
    else:
        layers["finished outline"] = [board]
        if instrument.board.binding > 0:
            layers["cut outline"] = [_outline(_turned(Polygon(corners(unbound(instrument))), mirror))]
    for n in range(0 if instrument.zero_fret else 1, instrument.frets + 1):
        layers["fret lines"].append(_across(instrument, fret_line(instrument, n), mirror, str(n), words))


def _across(instrument: Instrument, line: FretLine, mirror: float, name: str, words: list[Mark]) -> Line:
    """A line from edge to edge of the board as seen, its name beside its upper end."""
    (x0, y0), (x1, y1) = sorted(((x, mirror * y) for x, y in crossings(instrument, line)), key=lambda p: p[1])
    y = y1 - 3.4
    words.append(TextMark(line.at(mirror * y) - 0.8, y, 2.4, name, "end"))
    return Line((x0, y0), (x1, y1))


# What is cut


def _cuts(layers: dict[str, list[Mark]], context: SetupContext, demands: Iterable[Demand]) -> None:
    """The demands of one setup on their layers, seen from the face; from the back on layers that say so."""
    side = BACK if context.flipped else ""
    for demand in demands:
        layer = layer_of(demand.kind)
        if layer is None or not demand.must:
            continue
        region = _turned(demand.asked, -1.0 if context.flipped else 1.0)
        marks = layers[layer + side]
        marks += [m for m in shape_marks(region) if not _stands(m, marks)]
        if demand.kind in ROD_AND_BARS:
            layers[WORDS].append(_name_in(region, demand.name))


def _centres(layers: dict[str, list[Mark]], units: Units) -> None:
    """A cross in every bore and marker for the awl; beside bores and pins their diameters."""
    crosses: list[Mark] = []
    places: dict[tuple[float, float], list[float]] = {}
    for layer, marks in layers.items():
        plain_name = layer.removesuffix(BACK)
        if plain_name not in ("bores", "pins", "markers"):
            continue
        for m in marks:
            if not isinstance(m, Circle | OutlineMark):
                continue
            x0, y0, x1, y1 = box_of([m])
            x, y = (x0 + x1) / 2, (y0 + y1) / 2
            key = (round(x, 4), round(y, 4))
            if key not in places:
                crosses += [Line((x - _CROSS, y), (x + _CROSS, y)), Line((x, y - _CROSS), (x, y + _CROSS))]
            sizes = places.setdefault(key, [])
            if plain_name != "markers" and isinstance(m, Circle):
                sizes.append(2 * m.radius)
    layers["centres"] = crosses
    for (x, y), sizes in places.items():
        if sizes:
            text = " / ".join(show(d, units) for d in sorted(set(sizes), reverse=True))
            layers[WORDS].append(TextMark(x + max(sizes) / 2 + 1.2, y + 1.0, 2.2, text))


def _name_in(region: BaseGeometry, name: str) -> TextMark:
    """A slot's name inside it, clear of the centreline, no higher than the slot leaves room for."""
    x0, y0, x1, y1 = region.bounds
    low = 0.5 if y0 < 0 < y1 else y0
    height = min(2.2, 0.6 * (y1 - low))
    # A third along, clear of the middle where bores are more likely.
    return TextMark(x0 + (x1 - x0) / 3, (low + y1 - height) / 2, height, plain(name, 60), "middle")


# Pieces


def _disc(points: np.ndarray) -> Circle | None:
    """The circle that all vertices (N, 2) lie on, where they go all around it in small steps."""
    if len(points) < 12:
        return None
    middle = points.mean(axis=0)
    away = points - middle
    # Least squares: |p|^2 = 2 p.c + k holds for every point of one circle.
    rows = np.column_stack([2 * away, np.ones(len(away))])
    (cx, cy, k), *_ = np.linalg.lstsq(rows, (away**2).sum(axis=1), rcond=None)
    radius = math.sqrt(max(k + cx * cx + cy * cy, 0.0))
    off = np.abs(np.hypot(away[:, 0] - cx, away[:, 1] - cy) - radius)
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    if radius == 0 or off.max() > _ROUND or steps.max() > 0.6 * radius:
        return None
    return Circle(_even(middle[0] + cx), _even(middle[1] + cy), _even(radius))


def _even(value: float) -> float:
    """Without the noise of the fit: to a millionth of a mm."""
    return round(float(value), 6) + 0.0


def _stands(mark: Mark, marks: Sequence[Mark]) -> bool:
    """Whether a circle is drawn already: bores may be asked for by several features."""
    return isinstance(mark, Circle) and any(
        isinstance(m, Circle) and math.dist((m.x, m.y, m.radius), (mark.x, mark.y, mark.radius)) < 1e-4 for m in marks
    )


def _turned(region: BaseGeometry, mirror: float) -> BaseGeometry:
    return region if mirror > 0 else scale(region, yfact=-1.0, origin=(0, 0))


def _outline(region: BaseGeometry) -> OutlineMark:
    """Straight edges between the corners of a region without holes, counter-clockwise."""
    points = shapely.get_coordinates(orient(Polygon(shapely.get_coordinates(region))))[:-1]
    return OutlineMark(Loop(points, np.zeros(len(points))))


def _lines(job: Job, from_back: bool) -> tuple[str, ...]:
    """The lines of text in the drawing."""
    instrument, units = job.instrument, job.units
    of = {"board": "fretboard", "neck": "neck", "jig": "jig"}[job.part]
    up = "left-handed: the bass side is up" if job.handed == "left" else "the treble side is up"
    out = [
        plain(job.title, 100),
        f"{of}, scale {scale_words(instrument, units)}, {instrument.frets} frets; 1:1",
        f"seen from the finished face, nut on the left; {up}",
        "wood moves and paper stretches: check against the wood before you cut",
    ]
    if from_back:
        out.append("short dashes: cut from the back")
    return tuple(out)
