"""A drawing as PDF at 1:1: one page of its own size, or tiled over the pages of a printer.

Tiles overlap, and carry crosses with letters that fall on each other where two pages are laid right.
The file asks viewers not to scale it; the 100 mm line on every page shows whether they obeyed.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from toolpaths.geometry.loop import Loop
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
    _to_mm(canvas, MARGIN - x0, MARGIN - y0)
    for name, marks in drawing.layers.items():
        _draw(canvas, marks, style_of(name))
    canvas.showPage()


# Tiles


Tiles = dict[tuple[int, int], Box]
"""Which window of the drawing a page shows, mm, by its column and row from the top left, from 1."""


def _tiled(canvas: Canvas, drawing: OutputDrawing, paper: tuple[float, float]) -> None:
    labelled = _labelled(drawing)
    (width, height), tiles = _tiles(labelled.box, paper)
    columns, rows = max(tiles)
    layers = [*((style_of(name), marks) for name, marks in labelled.layers.items())]
    layers.append((style_of(REFERENCE), tuple(_crosses(tiles))))
    title = plain(drawing.lines[0], 60) if drawing.lines else ""
    for number, ((column, row), window) in enumerate(tiles.items(), 1):
        canvas.setPageSize((width * _POINTS, height * _POINTS))
        x0, y0, x1, y1 = window
        _to_mm(canvas, MARGIN - x0, MARGIN + FOOT - y0)
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(x0, y0, x1 - x0, y1 - y0)
        canvas.clipPath(path, stroke=0, fill=0)
        for style, marks in layers:
            _draw(canvas, [m for m in marks if _meets(box_of([m]), window)], style)
        canvas.restoreState()
        frame = OutlineMark(Loop.polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))
        _draw(canvas, [frame], Style("#9aa3ad", 0.1))
        _draw(canvas, reference_line(x0, y0 - FOOT + 4.0), style_of(REFERENCE))
        where = f"page {number} of {len(tiles)}: column {column} of {columns}, row {row} of {rows}"
        foot = [title, where, *(["lay letter on letter"] if len(tiles) > 1 else [])]
        words = [TextMark(x1, y0 - FOOT + 9.0 - 3.8 * i, 2.4, text, "end") for i, text in enumerate(foot)]
        _draw(canvas, words, style_of(WORDS))
        canvas.showPage()


def _labelled(drawing: OutputDrawing) -> OutputDrawing:
    """The drawing with its lines of text, without reference lines: each page has its own."""
    whole = with_reference(drawing)
    return OutputDrawing({k: v for k, v in whole.layers.items() if k != REFERENCE}, drawing.lines)


def _tiles(box: Box, paper: tuple[float, float]) -> tuple[tuple[float, float], Tiles]:
    """(page size, tiles) with the paper upright or on its side, whichever takes fewer pages."""
    ways = [(size, _windows(box, size)) for size in (paper[::-1], paper)]
    return min(ways, key=lambda way: len(way[1]))


def _windows(box: Box, size: tuple[float, float]) -> Tiles:
    wide, high = size[0] - 2 * MARGIN, size[1] - 2 * MARGIN - FOOT
    columns, rows = _needed(box[2] - box[0], wide), _needed(box[3] - box[1], high)
    # One page has the drawing in its middle; several begin at its left end, so that its lines of text stay whole.
    left = (box[0] + box[2] - wide) / 2 if columns == 1 else box[0]
    top = (box[1] + box[3] + rows * high - (rows - 1) * OVERLAP) / 2
    out: Tiles = {}
    for row in range(rows):
        for column in range(columns):
            x0, y1 = left + column * (wide - OVERLAP), top - row * (high - OVERLAP)
            out[column + 1, row + 1] = (x0, y1 - high, x0 + wide, y1)
    return out


def _needed(length: float, window: float) -> int:
    return max(1, math.ceil((length - OVERLAP) / (window - OVERLAP) - 1e-9))


def _crosses(tiles: Tiles) -> Iterator[Mark]:
    """Crosses in every overlap, at the same places of the drawing on both pages, lettered."""
    places: list[tuple[float, float]] = []
    for (column, row), (x0, y0, x1, y1) in tiles.items():
        for part in (0.15, 0.85):
            if (column + 1, row) in tiles:
                places.append((x1 - OVERLAP / 2, y0 + part * (y1 - y0)))
            if (column, row + 1) in tiles:
                places.append((x0 + part * (x1 - x0), y0 + OVERLAP / 2))
    for i, (x, y) in enumerate(places):
        yield from (Line((x - _CROSS, y), (x + _CROSS, y)), Line((x, y - _CROSS), (x, y + _CROSS)))
        yield Circle(x, y, _CROSS / 2)
        yield TextMark(x + 0.8, y + 2.6, 2.2, chr(65 + i % 26) * (1 + i // 26))


def _meets(a: Box, b: Box) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


# Marks


def _to_mm(canvas: Canvas, x: float, y: float) -> None:
    """Places on the rest of the page are mm, those of a drawing whose zero lies at x, y from the paper's corner."""
    canvas.scale(_POINTS, _POINTS)
    canvas.translate(x, y)


def _draw(canvas: Canvas, marks: Iterable[Mark], style: Style) -> None:
    """Marks in one style, on a page in mm."""
    canvas.setStrokeColor(style.colour)
    canvas.setFillColor(style.colour)
    canvas.setLineWidth(style.width)
    canvas.setDash(list(style.dashes))
    say = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
    for mark in marks:
        if isinstance(mark, Line):
            canvas.line(*mark.start, *mark.end)
        elif isinstance(mark, TextMark):
            canvas.setFont(_font(), mark.height / _CAPITALS)
            say[mark.anchor](mark.x, mark.y, plain(mark.text))
        else:
            loop = Loop.circle(mark.x, mark.y, mark.radius) if isinstance(mark, Circle) else mark.loop
            _closed(canvas, loop)


def _closed(canvas: Canvas, loop: Loop) -> None:
    path = canvas.beginPath()
    path.moveTo(*loop.points[0].tolist())
    for start, end, bulge in edges(loop):
        if bulge == 0.0:
            path.lineTo(*end)
        else:
            for one, two, there in curves(start, end, bulge):
                path.curveTo(*one, *two, *there)
    path.close()
    canvas.drawPath(path, stroke=1, fill=0)


@cache
def _font() -> str:
    """DejaVu Sans, which the plotting library brings along: it has letters far beyond Latin ones."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    path = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"
    pdfmetrics.registerFont(TTFont("DejaVuSans", str(path)))
    return "DejaVuSans"
