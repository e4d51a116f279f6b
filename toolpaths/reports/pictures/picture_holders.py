"""What holds the blank on a depth picture, each drawn as what it is: on the map to scale, in the key small."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from toolpaths.reports.pictures.holder_keys import Shape, shape_of
from toolpaths.reports.pictures.landmarks import Box
from toolpaths.reports.pictures.picture_pen import ALARM, CLAMP, frame, say
from toolpaths.reports.text.holding import KIND_WORDS, patches_of
from toolpaths.verification.outcome import SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_PALE, _BLOCK = "#dfe7f1d0", "#9fb2c9e0"
_LETTER, _TALL = 11, 60
"""Pixels: width of a letter, and the height from which a thing has room for its kind."""


def holders(axes: Axes, setup: SetupReport, view: Box, columns: int) -> None:
    """All that holds or is in the way, with its kind on it where that has room. `columns`: pixels of the view."""
    x0, y0, x1, y1 = view
    pixel = (x1 - x0) / columns
    boxes: list[tuple[Shape, str, Box]] = [("tape" if n == "tape" else "vacuum", n, b) for n, b in patches_of(setup)]
    boxes += [(shape_of(it.kind), KIND_WORDS[it.kind], it.bounds) for it in setup.obstacles]
    for shape, word, (ax, ay, bx, by) in boxes:
        draw(axes, shape, (ax, ay, bx, by), pixel, _toward((ax, ay, bx, by), setup.context.stock_box))
        left, right, low, high = max(ax, x0), min(bx, x1), max(ay, y0), min(by, y1)
        if shape in ("screw", "pin") or right - left < _LETTER * (len(word) + 1) * pixel or high - low < _TALL * pixel:
            continue
        say(axes, (left + right) / 2, low + 20 * pixel, word, 6, ha="center", boxed=True)


def draw(axes: Axes, shape: Shape, box: Box, pixel: float, toward: str = "right") -> None:
    """One of them over a box. `pixel`: mm; `toward`: the edge of a stop that the blank lies against."""
    _DRAWN[shape](axes, box, pixel)
    if shape == "stop":
        x0, y0, x1, y1 = box
        edge = {
            "left": (x0, y0, x0, y1),
            "right": (x1, y0, x1, y1),
            "top": (x0, y1, x1, y1),
            "bottom": (x0, y0, x1, y0),
        }
        a, b, c, d = edge[toward]
        axes.plot([a, c], [b, d], color=CLAMP, linewidth=2.6, solid_capstyle="butt", zorder=5, clip_on=True)


# Private


def _toward(box: Box, stock: Box) -> str:
    gaps = {
        "right": abs(stock[0] - box[2]),
        "left": abs(box[0] - stock[2]),
        "top": abs(stock[1] - box[3]),
        "bottom": abs(box[1] - stock[3]),
    }
    return min(gaps, key=lambda name: gaps[name])


def _circle(axes: Axes, box: Box, radius: float, colour: str) -> tuple[float, float]:
    from matplotlib.patches import Ellipse

    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    axes.add_patch(Ellipse((x, y), 2 * radius, 2 * radius, facecolor=colour, edgecolor=CLAMP, linewidth=0.9, zorder=4))
    return x, y


def _screw(axes: Axes, box: Box, pixel: float) -> None:
    radius = (box[2] - box[0]) / 2
    x, y = _circle(axes, box, radius, "#ffffffe0")
    slot = 0.6 * radius
    axes.plot([x - slot, x + slot], [y, y], color=CLAMP, linewidth=1.1, zorder=5)
    axes.plot([x, x], [y - slot, y + slot], color=CLAMP, linewidth=1.1, zorder=5)


def _pin(axes: Axes, box: Box, pixel: float) -> None:
    radius = (box[2] - box[0]) / 2
    _circle(axes, box, radius, CLAMP)
    _circle(axes, box, radius / 3, "white")


def _clamp(axes: Axes, box: Box, pixel: float) -> None:
    frame(axes, box, fill=True, facecolor=_PALE, edgecolor=CLAMP, linewidth=1.2, zorder=4)
    _circle(axes, box, min(16 * pixel, (box[2] - box[0]) / 5, (box[3] - box[1]) / 5), "white")


def _stop(axes: Axes, box: Box, pixel: float) -> None:
    frame(axes, box, fill=True, facecolor=_BLOCK, edgecolor=CLAMP, linewidth=1.0, zorder=4)


def _keep_out(axes: Axes, box: Box, pixel: float) -> None:
    frame(axes, box, fill=True, facecolor="#ffffff80", edgecolor=ALARM, hatch="xxx", linewidth=1.0, zorder=4)


def _under(axes: Axes, box: Box, mark: Callable[[], None]) -> None:
    frame(axes, box, edgecolor=CLAMP, linestyle=(0, (5, 3)), linewidth=1.1, zorder=4)
    mark()


def _tape(axes: Axes, box: Box, pixel: float) -> None:
    _under(axes, box, lambda: frame(axes, box, edgecolor=f"{CLAMP}90", hatch="//", linewidth=0, zorder=4))


def _vacuum(axes: Axes, box: Box, pixel: float) -> None:
    step = min(30 * pixel, (box[2] - box[0]) / 3, (box[3] - box[1]) / 2)
    xs, ys = (np.arange(a + step / 2, b, step) for a, b in ((box[0], box[2]), (box[1], box[3])))
    x, y = (v.ravel() for v in np.meshgrid(xs, ys))
    _under(axes, box, lambda: _rings(axes, x, y))


def _rings(axes: Axes, x: np.ndarray, y: np.ndarray) -> None:
    axes.plot(x, y, linestyle="none", marker="o", markersize=2.5, fillstyle="none", color=f"{CLAMP}90", zorder=4)


_DRAWN: dict[Shape, Callable[[Axes, Box, float], None]] = {
    "keep_out": _keep_out,
    "screw": _screw,
    "clamp": _clamp,
    "stop": _stop,
    "pin": _pin,
    "tape": _tape,
    "vacuum": _vacuum,
}
