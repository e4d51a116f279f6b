"""A drawing as PDF at 1:1: one page of its own size, or tiled over the pages of a printer.

Tiles overlap, and carry crosses with letters that fall on each other where two pages are laid right.
The file asks viewers not to scale it; the 100 mm line on every page shows whether they obeyed.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from toolpaths.reports.drawings_out.marks import (
    REFERENCE,
    WORDS,
    Box,
    Circle,
    Line,
    Mark,
    OutlineMark,
    OutputDrawing,
    Style,
    TextMark,
    box_of,
    curves,
    edges,
    reference_line,
    style_of,
    with_reference,
)
from toolpaths.reports.text.words import plain

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

PAPERS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "tabloid": (279.4, 431.8),
}
"""Sheets that `--paper` knows, mm upright. A sizes: ISO 216; the others: ANSI/ASME Y14.1 and common practice."""
OVERLAP = 10.0
"""What neighbouring pages both show, mm."""
MARGIN = 10.0
"""Kept free on every page, since few printers reach the paper's edge, mm."""
FOOT = 16.0
"""Height of the strip for reference line and page number, mm."""
_POINTS = 72 / 25.4
_CAPITALS = 0.729
"""Height of capitals as part of the font's size, DejaVu Sans."""
_CROSS = 4.0


def pdf(drawing: OutputDrawing, paper: str | None = None) -> bytes:
    """A PDF file; `paper` one of PAPERS, or None for one page as large as the drawing. Same drawing, same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    file = io.BytesIO()
    canvas = Canvas(file, invariant=1, initialFontName=_font())
    canvas.setTitle(plain(drawing.lines[0]) if drawing.lines else "neckpath")
    canvas.setCreator("neckpath")
    canvas.setViewerPreference("PrintScaling", "None")
    if paper is None:
        _one_page(canvas, with_reference(drawing))
    else:
        _tiled(canvas, drawing, PAPERS[paper])
    canvas.save()
    return file.getvalue()


def page_count(drawing: OutputDrawing, paper: str) -> int:
    """How many pages of that paper the drawing takes."""
    return len(_tiles(_labelled(drawing).box, PAPERS[paper])[1])


def _one_page(canvas: Canvas, drawing: OutputDrawing) -> None:
    x0, y0, x1, y1 = drawing.box
    canvas.setPageSize(((x1 - x0 + 2 * MARGIN) * _POINTS, (y1 - y0 + 2 * MARGIN) * _POINTS))
    _Pen(canvas, MARGIN - x0, MARGIN - y0).draw(drawing)
    canvas.showPage()


# Tiles


@dataclass(frozen=True, slots=True)
class Tile:
    """One page: which window of the drawing it shows, mm, and its column and row from the top left, from 1."""

    window: Box
    column: int
    row: int


def _tiled(canvas: Canvas, drawing: OutputDrawing, paper: tuple[float, float]) -> None:
    labelled = _labelled(drawing)
    (width, height), tiles = _tiles(labelled.box, paper)
    columns, rows = max(t.column for t in tiles), max(t.row for t in tiles)
    crosses = _crosses(tiles)
    for number, tile in enumerate(tiles, 1):
        canvas.setPageSize((width * _POINTS, height * _POINTS))
        x0, y0, x1, _ = tile.window
        pen = _Pen(canvas, MARGIN - x0, MARGIN + FOOT - y0)
        canvas.saveState()
        pen.clip(tile.window)
        pen.draw(labelled, tile.window)
        seen = [m for m in crosses if _meets(box_of([m]), tile.window)]
        pen.marks(seen, style_of(REFERENCE))
        canvas.restoreState()
        pen.marks(_frame(tile.window), Style("#9aa3ad", 0.1))
        foot = _Pen(canvas, MARGIN, MARGIN)
        foot.marks(reference_line(0.0, 4.0), style_of(REFERENCE))
        where = f"page {number} of {len(tiles)}: column {tile.column} of {columns}, row {tile.row} of {rows}"
        words = [TextMark(x1 - x0, 9.0, 2.4, plain(drawing.lines[0], 60) if drawing.lines else "", "end")]
        words += [TextMark(x1 - x0, 5.2, 2.4, where, "end"), TextMark(x1 - x0, 1.4, 2.4, "lay letter on letter", "end")]
        foot.marks(words if len(tiles) > 1 else words[:2], style_of(WORDS))
        canvas.showPage()


def _labelled(drawing: OutputDrawing) -> OutputDrawing:
    """The drawing with its lines of text, without reference lines: each page has its own."""
    whole = with_reference(drawing)
    return OutputDrawing({k: v for k, v in whole.layers.items() if k != REFERENCE}, drawing.lines)


def _tiles(box: Box, paper: tuple[float, float]) -> tuple[tuple[float, float], list[Tile]]:
    """(page size, tiles) with the paper upright or on its side, whichever takes fewer pages."""
    ways = [(size, _windows(box, size)) for size in (paper[::-1], paper)]
    return min(ways, key=lambda way: len(way[1]))


def _windows(box: Box, size: tuple[float, float]) -> list[Tile]:
    wide, high = size[0] - 2 * MARGIN, size[1] - 2 * MARGIN - FOOT
    columns, rows = _needed(box[2] - box[0], wide), _needed(box[3] - box[1], high)
    # One page has the drawing in its middle; several begin at its left end, so that its lines of text stay whole.
    left = (box[0] + box[2] - wide) / 2 if columns == 1 else box[0]
    top = (box[1] + box[3] + rows * high - (rows - 1) * OVERLAP) / 2
    out: list[Tile] = []
    for row in range(rows):
        for column in range(columns):
            x0, y1 = left + column * (wide - OVERLAP), top - row * (high - OVERLAP)
            out.append(Tile((x0, y1 - high, x0 + wide, y1), column + 1, row + 1))
    return out


def _needed(length: float, window: float) -> int:
    return max(1, math.ceil((length - OVERLAP) / (window - OVERLAP) - 1e-9))


def _crosses(tiles: list[Tile]) -> list[Mark]:
    """Crosses in every overlap, at the same places of the drawing on both pages, lettered."""
    places: dict[tuple[float, float], None] = {}
    for tile in tiles:
        x0, y0, x1, y1 = tile.window
        right, below = (tile.column + 1, tile.row), (tile.column, tile.row + 1)
        known = {(t.column, t.row) for t in tiles}
        if right in known:
            for part in (0.15, 0.85):
                places[(round(x1 - OVERLAP / 2, 6), round(y0 + part * (y1 - y0), 6))] = None
        if below in known:
            for part in (0.15, 0.85):
                places[(round(x0 + part * (x1 - x0), 6), round(y0 + OVERLAP / 2, 6))] = None
    out: list[Mark] = []
    for i, (x, y) in enumerate(places):
        out += [Line((x - _CROSS, y), (x + _CROSS, y)), Line((x, y - _CROSS), (x, y + _CROSS))]
        out += [Circle(x, y, _CROSS / 2), TextMark(x + 0.8, y + 2.6, 2.2, _letter(i))]
    return out


def _letter(i: int) -> str:
    return chr(65 + i % 26) * (1 + i // 26)


def _frame(window: Box) -> list[Mark]:
    x0, y0, x1, y1 = window
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return [Line(corners[i], corners[(i + 1) % 4]) for i in range(4)]


def _meets(a: Box, b: Box) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


# Pen


class _Pen:
    """Draws marks on a canvas, moved by dx, dy mm."""

    def __init__(self, canvas: Canvas, dx: float, dy: float) -> None:
        self.canvas, self.dx, self.dy = canvas, dx, dy

    def draw(self, drawing: OutputDrawing, window: Box | None = None) -> None:
        """Every layer in its style; with a window, only marks that reach into it."""
        for name, marks in drawing.layers.items():
            self.marks([m for m in marks if window is None or _meets(box_of([m]), window)], style_of(name))

    def marks(self, marks: Iterable[Mark], style: Style) -> None:
        """Marks in one style."""
        self.canvas.setStrokeColor(style.colour)
        self.canvas.setFillColor(style.colour)
        self.canvas.setLineWidth(style.width * _POINTS)
        self.canvas.setDash([d * _POINTS for d in style.dashes])
        for mark in marks:
            self._mark(mark)

    def clip(self, window: Box) -> None:
        """Nothing shows beyond the window until the canvas is restored."""
        x0, y0, x1, y1 = window
        path = self.canvas.beginPath()
        path.rect(*self._at(x0, y0), (x1 - x0) * _POINTS, (y1 - y0) * _POINTS)
        self.canvas.clipPath(path, stroke=0, fill=0)

    def _mark(self, mark: Mark) -> None:
        if isinstance(mark, Line):
            self.canvas.line(*self._at(*mark.start), *self._at(*mark.end))
        elif isinstance(mark, TextMark):
            self.canvas.setFont(_font(), mark.height / _CAPITALS * _POINTS)
            say = {
                "start": self.canvas.drawString,
                "middle": self.canvas.drawCentredString,
                "end": self.canvas.drawRightString,
            }[mark.anchor]
            say(*self._at(mark.x, mark.y), plain(mark.text))
        else:
            self._closed(mark)

    def _closed(self, mark: Circle | OutlineMark) -> None:
        from toolpaths.geometry.loop import Loop

        loop = Loop.circle(mark.x, mark.y, mark.radius) if isinstance(mark, Circle) else mark.loop
        path = self.canvas.beginPath()
        path.moveTo(*self._at(*loop.points[0].tolist()))
        for start, end, bulge in edges(loop):
            if bulge == 0.0:
                path.lineTo(*self._at(*end))
            else:
                for one, two, there in curves(start, end, bulge):
                    path.curveTo(*self._at(*one), *self._at(*two), *self._at(*there))
        path.close()
        self.canvas.drawPath(path, stroke=1, fill=0)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        return (x + self.dx) * _POINTS, (y + self.dy) * _POINTS


@cache
def _font() -> str:
    """DejaVu Sans, which the plotting library brings along: it has letters far beyond Latin ones."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    path = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"
    pdfmetrics.registerFont(TTFont("DejaVuSans", str(path)))
    return "DejaVuSans"
