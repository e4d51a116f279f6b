"""A drawing as SVG at 1:1: size in mm, user units of one mm, one group a layer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolpaths.geometry.loop import Loop, arc_centre
from toolpaths.reports.drawings_out.marks import OutputDrawing, edges, style_of
from toolpaths.reports.pages.template import page, raw

if TYPE_CHECKING:
    from markupsafe import Markup

BORDER = 10.0
"""Around the marks, mm."""
_CAPITALS = 0.72
"""Height of capitals as part of the font's size, for the common sans-serif fonts. From memory."""


def svg(drawing: OutputDrawing) -> bytes:
    """An SVG file. y runs downward in it, so that every y is written with the other sign; no transforms."""
    x0, y0, x1, y1 = drawing.box
    styles = {name: style_of(name) for name in drawing.layers}
    text = page(
        "drawings_out/drawing.svg",
        left=x0 - BORDER,
        top=y1 + BORDER,
        width=x1 - x0 + 2 * BORDER,
        height=y1 - y0 + 2 * BORDER,
        title=drawing.lines[0] if drawing.lines else "",
        layers=[
            (name, styles[name], " ".join(_n(d) for d in styles[name].dashes), marks)
            for name, marks in drawing.layers.items()
        ],
        capitals=_CAPITALS,
        number=_n,
        path=_path,
    )
    return f"{text}\n".encode()


def _path(loop: Loop) -> Markup:
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
    return raw("".join(out) + "Z")


def _n(value: float) -> str:
    """A number to a millionth of a mm, without needless zeros."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
