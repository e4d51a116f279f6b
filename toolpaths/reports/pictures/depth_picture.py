"""The depth picture: what one setup does to the wood, as a person checks it before cutting.

Above, the whole face from above, with fret numbers, the outline of the finished board, clamps and zero.
Below, a close-up with a scored line and the through cut side by side, the section along one line, the legend of the
colours, and the key of everything else that is drawn.
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
from toolpaths.reports.pictures.picture_holders import holders
from toolpaths.reports.pictures.picture_keys import draw_keys, key_entries, key_lines
from toolpaths.reports.pictures.picture_pen import (
    ALARM,
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
    zero_mark,
)
from toolpaths.reports.pictures.picture_sides import legend, section
from toolpaths.reports.pictures.sides import sides_of
from toolpaths.reports.text.words import origin_of, plain, verdict
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.region_cells import covered
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 2400
_LEFT, _RIGHT, _HEAD, _AXIS, _LOWER, _FOOT = 120, 60, 205, 205, 440, 95
_KEY_LINE = 44
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
    keys = key_lines(key_entries(outcome, setup), _COLUMNS)
    size = (WIDTH, below + _LOWER + _FOOT + _KEY_LINE * len(keys) + 25)
    figure = new_figure(size)
    _heading(figure, outcome, setup, size)
    axes = placed_axes(figure, size, panel)
    _map(axes, setup, marks, marks.view, (_COLUMNS, rows), table)
    _around(axes, setup, marks, rows, units)
    _closeup(placed_axes(figure, size, (_LEFT, below, _CLOSEUP, _LOWER)), setup, marks, table, units)
    axes = placed_axes(figure, size, (_LEFT + 850, below, _SECTION, _LOWER))
    section(axes, setup, marks, (_SECTION, _LOWER), table, units)
    legend(placed_axes(figure, size, (1985, below, 56, _LOWER)), outcome, setup, table)
    axes = placed_axes(figure, size, (_LEFT, below + _LOWER + _FOOT, _COLUMNS, _KEY_LINE * len(keys)))
    draw_keys(axes, keys, _COLUMNS, _KEY_LINE, table)
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
    """The coloured heights, the waste paled, a rim around what is cut through, and the finished outline."""
    heights = shades.lowest(setup.seen, box, *cells)
    colours = shades.painted(heights, setup.context.face, table)
    if marks.parts:
        part = np.any([_inside(outline, box, *cells) for outline in marks.parts], axis=0)
        colours = shades.paled(colours, ~part & (heights > shades.THROUGH))
    show_pixels(axes, shades.rimmed(colours, heights), box)
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
    _sides(axes, setup, marks, rows)
    holders(axes, setup, marks.view, _COLUMNS)
    zero_mark(axes, *context.zero[:2])
    style: dict[str, Any] = {"marker": "o", "markersize": 11, "fillstyle": "none", "zorder": 7}
    for number, x, y, stops in marks.findings:
        for colour, thick in (("white", 3.4), (ALARM, 1.6)):
            axes.plot([x], [y], color=colour, markeredgewidth=thick, **style)
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


def _sides(axes: Axes, setup: SetupReport, marks: Landmarks, rows: int) -> None:
    """The long sides by name, the numbers of the frets, and the nut."""
    x0, y0, x1, y1 = marks.view
    sides, pixel = sides_of(setup), (y1 - y0) / rows
    at = None if sides.nut is None else sides.nut[1].at(y1)
    fret_numbers(axes, marks, _COLUMNS, at)
    if marks.frets:
        say(axes, x0, y1 + (y1 - y0) * 0.035, "fret", 7, color=FAINT, va="bottom")
    middle = (x0 + x1) / 2
    say(axes, middle, y1 + 62 * pixel, sides.far, 7.5, ha="center", va="bottom", weight="bold")
    say(axes, x0, y0 - 78 * pixel, sides.near_words, 7.5, weight="bold")
    if sides.nut is None:
        return
    word, line = sides.nut
    _, low, _, high = setup.context.stock_box
    ends = [line.at(low), line.at(high)]
    for colour, wide in (("white", 2.2), (INK, 1.0)):
        axes.plot(ends, [low, high], color=colour, linewidth=wide, linestyle=(0, (1, 2)), zorder=4)
    say(axes, line.at(y1), y1 + (y1 - y0) * 0.035, word, 7, ha="center", va="bottom", weight="bold")


def _closeup(axes: Axes, setup: SetupReport, marks: Landmarks, table: shades.Pixels, units: Units) -> None:
    box = marks.closeup
    _map(axes, setup, marks, box, (_CLOSEUP, _LOWER), table)
    measure(axes.xaxis, units, box[0], box[2], 5)
    measure(axes.yaxis, units, box[1], box[3], 4)
    times = (marks.view[2] - marks.view[0]) / _COLUMNS / ((box[2] - box[0]) / _CLOSEUP)
    panel_title(axes, f"The dotted frame, {times:.1f} times larger")
    for name, x in marks.frets_at(box[3]):
        if box[0] < x < box[2]:
            say(axes, x, box[3], name, 7, ha="center", va="bottom", offset=(0, 2))
