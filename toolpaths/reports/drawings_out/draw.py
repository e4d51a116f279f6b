"""The exact shapes of a job as a drawing at 1:1, seen from the finished face with the nut on the left.

Shapes come from the demands (what the job asks for) and from the formulas of the trade, never from a program.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
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
from toolpaths.job.neck import Neck
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
    layers: dict[str, list[Mark]] = {}
    layers["stock"] = [_box_outline(_stock(next(iter(contexts.values()))))]
    _instrument(layers, job, mirror, contexts)
    for name, context in contexts.items():
        _cuts(layers, context, target.demands[name], job.units)
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
        case CutKind.tuner_hole | CutKind.bolt_hole | CutKind.counterbore | CutKind.hole:
            return "bores"
        case CutKind.rod_channel | CutKind.adjuster_pocket | CutKind.bar_slot | CutKind.nut_slot | CutKind.fret_slot:
            return "slots"
        case CutKind.pocket | CutKind.ring:
            return "pockets"
        case CutKind.engraving:
            return "engraving"
        case CutKind.step:
            return "steps"
        case (
            CutKind.face | CutKind.top | CutKind.outline | CutKind.waste | CutKind.tab | CutKind.line
            | CutKind.side_dot | CutKind.inlay_piece | CutKind.bed_hole | CutKind.trial
        ):  # fmt: skip
            return None
        case _:
            assert_never(kind)


# The instrument


def _instrument(layers: dict[str, list[Mark]], job: Job, mirror: float, contexts: Mapping[str, SetupContext]) -> None:
    """Outlines, fret lines, nut line and centreline."""
    instrument = job.instrument
    board = OutlineMark(Loop.polygon(corners(instrument)))
    if job.part == "neck" and instrument.neck is not None:
        layers["board outline"] = [_seen(board, mirror)]
        folder = next(iter(contexts.values())).folder
        layers.update(_neck_outlines(instrument, instrument.neck, mirror, folder))
    else:
        layers["finished outline"] = [_seen(board, mirror)]
        if instrument.board.binding > 0:
            layers["cut outline"] = [_seen(OutlineMark(Loop.polygon(corners(unbound(instrument)))), mirror)]
    lines: list[Mark] = []
    words: list[Mark] = layers.setdefault(WORDS, [])
    for n in range(0 if instrument.zero_fret else 1, instrument.frets + 1):
        lines.append(_across(instrument, fret_line(instrument, n), mirror, str(n), words))
    layers["fret lines"] = lines
    layers["nut line"] = [_across(instrument, nut_front(instrument), mirror, "nut", words)]
    x0, _, x1, _ = next(iter(contexts.values())).stock_box
    layers["centreline"] = [Line((x0 - 5, 0.0), (x1 + 5, 0.0))]


def _across(instrument: Instrument, line: FretLine, mirror: float, name: str, words: list[Mark]) -> Line:
    """A line from edge to edge of the board as seen, its name beside its upper end."""
    (x0, y0), (x1, y1) = sorted(((x, mirror * y) for x, y in crossings(instrument, line)), key=lambda p: p[1])
    y = y1 - 3.4
    words.append(TextMark(line.at(mirror * y) - 0.8, y, 2.4, name, "end"))
    return Line((x0, y0), (x1, y1))


def _neck_outlines(instrument: Instrument, neck: Neck, mirror: float, folder: Path) -> dict[str, list[Mark]]:
    """The trimmed neck, and the one that a router leaves where the job keeps a margin to trim.

    `folder`: what the path of a drawn headstock counts from.
    """
    margins = {"finished outline": 0.0, **({"cut outline": neck.margin} if neck.margin > 0 else {})}
    return {
        layer: shape_marks(_turned(neck_part(instrument, margin, folder), mirror)) for layer, margin in margins.items()
    }


# What is cut


def _cuts(layers: dict[str, list[Mark]], context: SetupContext, demands: Iterable[Demand], units: Units) -> None:
    """The demands of one setup on their layers, seen from the face; from the back on layers that say so."""
    side = BACK if context.flipped else ""
    for demand in demands:
        layer = layer_of(demand.kind)
        if layer is None or not demand.must:
            continue
        region = _turned(demand.asked, -1.0 if context.flipped else 1.0)
        marks = layers.setdefault(layer + side, [])
        marks += [m for m in shape_marks(region) if not _stands(m, marks)]
        if demand.kind in ROD_AND_BARS:
            layers.setdefault(WORDS, []).append(_name_in(region, demand.name))


def _centres(layers: dict[str, list[Mark]], units: Units) -> None:
    """A cross in every bore and marker for the awl; beside bores and pins their diameters."""
    crosses: list[Mark] = []
    places: dict[tuple[float, float], list[float]] = {}
    for layer, marks in layers.items():
        plain_name = layer.removesuffix(BACK)
        if plain_name not in ("bores", "pins", "markers"):
            continue
        for m in marks:
            place = _middle(m)
            if place is None:
                continue
            key = (round(place[0], 4), round(place[1], 4))
            if key not in places:
                x, y = place
                crosses += [Line((x - _CROSS, y), (x + _CROSS, y)), Line((x, y - _CROSS), (x, y + _CROSS))]
            sizes = places.setdefault(key, [])
            if plain_name != "markers" and isinstance(m, Circle):
                sizes.append(2 * m.radius)
    layers["centres"] = crosses
    for (x, y), sizes in places.items():
        if sizes:
            text = " / ".join(show(d, units) for d in sorted(set(sizes), reverse=True))
            layers.setdefault(WORDS, []).append(TextMark(x + max(sizes) / 2 + 1.2, y + 1.0, 2.2, text))


def _middle(mark: Mark) -> tuple[float, float] | None:
    """Centre of a bore, lengthened ones too; None of marks that are no bores."""
    if isinstance(mark, Circle):
        return mark.x, mark.y
    if isinstance(mark, OutlineMark):
        points = mark.loop.flattened(0.01)
        x, y = (points.min(axis=0) + points.max(axis=0)) / 2
        return float(x), float(y)
    return None


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


def _stock(context: SetupContext) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1 of the blank seen from the face, mm."""
    x0, y0, x1, y1 = context.stock_box
    return (x0, -y1, x1, -y0) if context.flipped else (x0, y0, x1, y1)


def _box_outline(box: tuple[float, float, float, float]) -> OutlineMark:
    x0, y0, x1, y1 = box
    return OutlineMark(Loop.polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))


def _turned(region: BaseGeometry, mirror: float) -> BaseGeometry:
    return region if mirror > 0 else scale(region, yfact=-1.0, origin=(0, 0))


def _seen(outline: OutlineMark, mirror: float) -> OutlineMark:
    return outline if mirror > 0 else OutlineMark(outline.loop.mirrored())


def _lines(job: Job, from_back: bool) -> tuple[str, ...]:
    """What the drawing says of itself."""
    instrument, units = job.instrument, job.units
    of = "neck" if job.part == "neck" else "fretboard"
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
