"""The picture of the differences between two runs of one job: deeper cuts, and wood that is left.

A picture of its own, in colours that no depth picture has: violet where the wood is deeper than in the job as
written, orange where it stands higher, both told apart by every common colour blindness; grey where nothing changes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from toolpaths.common.units import Units, show
from toolpaths.reports.compare.compared import Picture
from toolpaths.reports.compare.difference_map import (
    change_of,
    closest,
    coloured,
    difference,
    heights_within,
    legend,
    strongest,
)
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import Box, Landmarks, landmarks_of
from toolpaths.reports.pictures.picture_pen import (
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
)
from toolpaths.reports.text.words import file_part, plain
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 2000
_LEFT, _RIGHT, _HEAD, _GAP, _LOWER, _AXIS, _FOOT = 110, 220, 150, 120, 380, 95, 20
_COLUMNS, _BETWEEN = WIDTH - _LEFT - _RIGHT, 70
_THIRD = (_COLUMNS - 2 * _BETWEEN) // 3
"""Width of a close-up, pixels."""
_CLOSE = 10.0
"""Width of the close-ups, mm."""


@dataclass(frozen=True, slots=True)
class _Side:
    """One setup in both runs. `change` is the map of differences, mm: below 0 where the variant is deeper."""

    written: SetupReport
    variant: SetupReport
    change: DepthMap
    marks: Landmarks
    close: Box


def difference_picture(written: Outcome, variant: Outcome, label: str) -> Picture | None:
    """The picture of one variant, one band for each setup in which it differs; None where it does nowhere.

    Same outcomes, same bytes.
    """
    sides: list[_Side] = []
    deeper = higher = 0.0
    other = {s.context.setup.name: s for s in variant.setups}
    for setup in written.setups:
        there = other.get(setup.context.setup.name)
        change = None if there is None else change_of(setup, there)
        if there is None or change is None:
            continue
        cell = change.pitch**2
        deeper -= float(np.minimum(change.heights, 0).sum(dtype=np.float64)) * cell
        higher += float(np.maximum(change.heights, 0).sum(dtype=np.float64)) * cell
        marks = landmarks_of(written, setup)
        sides.append(_Side(setup, there, change, marks, closest(change, _CLOSE, _CLOSE * _LOWER / _THIRD)))
    if not sides:
        return None
    picture = Picture(f"difference-{file_part(label)}.png", b"", deeper, higher)
    return replace(picture, png=_drawn(written, sides, label, picture))


def _drawn(written: Outcome, sides: list[_Side], label: str, picture: Picture) -> bytes:
    units = written.job.units
    tall = [_rows(side.marks.view) for side in sides]
    band = [rows + _GAP + _LOWER + _AXIS for rows in tall]
    size = (WIDTH, _HEAD + sum(band) + _FOOT)
    figure = new_figure(size)
    limit = max(float(np.abs(s.change.heights).max()) for s in sides)
    y = 1 - 40 / size[1]
    title = f"{plain(written.job.title, 70)}   ·   {plain(label, 60)} against the job as written"
    head_line(figure, _LEFT / WIDTH, y, title, 10.5, weight="bold")
    about = f"{picture.amounts(units)}   ·   job {written.job_hash[:12]} as written"
    head_line(figure, _LEFT / WIDTH, y - 40 / size[1], about, 7.5)
    top = _HEAD
    for side, rows, high in zip(sides, tall, band, strict=True):
        _whole(placed_axes(figure, size, (_LEFT, top, _COLUMNS, rows)), side, rows, limit, units)
        _legend(placed_axes(figure, size, (WIDTH - 170, top, 34, high - _AXIS)), limit, units)
        _closeups(figure, size, top + rows + _GAP, side, label, limit, units)
        top += high
    return png_of(figure)


def _rows(view: Box) -> int:
    return min(500, max(110, round(_COLUMNS * (view[3] - view[1]) / (view[2] - view[0]))))


def _whole(axes: Axes, side: _Side, rows: int, limit: float, units: Units) -> None:
    x0, y0, x1, y1 = box = side.marks.view
    show_pixels(axes, coloured(strongest(side.change, box, _COLUMNS, rows), limit), box)
    outline(axes, side.marks, linewidth=0.6)
    measure(axes.xaxis, units, x0, x1, 12, f"setup {side.written.context.setup.name}, from the nut")
    measure(axes.yaxis, units, y0, y1, 4)
    fret_numbers(axes, side.marks, _COLUMNS)
    frame(axes, side.close, zorder=5)


def _closeups(figure: Figure, size: Size, top: int, side: _Side, label: str, limit: float, units: Units) -> None:
    """As written, with the other bit, and what that changes, side by side."""
    box, table, face = side.close, shades.colour_table(), side.written.context.face
    a, b = (heights_within(one, box, _THIRD, _LOWER) for one in (side.written, side.variant))
    times = (side.marks.view[2] - side.marks.view[0]) / _COLUMNS / (_CLOSE / _THIRD)
    pictures = [
        (f"as written, the framed place, {times:.0f} times larger", shades.painted(a, face, table)),
        (f"with {plain(label, 40)}", shades.painted(b, face, table)),
        ("what that changes", coloured(difference(a, b), limit)),
    ]
    for k, (words, colours) in enumerate(pictures):
        axes = placed_axes(figure, size, (_LEFT + k * (_THIRD + _BETWEEN), top, _THIRD, _LOWER))
        show_pixels(axes, colours, box)
        measure(axes.xaxis, units, box[0], box[2], 5)
        measure(axes.yaxis, units, box[1], box[3], 4)
        panel_title(axes, words, pad=5)


def _legend(axes: Axes, limit: float, units: Units) -> None:
    """The colours of differences, with their sizes."""
    colours, places = legend(limit)
    axes.imshow(colours, extent=(0, 1, -1, 1), aspect="auto", interpolation="none")
    axes.set_xticks([])
    ticks = [(p, f"{'+' if v > 0 else '-'}{show(abs(v), units)}") for p, v in places]
    axes.yaxis.tick_right()
    axes.set_yticks([p for p, _ in [*ticks, (0.0, "")]], [words for _, words in [*ticks, (0.0, "the same")]])
    axes.tick_params(labelsize=6, colors=INK, length=2)
    say(axes, 0.5, 1.0, "higher", 6, ha="center", va="bottom", offset=(0, 3))
    say(axes, 0.5, -1.0, "deeper", 6, ha="center", va="top", offset=(0, -3))
