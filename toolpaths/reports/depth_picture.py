"""The depth picture: what one setup does to the wood, as a person checks it before cutting.

Above, the whole face from above, with fret numbers, the outline of the finished board, clamps and zero.
Below, a close-up in which a scored line and the through cut stand side by side, the depth along one line as if
the board were sawn open there, and the legend of the colours.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from toolpaths.core.depthmap import DepthMap
from toolpaths.core.outcome import Outcome, SetupReport
from toolpaths.core.raster import covered
from toolpaths.core.units import MM_PER_INCH, Units, show
from toolpaths.reports import shades
from toolpaths.reports.landmarks import Landmarks, landmarks_of, spaced
from toolpaths.reports.words import plain, verdict

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Box = tuple[float, float, float, float]

WIDTH = 2400
_DPI = 200
_LEFT, _RIGHT, _HEAD, _AXIS, _LOWER, _FOOT = 120, 60, 170, 205, 440, 105
_CLOSEUP, _SECTION = 700, 860
_INK, _FAINT, _CLAMP, _ALARM = "#1d2733", "#7b8794", "#3d5a80", "#d40000"


@dataclass(frozen=True, slots=True)
class DepthPicture:
    """A PNG and where the map lies in it.

    `panel`: left, top, width, height of the map's panel, pixels; `box`: x0, y0, x1, y1 that it shows, mm,
    y upward; `size`: width and height of the picture, pixels.
    """

    png: bytes
    panel: tuple[int, int, int, int]
    box: Box
    size: tuple[int, int]


def depth_picture(outcome: Outcome, setup: SetupReport) -> DepthPicture:
    """Draws the depth picture of one setup. Same outcome, same bytes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    marks = landmarks_of(outcome, setup)
    cols = WIDTH - _LEFT - _RIGHT
    rows = min(1100, max(120, round(cols * (marks.view[3] - marks.view[1]) / (marks.view[2] - marks.view[0]))))
    panel = (_LEFT, _HEAD, cols, rows)
    size = (WIDTH, _HEAD + rows + _AXIS + _LOWER + _FOOT)
    figure = Figure(figsize=(size[0] / _DPI, size[1] / _DPI), dpi=_DPI, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    table = shades.colour_table()
    units = outcome.job.units
    _heading(figure, outcome, setup, size)
    axes = _panel(figure, size, panel)
    _map(axes, setup, marks, marks.view, (cols, rows), table)
    _whole(axes, setup, marks, units)
    below = _HEAD + rows + _AXIS
    _closeup(_panel(figure, size, (_LEFT, below, _CLOSEUP, _LOWER)), setup, marks, (_CLOSEUP, _LOWER), table, units)
    _section(_panel(figure, size, (_LEFT + 850, below, _SECTION, _LOWER)), setup, marks, _SECTION, table, units)
    _legend(_panel(figure, size, (1985, below, 56, _LOWER)), outcome, setup, table)
    out = io.BytesIO()
    with warnings.catch_warnings():
        # A title may hold letters that the font lacks; a box stands for them.
        warnings.simplefilter("ignore", UserWarning)
        canvas.print_png(  # type: ignore[no-untyped-call]
            out, metadata={"Software": None}, pil_kwargs={"compress_level": 4}
        )
    return DepthPicture(out.getvalue(), panel, marks.view, size)


def _heading(figure: Figure, outcome: Outcome, setup: SetupReport, size: tuple[int, int]) -> None:
    title = f"{plain(outcome.job.title, 80)}   ·   setup {setup.scene.setup.name}"
    changed = f"   ·   changed: {plain(', '.join(outcome.changes.words), 120)}" if outcome.changes.words else ""
    thickness = show(setup.scene.face, outcome.job.units)
    about = (
        f"Depth below the finished face ({thickness} above the bed)   ·   {plain(outcome.machine.name, 40)}"
        f"   ·   job {outcome.job_hash[:12]}{changed}"
    )
    y = 1 - 48 / size[1]
    figure.text(_LEFT / WIDTH, y, title, size=11.5, weight="bold", color=_INK, va="center", parse_math=False)
    figure.text(_LEFT / WIDTH, y - 40 / size[1], about, size=7.5, color=_INK, va="center", parse_math=False)
    figure.text(
        1 - _RIGHT / WIDTH,
        y,
        verdict(outcome),
        size=8.5,
        weight="bold",
        color=_ALARM if outcome.stopped else _INK,
        ha="right",
        va="center",
        parse_math=False,
    )


def _panel(figure: Figure, size: tuple[int, int], panel: tuple[int, int, int, int]) -> Axes:
    left, top, width, height = panel
    axes = figure.add_axes((left / size[0], 1 - (top + height) / size[1], width / size[0], height / size[1]))
    axes.tick_params(labelsize=7, colors=_INK, length=3)
    for spine in axes.spines.values():
        spine.set_color(_FAINT)
        spine.set_linewidth(0.6)
    return axes


def _map(
    axes: Axes, setup: SetupReport, marks: Landmarks, box: Box, cells: tuple[int, int], table: shades.Pixels
) -> None:
    """The coloured heights, the waste paled, and the finished outline."""
    cols, rows = cells
    heights = shades.lowest(setup.after, box, cols, rows)
    colours = shades.painted(heights, setup.scene.face, table)
    if marks.board is not None:
        colours = shades.paled(colours, ~_inside(marks.board, box, cols, rows) & (heights > shades.THROUGH))
    axes.imshow(
        colours, extent=(box[0], box[2], box[1], box[3]), origin="upper", interpolation="none", aspect="auto", zorder=0
    )
    if marks.board is not None:
        style = "-" if marks.board_is_cut else (0, (4, 3))
        closed = np.vstack([marks.board, marks.board[:1]])
        axes.plot(closed[:, 0], closed[:, 1], color=_INK, linewidth=0.8, linestyle=style, zorder=3)
    axes.set_xlim(box[0], box[2])
    axes.set_ylim(box[1], box[3])


def _inside(outline: NDArray[np.float64], box: Box, cols: int, rows: int) -> NDArray[np.bool_]:
    """Which picture cells (rows downward) have their centre inside a closed outline (N, 2), mm."""
    # A map of square cells as high as the picture is wide: y is stretched to fit it.
    pitch = (box[2] - box[0]) / cols
    stretch = pitch * rows / (box[3] - box[1])
    grid = DepthMap(np.empty((rows, cols), dtype=np.float32), box[0] + pitch / 2, pitch / 2, pitch)
    points = np.column_stack([outline[:, 0], (outline[:, 1] - box[1]) * stretch])
    mask = np.zeros((rows, cols), dtype=bool)
    found = covered(shapely.Polygon(points), grid)
    if found is not None:
        mask[found[0], found[1]] = found[2]
    return mask[::-1]


def _whole(axes: Axes, setup: SetupReport, marks: Landmarks, units: Units) -> None:
    """What stands around the map: frets, clamps, zero, findings, axes and the scale bar."""
    from matplotlib.patches import Rectangle

    x0, y0, x1, y1 = marks.view
    _measure(axes.xaxis, units, x0, x1, 12)
    _measure(axes.yaxis, units, y0, y1, 5)
    axes.set_xlabel(f"from the nut, {units}", size=7.5, color=_INK, labelpad=2)
    axes.set_ylabel(f"from the centreline, {units}", size=7.5, color=_INK, labelpad=2)
    s = setup.scene.stock_box
    axes.add_patch(Rectangle((s[0], s[1]), s[2] - s[0], s[3] - s[1], fill=False, edgecolor=_FAINT, linewidth=0.8))
    pixel = (x1 - x0) / (WIDTH - _LEFT - _RIGHT)
    for name, x in spaced(marks.frets, 34 * pixel):
        axes.plot([x, x], [y1, y1 + (y1 - y0) * 0.02], color=_INK, linewidth=0.6, clip_on=False)
        _say(axes, x, y1 + (y1 - y0) * 0.035, name, 7, ha="center", va="bottom")
    _say(axes, x0, y1 + (y1 - y0) * 0.035, "fret", 7, color=_FAINT, ha="left", va="bottom")
    for clamp in setup.scene.setup.keep_out:
        axes.add_patch(
            Rectangle(
                (clamp.x[0], clamp.y[0]),
                clamp.x[1] - clamp.x[0],
                clamp.y[1] - clamp.y[0],
                facecolor="#3d5a8018",
                edgecolor=_CLAMP,
                hatch="xxx",
                linewidth=0.9,
                zorder=4,
            )
        )
        middle = (np.clip(sum(clamp.x) / 2, x0, x1), np.clip(sum(clamp.y) / 2, y0, y1))
        wide, tall = (clamp.x[1] - clamp.x[0]) / pixel, (clamp.y[1] - clamp.y[0]) / pixel
        said = f"keep out: {plain(clamp.name, 24)}\n{show(clamp.height, units)} high"
        if max(wide, tall) < 150 or min(wide, tall) < 40:
            # Too small to bear its words: they stand beside it.
            _say(axes, min(clamp.x[1], x1), middle[1], said, 5.5, color=_CLAMP, boxed=True, offset=(4, 0))
        else:
            turn = 90 if wide < 150 else 0
            _say(axes, middle[0], middle[1], said, 5.5, color=_CLAMP, ha="center", boxed=True, turn=turn)
    zx, zy, _ = setup.scene.zero
    axes.plot(
        [zx], [zy], marker="o", markersize=9, fillstyle="none", color=_INK, markeredgewidth=1.1, clip_on=False, zorder=6
    )
    axes.plot([zx], [zy], marker="+", markersize=15, color=_INK, markeredgewidth=1.1, clip_on=False, zorder=6)
    _say(axes, zx, zy, "  X0 Y0", 6.5, ha="left", va="bottom", boxed=True, offset=(5, 5))
    for number, x, y, stops in marks.findings:
        for colour, thick in (("white", 3.4), (_ALARM, 1.6)):
            axes.plot(
                [x], [y], marker="o", markersize=11, fillstyle="none", color=colour, markeredgewidth=thick, zorder=7
            )
        _say(axes, x, y, str(number), 7, color=_ALARM, ha="left", va="bottom", boxed=True, offset=(6, 6), bold=stops)
    bar = 100.0 if x1 - x0 > 900 else 50.0 if x1 - x0 > 150 else 10.0
    level = -58 / (_panel_pixels(axes)[1])
    y = y0 + (y1 - y0) * level
    axes.plot([x1 - bar, x1], [y, y], color=_INK, linewidth=2.5, solid_capstyle="butt", clip_on=False)
    _say(axes, x1 - bar, y, f"{bar:g} mm", 7, ha="right", va="center", offset=(-4, 0))
    # Where the two panels below look: arrow heads at the ends of the section, dots around the close-up.
    axes.plot([x0], [marks.section_y], marker=">", markersize=5, color=_INK, clip_on=False, zorder=9)
    axes.plot([x1], [marks.section_y], marker="<", markersize=5, color=_INK, clip_on=False, zorder=9)
    cx0, cy0, cx1, cy1 = marks.closeup
    axes.add_patch(
        Rectangle(
            (cx0, cy0), cx1 - cx0, cy1 - cy0, fill=False, edgecolor=_INK, linewidth=0.9, linestyle=(0, (1, 1)), zorder=5
        )
    )


def _closeup(
    axes: Axes, setup: SetupReport, marks: Landmarks, cells: tuple[int, int], table: shades.Pixels, units: Units
) -> None:
    box = marks.closeup
    _map(axes, setup, marks, box, cells, table)
    _measure(axes.xaxis, units, box[0], box[2], 5)
    _measure(axes.yaxis, units, box[1], box[3], 4)
    times = (marks.view[2] - marks.view[0]) / (WIDTH - _LEFT - _RIGHT) / ((box[2] - box[0]) / cells[0])
    axes.set_title(
        f"The dotted square, {times:.1f} times larger", size=7.5, color=_INK, loc="left", pad=14, parse_math=False
    )
    for name, x in marks.frets:
        if box[0] < x < box[2]:
            _say(axes, x, box[3], name, 7, ha="center", va="bottom", offset=(0, 2))


def _section(axes: Axes, setup: SetupReport, marks: Landmarks, cols: int, table: shades.Pixels, units: Units) -> None:
    """Depth along one line, as if the board were sawn open there."""
    x0, _, x1, _ = setup.scene.stock_box
    y, face, top = marks.section_y, setup.scene.face, setup.scene.top
    pitch = setup.after.pitch
    line = shades.lowest(setup.after, (x0, y - pitch / 2, x1, y + pitch / 2), cols, 1)[0]
    high, low = max(top, face) * 1.04 + 0.02, -max(0.06 * face, 0.3)
    heights = np.linspace(high, low, _LOWER)
    colours = shades.cut_open(line, heights, face, table)
    axes.imshow(colours, extent=(x0, x1, low, high), aspect="auto", interpolation="none", zorder=0)
    axes.step(np.linspace(x0, x1, cols), np.maximum(line, low), color=_INK, linewidth=0.6, where="mid")
    axes.axhline(0, color=_INK, linewidth=1.2)
    axes.axhline(top, color=_FAINT, linewidth=0.6, linestyle=(0, (4, 3)))
    _say(axes, x1, 0, "bed", 6.5, ha="left", va="center", offset=(4, 0))
    if top > face + 0.05:
        _say(axes, x1, top, "stock", 6.5, color=_FAINT, ha="left", va="center", offset=(4, 0))
    axes.set_xlim(x0, x1)
    axes.set_ylim(low, high)
    _measure(axes.xaxis, units, x0, x1, 8)
    axes.set_xlabel(f"from the nut, {units}", size=7.5, color=_INK, labelpad=2)
    unit = MM_PER_INCH if units == "in" else 1.0
    depths = np.arange(0, face / unit + 1e-9, _round_step(face / unit, 5))
    axes.set_yticks(face - depths * unit, [f"{d:g}" for d in depths])
    axes.set_ylabel(f"depth, {units}", size=7.5, color=_INK, labelpad=2)
    stretch = (_LOWER / (high - low)) / (cols / (x1 - x0))
    where = "the centreline" if y == 0 else f"y {show(y, units)}"
    axes.set_title(
        f"Sawn open along {where}, depth drawn {stretch:.0f} times larger than length",
        size=7.5,
        color=_INK,
        loc="left",
        pad=14,
        parse_math=False,
    )
    for name, x in spaced(marks.frets, 25 * (x1 - x0) / cols):
        _say(axes, x, high, name, 5.5, ha="center", va="bottom", offset=(0, 2))


def _legend(axes: Axes, outcome: Outcome, setup: SetupReport, table: shades.Pixels) -> None:
    """The colour bar: depths on its left, the features' own depths on its right."""
    from matplotlib.patches import Rectangle

    units, face = outcome.job.units, setup.scene.face
    unit = MM_PER_INCH if units == "in" else 1.0
    axes.imshow(table[:, None, :], extent=(0, 1, 1, 0), aspect="auto", interpolation="none")
    axes.set_xlim(0, 1)
    axes.set_ylim(1, 0)
    axes.set_xticks([])
    in_mm, in_inches = (0, 0.1, 0.5, 1, 2, 4, 6, 10, 15, 20, 30, 50), (0, 0.005, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2)
    steps = in_mm if units == "mm" else in_inches
    shown = [d for d in steps if d * unit < face * 0.93] + [round(face / unit, 3)]
    axes.set_yticks([float(shades.scale_of(d * unit / face)) for d in shown], [f"{d:g}" for d in shown])
    axes.set_title(f"depth, {units}\nfiner where shallow", size=7.5, color=_INK, loc="left", pad=8, x=-0.9)
    last = -1.0
    depths: dict[float, list[str]] = {}
    for feature in sorted(setup.features, key=lambda f: f.deepest_mm):
        deep = face if feature.deepest_mm >= face - shades.THROUGH else round(feature.deepest_mm, 3)
        depths.setdefault(deep, []).append(plain(feature.name, 22))
    for deep, names in depths.items():
        at = float(shades.scale_of(deep / face))
        place = max(at, last + 0.075)
        last = place
        depth = "through" if deep == face else show(deep, units)
        axes.plot([1, 1.35, 1.6], [at, at, place], color=_INK, linewidth=0.6, clip_on=False)
        # Several of one depth stand below each other, the last with the depth; at the bottom they grow upward.
        words = "\n".join([*names[:-1], f"{names[-1]} {depth}"])
        low = at > 0.95
        _say(axes, 1.7, place, words, 6, va="bottom" if low else "center", offset=(0, -4 if low else 0))
    keys: list[tuple[str, str | None]] = [("cut through to the bed", None)]
    if shades.stands_above(setup.after.heights, face):
        keys.append(("stands above the face", "#96b0a0"))
    for i, (key, colour) in enumerate(keys):
        top = 1.06 + 0.09 * i
        axes.add_patch(
            Rectangle(
                (0, top),
                1,
                0.06,
                facecolor=colour or "white",
                edgecolor=_FAINT,
                hatch=None if colour else "////",
                linewidth=0.6,
                clip_on=False,
            )
        )
        _say(axes, 1.3, top + 0.03, key, 6, ha="left", va="center")


def _measure(axis: object, units: Units, low: float, high: float, wanted: int) -> None:
    """Ticks at round numbers of the job's units."""
    unit = MM_PER_INCH if units == "in" else 1.0
    step = _round_step((high - low) / unit, wanted)
    ticks = np.arange(np.ceil(low / unit / step), np.floor(high / unit / step) + 1) * step
    axis.set_ticks(ticks * unit, [f"{t + 0.0:g}" for t in ticks.round(6)])  # type: ignore[attr-defined]


def _round_step(span: float, wanted: int) -> float:
    raw = span / wanted
    power = 10.0 ** np.floor(np.log10(raw))
    return float(next(m * power for m in (1, 2, 5, 10) if m * power >= raw * 0.999))


def _panel_pixels(axes: Axes) -> tuple[float, float]:
    box = axes.get_window_extent()
    return (float(box.width), float(box.height))


def _say(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    color: str = _INK,
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
