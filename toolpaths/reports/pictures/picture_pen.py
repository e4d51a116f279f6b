"""Shared pieces of all pictures: figure, axes, text, ticks and colours; text is never read as formulas."""

from __future__ import annotations

import io
import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

from toolpaths.common.units import MM_PER_INCH, Units
from toolpaths.reports.pictures.landmarks import Box, Landmarks, spaced

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from toolpaths.reports.pictures.shades import Pixels

INK, FAINT, CLAMP, ALARM = "#1d2733", "#7b8794", "#3d5a80", "#d40000"
_DPI = 200
_NUMBERS = 34
"""Least distance between two fret numbers, pixels."""

Size = tuple[int, int]


def new_figure(size: Size) -> Figure:
    """A white figure of that width and height, pixels."""
    from matplotlib.figure import Figure

    return Figure(figsize=(size[0] / _DPI, size[1] / _DPI), dpi=_DPI, facecolor="white")


def png_of(figure: Figure) -> bytes:
    """The figure as PNG. Same figure, same bytes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    out = io.BytesIO()
    with warnings.catch_warnings():
        # A title may hold letters that the font lacks; a box stands for them.
        warnings.simplefilter("ignore", UserWarning)
        FigureCanvasAgg(figure).print_png(  # type: ignore[no-untyped-call]
            out, metadata={"Software": None}, pil_kwargs={"compress_level": 4}
        )
    return out.getvalue()


def warm_up() -> None:
    """Draws once what every picture needs, so that child processes begin with modules and fonts loaded."""
    figure = new_figure((200, 200))
    axes = placed_axes(figure, (200, 200), (50, 50, 100, 100))
    show_pixels(axes, np.zeros((1, 1, 4), dtype=np.uint8), (0, 0, 1, 1))
    frame(axes, (0, 0, 1, 1))
    panel_title(axes, "first", weight="bold")
    png_of(figure)


def head_line(figure: Figure, x: float, y: float, text: str, size: float, **style: Any) -> None:
    """A line of text, its middle at a height; x, y are parts of the figure."""
    figure.text(x, y, text, size=size, va="center", parse_math=False, **{"color": INK, **style})


def placed_axes(figure: Figure, size: Size, place: tuple[int, int, int, int]) -> Axes:
    """Axes at (left, top, width, height) of a figure of that size, all in the same unit."""
    left, top, width, height = place
    axes = figure.add_axes((left / size[0], 1 - (top + height) / size[1], width / size[0], height / size[1]))
    axes.tick_params(labelsize=7, colors=INK, length=3)
    for spine in axes.spines.values():
        spine.set_color(FAINT)
        spine.set_linewidth(0.6)
    return axes


def show_pixels(axes: Axes, colours: Pixels, box: Box) -> None:
    """Coloured cells over a box x0, y0, x1, y1, which the axes show then."""
    x0, y0, x1, y1 = box
    axes.imshow(colours, extent=(x0, x1, y0, y1), origin="upper", interpolation="none", aspect="auto", zorder=0)
    axes.set_xlim(x0, x1)
    axes.set_ylim(y0, y1)


def panel_title(axes: Axes, text: str, **style: Any) -> None:
    """A title above the left end of a panel."""
    axes.set_title(text, size=7.5, color=INK, loc="left", parse_math=False, **{"pad": 14, **style})


def frame(axes: Axes, box: Box, **style: Any) -> None:
    """A rectangle x0, y0, x1, y1, not filled unless the style says so."""
    from matplotlib.patches import Rectangle

    x0, y0, x1, y1 = box
    axes.add_patch(
        Rectangle((x0, y0), x1 - x0, y1 - y0, **{"fill": False, "edgecolor": INK, "linewidth": 0.9, **style})
    )


def outline(axes: Axes, marks: Landmarks, **style: Any) -> None:
    """The finished outline, where the picture has one."""
    if marks.board is not None:
        x, y = np.vstack([marks.board, marks.board[:1]]).T
        axes.plot(x, y, color=INK, zorder=3, **style)


def fret_numbers(axes: Axes, marks: Landmarks, columns: int, beside: float | None = None) -> None:
    """Ticks and numbers of the frets above a map of the whole view, as many as have room in so many pixels.

    `beside`: an x where something else is written, mm.
    """
    x0, y0, x1, y1 = marks.view
    pixel = (x1 - x0) / columns
    frets = tuple((n, x) for n, x in marks.frets_at(y1) if beside is None or abs(x - beside) > 2 * _NUMBERS * pixel)
    for name, x in spaced(frets, _NUMBERS * pixel):
        axes.plot([x, x], [y1, y1 + (y1 - y0) * 0.02], color=INK, linewidth=0.6, clip_on=False)
        say(axes, x, y1 + (y1 - y0) * 0.035, name, 7, ha="center", va="bottom")


def say(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    boxed: bool = False,
    offset: tuple[float, float] = (0, 0),
    **style: Any,
) -> None:
    """Text at a place of the axes, moved by an offset in points; `boxed`: on a white ground."""
    axes.annotate(
        text,
        (x, y),
        xytext=offset,
        textcoords="offset points",
        size=size,
        annotation_clip=False,
        parse_math=False,
        zorder=8,
        bbox={"boxstyle": "round,pad=0.15", "facecolor": "#ffffffd0", "edgecolor": "none"} if boxed else None,
        **{"color": INK, "ha": "left", "va": "center", **style},
    )


def zero_mark(axes: Axes, x: float, y: float) -> None:
    """The program's zero: a right angle whose corner lies at zero, with arrows along +X and +Y."""
    for along, word, ends in (((34.0, 0.0), "X", (44.0, 0.0)), ((0.0, 34.0), "Y", (0.0, 43.0))):
        for colour, wide in (("white", 3.6), (INK, 1.5)):
            axes.annotate(
                "",
                (x, y),
                xytext=along,
                textcoords="offset points",
                annotation_clip=False,
                zorder=6,
                arrowprops={"arrowstyle": "<-", "color": colour, "linewidth": wide, "shrinkA": 0, "shrinkB": 0},
            )
        say(axes, x, y, word, 6.5, ha="center", boxed=True, offset=ends)
    say(axes, x, y, "zero", 6.5, boxed=True, offset=(7, 8), weight="bold")


def measure(axis: Any, units: Units, low: float, high: float, wanted: int, label: str = "") -> None:
    """Ticks at round numbers of the job's units, and what is measured, where it is said."""
    unit = unit_of(units)
    step = round_step((high - low) / unit, wanted)
    ticks = np.arange(np.ceil(low / unit / step), np.floor(high / unit / step) + 1) * step
    axis.set_ticks(ticks * unit, [f"{t + 0.0:g}" for t in ticks.round(6)])
    if label:
        axis.set_label_text(f"{label}, {units}", size=7.5, color=INK)
        axis.labelpad = 2


def unit_of(units: Units) -> float:
    """A millimetre or an inch, mm."""
    return MM_PER_INCH if units == "in" else 1.0


def round_step(span: float, wanted: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a span into about so many."""
    raw = span / wanted
    power = 10.0 ** np.floor(np.log10(raw))
    return float(next(m * power for m in (1, 2, 5, 10) if m * power >= raw * 0.999))
