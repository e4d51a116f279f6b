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

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import Landmarks, landmarks_of, spaced
from toolpaths.reports.pictures.picture_pen import ALARM, CLAMP, FAINT, INK, measure, panel_pixels, placed_axes, say
from toolpaths.reports.pictures.picture_sides import legend, section
from toolpaths.reports.text.words import origin_of, plain, verdict
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.region_cells import covered
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Box = tuple[float, float, float, float]

WIDTH = 2400
_DPI = 200
_LEFT, _RIGHT, _HEAD, _AXIS, _LOWER, _FOOT = 120, 60, 170, 205, 440, 105
_CLOSEUP, _SECTION = 700, 860


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
    axes = placed_axes(figure, size, panel)
    _map(axes, setup, marks, marks.view, (cols, rows), table)
    _whole(axes, setup, marks, units)
    below = _HEAD + rows + _AXIS
    _closeup(
        placed_axes(figure, size, (_LEFT, below, _CLOSEUP, _LOWER)), setup, marks, (_CLOSEUP, _LOWER), table, units
    )
    section(
        placed_axes(figure, size, (_LEFT + 850, below, _SECTION, _LOWER)),
        setup,
        marks,
        (_SECTION, _LOWER),
        table,
        units,
    )
    legend(placed_axes(figure, size, (1985, below, 56, _LOWER)), outcome, setup, table)
    out = io.BytesIO()
    with warnings.catch_warnings():
        # A title may hold letters that the font lacks; a box stands for them.
        warnings.simplefilter("ignore", UserWarning)
        canvas.print_png(  # type: ignore[no-untyped-call]
            out, metadata={"Software": None}, pil_kwargs={"compress_level": 4}
        )
    return DepthPicture(out.getvalue(), panel, marks.view, size)


def _heading(figure: Figure, outcome: Outcome, setup: SetupReport, size: tuple[int, int]) -> None:
    title = f"{plain(outcome.job.title, 80)}   ·   setup {setup.context.setup.name}"
    changed = f"   ·   changed: {plain(', '.join(outcome.changes.words), 120)}" if outcome.changes.words else ""
    thickness = show(setup.context.face, outcome.job.units)
    about = (
        f"Depth below the {setup.context.surface} ({thickness} above the bed)   ·   {plain(outcome.machine.name, 40)}"
        f"   ·   job {outcome.job_hash[:12]}{changed}"
    )
    y = 1 - 48 / size[1]
    figure.text(_LEFT / WIDTH, y, title, size=11.5, weight="bold", color=INK, va="center", parse_math=False)
    figure.text(_LEFT / WIDTH, y - 40 / size[1], about, size=7.5, color=INK, va="center", parse_math=False)
    figure.text(
        1 - _RIGHT / WIDTH,
        y,
        verdict(outcome),
        size=8.5,
        weight="bold",
        color=ALARM if outcome.stopped else INK,
        ha="right",
        va="center",
        parse_math=False,
    )


def _map(
    axes: Axes, setup: SetupReport, marks: Landmarks, box: Box, cells: tuple[int, int], table: shades.Pixels
) -> None:
    """The coloured heights, the waste paled, and the finished outline."""
    cols, rows = cells
    heights = shades.lowest(setup.seen, box, cols, rows)
    colours = shades.painted(heights, setup.context.face, table)
    if marks.board is not None:
        colours = shades.paled(colours, ~_inside(marks.board, box, cols, rows) & (heights > shades.THROUGH))
    axes.imshow(
        colours, extent=(box[0], box[2], box[1], box[3]), origin="upper", interpolation="none", aspect="auto", zorder=0
    )
    if marks.board is not None:
        style = "-" if marks.board_is_cut else (0, (4, 3))
        closed = np.vstack([marks.board, marks.board[:1]])
        axes.plot(closed[:, 0], closed[:, 1], color=INK, linewidth=0.8, linestyle=style, zorder=3)
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
    measure(axes.xaxis, units, x0, x1, 12)
    measure(axes.yaxis, units, y0, y1, 5)
    axes.set_xlabel(f"from the {origin_of(setup)}, {units}", size=7.5, color=INK, labelpad=2)
    across = "middle of its width" if setup.context.apart else "centreline"
    axes.set_ylabel(f"from the {across}, {units}", size=7.5, color=INK, labelpad=2)
    s = setup.context.stock_box
    axes.add_patch(Rectangle((s[0], s[1]), s[2] - s[0], s[3] - s[1], fill=False, edgecolor=FAINT, linewidth=0.8))
    pixel = (x1 - x0) / (WIDTH - _LEFT - _RIGHT)
    for name, x in spaced(marks.frets_at(y1), 34 * pixel):
        axes.plot([x, x], [y1, y1 + (y1 - y0) * 0.02], color=INK, linewidth=0.6, clip_on=False)
        say(axes, x, y1 + (y1 - y0) * 0.035, name, 7, ha="center", va="bottom")
    if marks.frets:
        say(axes, x0, y1 + (y1 - y0) * 0.035, "fret", 7, color=FAINT, ha="left", va="bottom")
    for clamp in setup.context.setup.keep_out:
        axes.add_patch(
            Rectangle(
                (clamp.x[0], clamp.y[0]),
                clamp.x[1] - clamp.x[0],
                clamp.y[1] - clamp.y[0],
                facecolor="#3d5a8018",
                edgecolor=CLAMP,
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
            say(axes, min(clamp.x[1], x1), middle[1], said, 5.5, color=CLAMP, boxed=True, offset=(4, 0))
        else:
            turn = 90 if wide < 150 else 0
            say(axes, middle[0], middle[1], said, 5.5, color=CLAMP, ha="center", boxed=True, turn=turn)
    zx, zy, _ = setup.context.zero
    axes.plot(
        [zx], [zy], marker="o", markersize=9, fillstyle="none", color=INK, markeredgewidth=1.1, clip_on=False, zorder=6
    )
    axes.plot([zx], [zy], marker="+", markersize=15, color=INK, markeredgewidth=1.1, clip_on=False, zorder=6)
    say(axes, zx, zy, "  X0 Y0", 6.5, ha="left", va="bottom", boxed=True, offset=(5, 5))
    for number, x, y, stops in marks.findings:
        for colour, thick in (("white", 3.4), (ALARM, 1.6)):
            axes.plot(
                [x], [y], marker="o", markersize=11, fillstyle="none", color=colour, markeredgewidth=thick, zorder=7
            )
        say(axes, x, y, str(number), 7, color=ALARM, ha="left", va="bottom", boxed=True, offset=(6, 6), bold=stops)
    unit, bars = (MM_PER_INCH, (4.0, 2.0, 0.5)) if units == "in" else (1.0, (100.0, 50.0, 10.0))
    bar = unit * (bars[0] if x1 - x0 > 900 else bars[1] if x1 - x0 > 150 else bars[2])
    level = -58 / (panel_pixels(axes)[1])
    y = y0 + (y1 - y0) * level
    axes.plot([x1 - bar, x1], [y, y], color=INK, linewidth=2.5, solid_capstyle="butt", clip_on=False)
    say(axes, x1 - bar, y, f"{bar / unit:g} {units}", 7, ha="right", va="center", offset=(-4, 0))
    # Where the two panels below look: arrow heads at the ends of the section, dots around the close-up.
    axes.plot([x0], [marks.section_y], marker=">", markersize=5, color=INK, clip_on=False, zorder=9)
    axes.plot([x1], [marks.section_y], marker="<", markersize=5, color=INK, clip_on=False, zorder=9)
    cx0, cy0, cx1, cy1 = marks.closeup
    axes.add_patch(
        Rectangle(
            (cx0, cy0), cx1 - cx0, cy1 - cy0, fill=False, edgecolor=INK, linewidth=0.9, linestyle=(0, (1, 1)), zorder=5
        )
    )


def _closeup(
    axes: Axes, setup: SetupReport, marks: Landmarks, cells: tuple[int, int], table: shades.Pixels, units: Units
) -> None:
    box = marks.closeup
    _map(axes, setup, marks, box, cells, table)
    measure(axes.xaxis, units, box[0], box[2], 5)
    measure(axes.yaxis, units, box[1], box[3], 4)
    times = (marks.view[2] - marks.view[0]) / (WIDTH - _LEFT - _RIGHT) / ((box[2] - box[0]) / cells[0])
    axes.set_title(
        f"The dotted square, {times:.1f} times larger", size=7.5, color=INK, loc="left", pad=14, parse_math=False
    )
    for name, x in marks.frets_at(box[3]):
        if box[0] < x < box[2]:
            say(axes, x, box[3], name, 7, ha="center", va="bottom", offset=(0, 2))
