"""Text and ticks of the depth picture: sizes and colours; text is never read as formulas."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolpaths.common.units import MM_PER_INCH, Units

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, FAINT, CLAMP, ALARM = "#1d2733", "#7b8794", "#3d5a80", "#d40000"


def say(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    color: str = INK,
    ha: str = "left",
    va: str = "center",
    boxed: bool = False,
    bold: bool = False,
    offset: tuple[float, float] = (0, 0),
    turn: float = 0,
) -> None:
    axes.annotate(
        text,
        (x, y),
        xytext=offset,
        textcoords="offset points",
        size=size,
        color=color,
        ha=ha,
        va=va,
        rotation=turn,
        weight="bold" if bold else "normal",
        annotation_clip=False,
        parse_math=False,
        zorder=8,
        bbox={"boxstyle": "round,pad=0.15", "facecolor": "#ffffffd0", "edgecolor": "none"} if boxed else None,
    )


def measure(axis: object, units: Units, low: float, high: float, wanted: int) -> None:
    """Ticks at round numbers of the job's units."""
    unit = MM_PER_INCH if units == "in" else 1.0
    step = round_step((high - low) / unit, wanted)
    ticks = np.arange(np.ceil(low / unit / step), np.floor(high / unit / step) + 1) * step
    axis.set_ticks(ticks * unit, [f"{t + 0.0:g}" for t in ticks.round(6)])  # type: ignore[attr-defined]


def round_step(span: float, wanted: int) -> float:
    raw = span / wanted
    power = 10.0 ** np.floor(np.log10(raw))
    return float(next(m * power for m in (1, 2, 5, 10) if m * power >= raw * 0.999))


def placed_axes(figure: Figure, size: tuple[int, int], place: tuple[int, int, int, int]) -> Axes:
    """Axes at (left, top, width, height) of a figure of that size, all in the same unit."""
    left, top, width, height = place
    axes = figure.add_axes((left / size[0], 1 - (top + height) / size[1], width / size[0], height / size[1]))
    axes.tick_params(labelsize=7, colors=INK, length=3)
    for spine in axes.spines.values():
        spine.set_color(FAINT)
        spine.set_linewidth(0.6)
    return axes


def panel_pixels(axes: Axes) -> tuple[float, float]:
    box = axes.get_window_extent()
    return (float(box.width), float(box.height))
