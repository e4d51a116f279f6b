"""A drawing as SVG at 1:1: size in mm, user units of one mm, one group a layer."""

from __future__ import annotations

import numpy as np

from toolpaths.geometry.loop import Loop, arc_centre
from toolpaths.reports.drawings_out.marks import Circle, Line, Mark, OutlineMark, OutputDrawing, Style, edges, style_of
from toolpaths.reports.text.words import escaped

BORDER = 10.0
"""Around the marks, mm."""
_CAPITALS = 0.72
"""Height of capitals as part of the font's size, for the common sans-serif fonts. From memory."""


def svg(drawing: OutputDrawing) -> bytes:
    """An SVG file. y runs downward in it, so that every y is written with the other sign; no transforms."""
    x0, y0, x1, y1 = drawing.box
    width, height = x1 - x0 + 2 * BORDER, y1 - y0 + 2 * BORDER
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="{_n(x0 - BORDER)} {_n(-y1 - BORDER)} {_n(width)} {_n(height)}">\n'
    )
    title = f"<title>{escaped(drawing.lines[0])}</title>\n" if drawing.lines else ""
    groups = "".join(_group(name, marks) for name, marks in drawing.layers.items())
    return f"{head}{title}{groups}</svg>\n".encode()


def layer_id(name: str) -> str:
    """A layer's name as an XML id."""
    return name.replace(" ", "-")


def _group(name: str, marks: tuple[Mark, ...]) -> str:
    style = style_of(name)
    dashes = f' stroke-dasharray="{" ".join(_n(d) for d in style.dashes)}"' if style.dashes else ""
    head = (
        f'<g id="{escaped(layer_id(name))}" fill="none" stroke="{style.colour}" '
        f'stroke-width="{_n(style.width)}"{dashes}>\n<title>{escaped(name)}</title>\n'
    )
    return head + "".join(f"{_element(mark, style)}\n" for mark in marks) + "</g>\n"


def _element(mark: Mark, style: Style) -> str:
    if isinstance(mark, Line):
        (ax, ay), (bx, by) = mark.start, mark.end
        return f'<line x1="{_n(ax)}" y1="{_n(-ay)}" x2="{_n(bx)}" y2="{_n(-by)}"/>'
    if isinstance(mark, Circle):
        return f'<circle cx="{_n(mark.x)}" cy="{_n(-mark.y)}" r="{_n(mark.radius)}"/>'
    if isinstance(mark, OutlineMark):
        return f'<path d="{_path(mark.loop)}"/>'
    return (
        f'<text x="{_n(mark.x)}" y="{_n(-mark.y)}" font-family="sans-serif" font-size="{_n(mark.height / _CAPITALS)}" '
        f'text-anchor="{mark.anchor}" fill="{style.colour}" stroke="none">{escaped(mark.text)}</text>'
    )


def _path(loop: Loop) -> str:
    """Straight edges as L, arcs as A: counter-clockwise is sweep 0 where y runs downward."""
    x, y = loop.points[0]
    out = [f"M{_n(x)} {_n(-y)}"]
    for start, (bx, by), bulge in edges(loop):
        if bulge == 0.0:
            out.append(f"L{_n(bx)} {_n(-by)}")
        else:
            radius = arc_centre(np.asarray(start), np.array([bx, by]), bulge)[2]
            large, sweep = int(abs(bulge) > 1.0), int(bulge < 0)
            out.append(f"A{_n(radius)} {_n(radius)} 0 {large} {sweep} {_n(bx)} {_n(-by)}")
    return "".join(out) + "Z"


def _n(value: float) -> str:
    """A number to a millionth of a mm, without needless zeros."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
