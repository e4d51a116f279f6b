"""The depth picture: what one setup does to the wood, as a person checks it before cutting.

Above, the whole face from above, with fret numbers, the outline of the finished board, clamps and zero.
Below, a close-up in which a scored line and the through cut stand side by side, the depth along one line as if
the board were sawn open there, and the legend of the colours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray

from toolpaths.common.units import Units, show
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import Box, Landmarks, landmarks_of
from toolpaths.reports.pictures.picture_pen import (
    ALARM,
    CLAMP,
    FAINT,
    INK,
    Size,
    frame,
    fret_numbers,
    head_line,
    measure,
    new_figure,
    outline,
    panel_title,
    placed_axes,
    png_of,
    say,
    show_pixels,
    unit_of,
)
from toolpaths.reports.pictures.picture_sides import legend, section
from toolpaths.reports.text.holding import KIND_WORDS
from toolpaths.reports.text.words import origin_of, plain, verdict
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.region_cells import covered
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 2400
_LEFT, _RIGHT, _HEAD, _AXIS, _LOWER, _FOOT = 120, 60, 170, 205, 440, 105
_COLUMNS = WIDTH - _LEFT - _RIGHT
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
    marks, table, units = landmarks_of(outcome, setup), shades.colour_table(), outcome.job.units
    x0, y0, x1, y1 = marks.view
    rows = min(1100, max(120, round(_COLUMNS * (y1 - y0) / (x1 - x0))))
    panel = (_LEFT, _HEAD, _COLUMNS, rows)
    below = _HEAD + rows + _AXIS
    size = (WIDTH, below + _LOWER + _FOOT)
    figure = new_figure(size)
    _heading(figure, outcome, setup, size)
    axes = placed_axes(figure, size, panel)
    _map(axes, setup, marks, marks.view, (_COLUMNS, rows), table)
    _around(axes, setup, marks, rows, units)
    _closeup(placed_axes(figure, size, (_LEFT, below, _CLOSEUP, _LOWER)), setup, marks, table, units)
    axes = placed_axes(figure, size, (_LEFT + 850, below, _SECTION, _LOWER))
    section(axes, setup, marks, (_SECTION, _LOWER), table, units)
    legend(placed_axes(figure, size, (1985, below, 56, _LOWER)), outcome, setup, table)
    return DepthPicture(png_of(figure), panel, marks.view, size)


def _heading(figure: Figure, outcome: Outcome, setup: SetupReport, size: Size) -> None:
    title = f"{plain(outcome.job.title, 80)}   ·   setup {setup.context.setup.name}"
    changed = f"   ·   changed: {plain(', '.join(outcome.changes.words), 120)}" if outcome.changes.words else ""
    thickness = show(setup.context.above_bed(setup.context.face), outcome.job.units)
    about = (
        f"Depth below the {setup.context.surface} ({thickness} above the bed)   ·   {plain(outcome.machine.name, 40)}"
        f"   ·   job {outcome.job_hash[:12]}{changed}"
    )
    y, colour = 1 - 48 / size[1], ALARM if outcome.stopped else INK
    head_line(figure, _LEFT / WIDTH, y, title, 11.5, weight="bold")
    head_line(figure, _LEFT / WIDTH, y - 40 / size[1], about, 7.5)
    head_line(figure, 1 - _RIGHT / WIDTH, y, verdict(outcome), 8.5, weight="bold", color=colour, ha="right")


def _map(axes: Axes, setup: SetupReport, marks: Landmarks, box: Box, cells: Size, table: shades.Pixels) -> None:
    """The coloured heights, the waste paled, and the finished outline."""
    heights = shades.lowest(setup.seen, box, *cells)
    colours = shades.painted(heights, setup.context.face, table)
    if marks.board is not None:
        colours = shades.paled(colours, ~_inside(marks.board, box, *cells) & (heights > shades.THROUGH))
    show_pixels(axes, colours, box)
    outline(axes, marks, linewidth=0.8, linestyle="-" if marks.board_is_cut else (0, (4, 3)))


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


def _around(axes: Axes, setup: SetupReport, marks: Landmarks, rows: int, units: Units) -> None:
    """What is drawn over and around the map: axes, frets, clamps, zero, findings and the scale bar."""
    context = setup.context
    x0, y0, x1, y1 = marks.view
    measure(axes.xaxis, units, x0, x1, 12, f"from the {origin_of(setup)}")
    measure(axes.yaxis, units, y0, y1, 5, f"from the {'middle of its width' if context.apart else 'centreline'}")
    frame(axes, context.stock_box, edgecolor=FAINT, linewidth=0.8)
    fret_numbers(axes, marks, _COLUMNS)
    if marks.frets:
        say(axes, x0, y1 + (y1 - y0) * 0.035, "fret", 7, color=FAINT, va="bottom")
    _clamps(axes, setup, marks, units)
    zx, zy, _ = context.zero
    style: dict[str, Any] = {"color": INK, "markeredgewidth": 1.1, "fillstyle": "none", "clip_on": False, "zorder": 6}
    axes.plot([zx], [zy], marker="o", markersize=9, **style)
    axes.plot([zx], [zy], marker="+", markersize=15, **style)
    say(axes, zx, zy, "  X0 Y0", 6.5, va="bottom", boxed=True, offset=(5, 5))
    for number, x, y, stops in marks.findings:
        for colour, thick in (("white", 3.4), (ALARM, 1.6)):
            style |= {"color": colour, "markeredgewidth": thick, "clip_on": True, "zorder": 7}
            axes.plot([x], [y], marker="o", markersize=11, **style)
        weight = "bold" if stops else "normal"
        say(axes, x, y, str(number), 7, color=ALARM, va="bottom", boxed=True, offset=(6, 6), weight=weight)
    unit, bars = unit_of(units), (4.0, 2.0, 0.5) if units == "in" else (100.0, 50.0, 10.0)
    bar = unit * (bars[0] if x1 - x0 > 900 else bars[1] if x1 - x0 > 150 else bars[2])
    y = y0 - (y1 - y0) * 58 / rows
    axes.plot([x1 - bar, x1], [y, y], color=INK, linewidth=2.5, solid_capstyle="butt", clip_on=False)
    say(axes, x1 - bar, y, f"{bar / unit:g} {units}", 7, ha="right", offset=(-4, 0))
    # Where the two panels below look: arrow heads at the ends of the section, dots around the close-up.
    for x, head in ((x0, ">"), (x1, "<")):
        axes.plot([x], [marks.section_y], marker=head, markersize=5, color=INK, clip_on=False, zorder=9)
    frame(axes, marks.closeup, linestyle=(0, (1, 1)), zorder=5)


def _clamps(axes: Axes, setup: SetupReport, marks: Landmarks, units: Units) -> None:
    """Everything that stands in the way, hatched, with its name and height on it or beside it; screws as dots."""
    from matplotlib.patches import Circle

    x0, y0, x1, y1 = marks.view
    pixel = (x1 - x0) / _COLUMNS
    for it in setup.obstacles:
        ax, ay, bx, by = it.bounds
        if it.radius:
            axes.add_patch(
                Circle(it.box[:2], it.radius, facecolor="#3d5a8060", edgecolor=CLAMP, linewidth=0.8, zorder=4)
            )
            continue
        frame(axes, (ax, ay, bx, by), fill=True, facecolor="#3d5a8018", edgecolor=CLAMP, hatch="xxx", zorder=4)
        x, y = np.clip((ax + bx) / 2, x0, x1), np.clip((ay + by) / 2, y0, y1)
        wide, tall = (bx - ax) / pixel, (by - ay) / pixel
        said = f"{KIND_WORDS[it.kind]}: {plain(it.name, 24)}\n{show(setup.context.above_bed(it.top), units)} high"
        if max(wide, tall) < 150 or min(wide, tall) < 40:
            # Too small to hold its words: they are written beside it.
            right = bx < x1 - (x1 - x0) / 12
            say(axes, bx if right else ax, y, said, 5.5, color=CLAMP, boxed=True, offset=(4 if right else -4, 0),
                ha="left" if right else "right")  # fmt: skip
        else:
            turn = 90 if wide < 150 else 0
            say(axes, x, y, said, 5.5, color=CLAMP, ha="center", boxed=True, rotation=turn)


def _closeup(axes: Axes, setup: SetupReport, marks: Landmarks, table: shades.Pixels, units: Units) -> None:
    box = marks.closeup
    _map(axes, setup, marks, box, (_CLOSEUP, _LOWER), table)
    measure(axes.xaxis, units, box[0], box[2], 5)
    measure(axes.yaxis, units, box[1], box[3], 4)
    times = (marks.view[2] - marks.view[0]) / _COLUMNS / ((box[2] - box[0]) / _CLOSEUP)
    panel_title(axes, f"The dotted square, {times:.1f} times larger")
    for name, x in marks.frets_at(box[3]):
        if box[0] < x < box[2]:
            say(axes, x, box[3], name, 7, ha="center", va="bottom", offset=(0, 2))
