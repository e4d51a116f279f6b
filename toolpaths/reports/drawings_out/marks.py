"""What a drawing is made of: marks in mm on named layers, before anyone has chosen a file format.

x to the right, y upward, as the finished face is seen with the nut on the left.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from toolpaths.geometry.loop import Loop, arc_centre

Box = tuple[float, float, float, float]
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line, mm."""

    start: Place
    end: Place


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle, mm."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True, eq=False)
class OutlineMark:
    """A closed outline of straight edges and arcs, mm."""

    loop: Loop


@dataclass(frozen=True, slots=True)
class TextMark:
    """One line of text: the place of its anchor on the base line, height of its capitals, mm."""

    x: float
    y: float
    height: float
    text: str
    anchor: Literal["start", "middle", "end"] = "start"


Mark = Line | Circle | OutlineMark | TextMark


@dataclass(frozen=True, slots=True)
class Style:
    """How a layer looks: colour `#rrggbb`, width of its lines and dashes (stroke, gap, ...) in mm."""

    colour: str
    width: float = 0.2
    dashes: tuple[float, ...] = ()


REFERENCE = "reference"
WORDS = "words"
STYLES: dict[str, Style] = {
    "stock": Style("#8a8f98", 0.18, (4.0, 2.0)),
    "centreline": Style("#5c6670", 0.13, (9.0, 1.5, 1.5, 1.5)),
    "board outline": Style("#7a5a00", 0.18, (3.0, 1.5)),
    "fret lines": Style("#1d2733", 0.13),
    "nut line": Style("#1d2733", 0.3),
    "cut outline": Style("#b3420e", 0.18),
    "finished outline": Style("#000000", 0.25),
    "steps": Style("#4b3b8f", 0.18),
    "slots": Style("#14608c", 0.2),
    "pockets": Style("#2b6e3f", 0.2),
    "markers": Style("#2b6e3f", 0.2),
    "engraving": Style("#8c2f6b", 0.13),
    "bores": Style("#8f1d1d", 0.2),
    "pins": Style("#b3420e", 0.2),
    "centres": Style("#5c6670", 0.13),
    "gauges": Style("#000000", 0.2),
    REFERENCE: Style("#000000", 0.2),
    WORDS: Style("#3a4450", 0.15),
}
"""Every layer, in the order in which they are drawn. Our own names and colours."""
BACK = " from the back"
"""What stands behind a layer's name where its cuts come from the other side."""
_BACK_DASHES = (1.2, 0.8)


@dataclass(frozen=True, slots=True)
class OutputDrawing:
    """Marks by layer, in drawing order; `lines` are what is written below them."""

    layers: Mapping[str, tuple[Mark, ...]]
    lines: tuple[str, ...]

    @property
    def box(self) -> Box:
        """x0, y0, x1, y1 of all marks, mm."""
        return box_of(m for marks in self.layers.values() for m in marks)

    def only(self, names: Collection[str]) -> OutputDrawing:
        """The drawing with those layers alone; the reference lines always stay."""
        return replace(self, layers={k: v for k, v in self.layers.items() if k in names or k == REFERENCE})


def style_of(layer: str) -> Style:
    """A layer's style; what is cut from the back is dashed."""
    if layer.endswith(BACK):
        return replace(STYLES[layer.removesuffix(BACK)], dashes=_BACK_DASHES)
    return STYLES[layer]


def in_order(layers: Mapping[str, Iterable[Mark]]) -> dict[str, tuple[Mark, ...]]:
    """Layers in drawing order, empty ones left out."""
    names = [name + side for name in STYLES for side in ("", BACK)]
    return {name: found for name in names if (found := tuple(layers.get(name, ())))}


def with_reference(drawing: OutputDrawing) -> OutputDrawing:
    """The drawing with its reference lines beside and below it, and its lines of text."""
    x0, y0, _, y1 = drawing.box
    low, left, middle = y0 - _ROOM, x0 - _ROOM, (y0 + y1) / 2
    words = [TextMark(x0, low - 9 - 6 * i, 3.5 if i == 0 else 2.8, text) for i, text in enumerate(drawing.lines)]
    reference = [*reference_line(x0, low), *upright_line(left, middle)]
    layers = {k: [*v] for k, v in drawing.layers.items()}
    layers.setdefault(REFERENCE, []).extend(reference)
    layers.setdefault(WORDS, []).extend(words)
    return replace(drawing, layers=in_order(layers))


_ROOM = 12.0
ALONG, ACROSS = 100.0, 50.0
"""Lengths of the two reference lines, mm."""
_TICK = 2.5


def reference_line(x: float, y: float) -> list[Mark]:
    """A line of exactly 100 mm from x to the right, with ticks and its words above it."""
    ticks: list[Mark] = [Line((at, y - _TICK), (at, y + _TICK)) for at in (x, x + ALONG)]
    words = TextMark(x + 2, y + 1.2, 2.6, f"{ALONG:.0f} mm: measure me before you trust this print")
    return [Line((x, y), (x + ALONG, y)), *ticks, words]


def upright_line(x: float, middle: float) -> list[Mark]:
    """A line of exactly 50 mm across the first, since a printer may scale its two ways differently."""
    low, high = middle - ACROSS / 2, middle + ACROSS / 2
    ticks: list[Mark] = [Line((x - _TICK, at), (x + _TICK, at)) for at in (low, high)]
    return [Line((x, low), (x, high)), *ticks, TextMark(x - 1.5, middle, 2.6, f"{ACROSS:.0f} mm", "end")]


def box_of(marks: Iterable[Mark]) -> Box:
    """x0, y0, x1, y1 around marks, mm; words by a rough width. Raises ValueError where there are none."""
    boxes = np.array([_box(m) for m in marks])
    if not len(boxes):
        raise ValueError("nothing is drawn")
    (x0, y0), (x1, y1) = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _box(mark: Mark) -> Box:
    if isinstance(mark, Circle):
        return mark.x - mark.radius, mark.y - mark.radius, mark.x + mark.radius, mark.y + mark.radius
    if isinstance(mark, Line):
        (ax, ay), (bx, by) = mark.start, mark.end
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)
    if isinstance(mark, OutlineMark):
        points = mark.loop.flattened(0.01)
        return (*points.min(axis=0).tolist(), *points.max(axis=0).tolist())
    # A letter is about 0.85 of its capitals' height wide.
    width = 0.85 * mark.height * len(mark.text)
    x = mark.x - {"start": 0.0, "middle": width / 2, "end": width}[mark.anchor]
    return x, mark.y - 0.3 * mark.height, x + width, mark.y + mark.height


def edges(loop: Loop) -> Iterator[tuple[Place, Place, float]]:
    """(from, to, bulge) of each edge."""
    points = [(float(x), float(y)) for x, y in loop.points]
    for i, bulge in enumerate(loop.bulges):
        yield points[i], points[(i + 1) % len(points)], float(bulge)


def curves(start: Place, end: Place, bulge: float, most: float = math.pi / 8) -> Iterator[tuple[Place, Place, Place]]:
    """An arc as cubic curves (two handles and the end each) that turn at most `most` radians.

    Handles of length 4/3 tan(turn / 4) radii: at 22.5 degrees they stray less than 1e-7 of the radius. Derived.
    """
    cx, cy, radius = arc_centre(np.asarray(start), np.asarray(end), bulge)
    sweep = 4 * math.atan(bulge)
    count = max(1, math.ceil(abs(sweep) / most - 1e-9))
    turn = sweep / count
    handle = 4 / 3 * math.tan(turn / 4) * radius
    angle = math.atan2(start[1] - cy, start[0] - cx)
    for i in range(count):
        a, b = angle + i * turn, angle + (i + 1) * turn
        ax, ay = cx + radius * math.cos(a), cy + radius * math.sin(a)
        bx, by = cx + radius * math.cos(b), cy + radius * math.sin(b)
        yield (
            (ax - handle * math.sin(a), ay + handle * math.cos(a)),
            (bx + handle * math.sin(b), by - handle * math.cos(b)),
            end if i == count - 1 else (bx, by),
        )
