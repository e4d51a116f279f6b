"""Lines and curves of an SVG drawing, as polylines in mm with y turned up.

Read as a stream: entities and outside references are refused, scripts and styles are passed over, nothing is opened.
Shapes, transforms and units follow SVG 2 (chapters 8 to 10); 96 pixels are an inch there.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any
from xml.sax import SAXException
from xml.sax.handler import ContentHandler, feature_external_ges

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import DrawingError
from toolpaths.geometry.drawings_in.polyline import MOST_POINTS, Polyline, bezier, joined, straight, swing
from toolpaths.geometry.drawings_in.svg_path import Bent, Piece, Swung, arc_between, pieces_of
from toolpaths.geometry.drawings_in.svg_values import MM, length_of, matrix_of, page_length

MOST_ENTITIES = 20_000
"""Shapes, and pieces of paths, that one drawing may hold."""
_DEEPEST = 100
"""Groups within groups."""
_SHAPES = ("path", "circle", "ellipse", "rect", "line", "polyline", "polygon")
_PASSED_OVER = (
    "defs", "clipPath", "mask", "marker", "pattern", "symbol", "linearGradient", "radialGradient", "filter",
    "title", "desc", "metadata", "style", "script", "namedview",
)  # fmt: skip
_NOT_LINES = {
    "text": "turn the text into paths first",
    "image": "trace the picture into paths first",
    "use": "turn the copy into a path of its own",
    "svg": "take the inner drawing out, or make it a group",
    "foreignObject": "take it out",
}
_FLIP = np.array([[1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]])


def read_svg(data: bytes, layer: str | None, error: float) -> tuple[list[Polyline], list[str]]:
    """(trails, notes) of the shapes of a drawing, or of the group with that id; mm, y up, curves within `error` mm.

    Raises DrawingError for what cannot be read or followed, naming the shape by id or line.
    """
    from defusedxml import DefusedXmlException
    from defusedxml.sax import make_parser

    reader = _Reader(layer, error)
    parser = make_parser()
    parser.setContentHandler(reader)
    # A document type that names its DTD is common and harmless: nothing outside is opened, and no entity declared.
    parser.forbid_external = False
    parser.setFeature(feature_external_ges, False)
    try:
        parser.parse(io.BytesIO(data))
    except DefusedXmlException:
        raise DrawingError("it declares entities or refers to something outside", "save it as a plain SVG") from None
    except (SAXException, ValueError, LookupError) as fault:
        line = getattr(fault, "getLineNumber", lambda: None)()
        where = f" (line {line})" if line else ""
        raise DrawingError(f"it cannot be read as an SVG file{where}", "save it as a plain SVG") from None
    if not reader.begun:
        raise DrawingError("this is not an SVG drawing", "its outermost element must be svg")
    if layer is not None and layer not in reader.groups:
        groups = ", ".join(sorted(reader.groups))[:200] or "none has an id"
        raise DrawingError(f"it has no group with the id `{layer[:60]}`", f"its groups: {groups}")
    return reader.trails, reader.notes


# Private


@dataclass(frozen=True, slots=True)
class _Level:
    """State at one nesting level: matrix to mm (3, 3), whether inside the chosen layer, whether skipped."""

    matrix: Array
    inside: bool
    skipped: bool
    group: str


class _Reader(ContentHandler):
    """Follows the stream with a stack of levels."""

    def __init__(self, layer: str | None, error: float) -> None:
        super().__init__()
        self.layer, self.error = layer, error
        self.trails: list[Polyline] = []
        self.notes: list[str] = []
        self.groups: set[str] = set()
        self.stack: list[_Level] = []
        self.begun = False
        self.count = self.points = 0
        self.locator: Any = None

    def setDocumentLocator(self, locator: Any) -> None:
        """Keep the parser's locator, which knows the current line."""
        self.locator = locator

    def startElement(self, name: str, attrs: Any) -> None:
        """One element begins."""
        tag = name.rpartition(":")[2]
        if len(self.stack) >= _DEEPEST:
            raise DrawingError(f"its groups are nested deeper than {_DEEPEST}", "ungroup some of them")
        if not self.stack:
            if tag != "svg":
                raise DrawingError("this is not an SVG drawing", "its outermost element must be svg")
            self.begun = True
            self.stack.append(_Level(_FLIP @ self._page(attrs), self.layer is None, False, ""))
            return
        above = self.stack[-1]
        own = attrs.get("id", "")[:60]
        label = self._label(tag, own, above.group)
        hidden = attrs.get("display") == "none" or re.search(r"display\s*:\s*none", attrs.get("style", ""))
        if above.skipped or hidden or tag in _PASSED_OVER:
            self.stack.append(_Level(above.matrix, above.inside, True, above.group))
            return
        inside, group = above.inside, above.group
        if tag == "g" and own:
            self.groups.add(own)
            group = own
            inside = inside or own == self.layer
        try:
            matrix = above.matrix
            if inside:
                if re.search(r"(?<![-\w])transform\s*:", attrs.get("style", "")):
                    raise ValueError("a transform in a style cannot be read")
                matrix = above.matrix @ matrix_of(attrs.get("transform", ""))
                if tag in _SHAPES:
                    self._shape(tag, attrs, matrix, label)
                elif tag in _NOT_LINES:
                    raise DrawingError(f"{label} is not a line or curve that can be followed", _NOT_LINES[tag])
        except (ValueError, OverflowError, FloatingPointError) as fault:
            raise DrawingError(f"{label}: {fault}", "draw it again, or save as a plain SVG") from None
        self.stack.append(_Level(matrix, inside, False, group))

    def endElement(self, name: str) -> None:
        """One element ends."""
        self.stack.pop()

    def _label(self, tag: str, own: str, group: str) -> str:
        line = self.locator.getLineNumber() if self.locator is not None else None
        name = f"{tag} {own}" if own else f"{tag} on line {line}"
        return name + (f" in group {group}" if group else "")

    def _page(self, attrs: Any) -> Array:
        """From the drawing's units to mm, y still down; the point 0, 0 stays where it is."""
        width, height = page_length(attrs.get("width")), page_length(attrs.get("height"))
        box = re.split(r"[\s,]+", attrs.get("viewBox", "").strip())
        try:
            view = [float(v) for v in box] if box != [""] else []
        except ValueError:
            view = [math.nan]
        if view and not (len(view) == 4 and all(map(math.isfinite, view)) and view[2] > 0 and view[3] > 0):
            raise DrawingError("its viewBox is not four numbers with a width and a height above 0", "save it again")
        if view and (width is not None or height is not None):
            x = width / view[2] if width is not None else None
            y = height / view[3] if height is not None else None
            x, y = x or y or 1.0, y or x or 1.0
            fit = attrs.get("preserveAspectRatio", "")
            if "none" not in fit:
                x = y = max(x, y) if "slice" in fit else min(x, y)
        else:
            x = y = MM[""]
            if width is None and height is None:
                self.notes.append("names no size; 96 of its units are taken as an inch")
        return np.diag([x, y, 1.0])

    def _shape(self, tag: str, attrs: Any, matrix: Array, label: str) -> None:
        for path in _pieces(tag, attrs):
            self.count += len(path)
            if self.count > MOST_ENTITIES:
                raise DrawingError(f"it has more than {MOST_ENTITIES} shapes and pieces of paths", "simplify it")
            made = []
            for piece in path:
                made.append(_made(piece, matrix, self.error, label))
                self.points += len(made[-1].points) - 1
                if self.points > MOST_POINTS:
                    raise DrawingError(f"it has more than {MOST_POINTS} points", "simplify its curves")
            self.trails.append(joined(_ends_meet(made), label))


def _made(piece: Piece, matrix: Array, error: float, label: str) -> Polyline:
    linear, shift = matrix[:2, :2], matrix[:2, 2]
    if isinstance(piece, Bent):
        moved = piece.control @ linear.T + shift
        return straight(moved, label) if len(moved) == 2 else bezier(moved, error, label)
    centre = linear @ piece.centre + shift
    made = swing(centre, linear @ piece.u, linear @ piece.v, piece.start, piece.sweep, error, label)
    points = made.points.copy()
    points[0], points[-1] = linear @ piece.begin + shift, linear @ piece.end + shift
    return Polyline(points, made.bulges, label)


def _ends_meet(trails: list[Polyline]) -> list[Polyline]:
    """Each begins exactly where the one before ends: both come from the same point."""
    for before, after in pairwise(trails):
        after.points[0] = before.points[-1]
    return trails


def _pieces(tag: str, attrs: Any) -> list[list[Piece]]:
    """The pieces of one shape. Raises ValueError, in words."""

    def number(name: str) -> float:
        return length_of(attrs.get(name, "0"), name)

    if tag == "path":
        d = attrs.get("d", "")
        return [] if d.strip() in ("", "none") else pieces_of(d, MOST_ENTITIES)
    if tag in ("circle", "ellipse"):
        rx = number("r" if tag == "circle" else "rx")
        ry = rx if tag == "circle" else number("ry")
        if not (rx > 0 and ry > 0):
            raise ValueError("it has no radius")
        centre = np.array([number("cx"), number("cy")])
        start = centre - np.array([rx, 0.0])
        u, v = np.array([rx, 0.0]), np.array([0.0, ry])
        return [[Swung(centre, u, v, math.pi, 2 * math.pi, start, start)]]
    if tag == "rect":
        return [_rect(attrs, number)]
    if tag == "line":
        ends = [[number("x1"), number("y1")], [number("x2"), number("y2")]]
        return [_edges(ends)]
    given = [v for v in re.split(r"[\s,]+", attrs.get("points", "").strip()) if v]
    if len(given) > 2 * MOST_ENTITIES or any(len(v) > 40 for v in given):
        raise ValueError("it has too many points")
    values = [float(v) for v in given]
    if len(values) < 4 or len(values) % 2:
        raise ValueError("its points are not two or more pairs of numbers")
    points = [values[i : i + 2] for i in range(0, len(values), 2)]
    if tag == "polygon" and points[0] != points[-1]:
        points.append(points[0])
    return [_edges(points)]


def _edges(points: Sequence[Sequence[float]]) -> list[Piece]:
    array = np.asarray(points, dtype=np.float64)
    return [Bent(array[i : i + 2]) for i in range(len(array) - 1)]


def _rect(attrs: Any, number: Any) -> list[Piece]:
    x, y, w, h = (number(k) for k in ("x", "y", "width", "height"))
    if not (w > 0 and h > 0):
        raise ValueError("it has no width or no height")
    given = [attrs.get(k) if attrs.get(k) != "auto" else None for k in ("rx", "ry")]
    rx = number("rx") if given[0] is not None else number("ry") if given[1] is not None else 0.0
    ry = number("ry") if given[1] is not None else rx
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    if not (rx > 0 and ry > 0):
        return _edges([[x, y], [x + w, y], [x + w, y + h], [x, y + h], [x, y]])
    corners = [
        ([x + rx, y], [x + w - rx, y]),
        ([x + w, y + ry], [x + w, y + h - ry]),
        ([x + w - rx, y + h], [x + rx, y + h]),
        ([x, y + h - ry], [x, y + ry]),
    ]
    out: list[Piece] = []
    for i, (a, b) in enumerate(corners):
        a1, b1, c1 = (np.asarray(p, dtype=np.float64) for p in (a, b, corners[(i + 1) % 4][0]))
        out += [Bent(np.stack([a1, b1])), arc_between(b1, c1, rx, ry, 0.0, False, True)]
    return out
