"""Where two runs of one job leave the wood differently: what one cuts deeper, and what it leaves standing.

A picture of its own, in colours that no depth picture has: violet where the wood is deeper than in the job as
written, orange where it stands higher, both told apart by every common colour blindness; grey where nothing changes.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from toolpaths.common.units import MM_PER_INCH, Units, show
from toolpaths.reports.compare.compared import Picture
from toolpaths.reports.compare.difference_map import (
    Box,
    change_of,
    changed_within,
    closest,
    coloured,
    heights_within,
    legend,
    strongest,
)
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import Landmarks, landmarks_of, spaced
from toolpaths.reports.pictures.picture_pen import INK, measure, placed_axes, say
from toolpaths.reports.text.words import file_part, plain
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 2000
_DPI = 200
_LEFT, _RIGHT, _HEAD, _GAP, _LOWER, _AXIS, _FOOT = 110, 220, 150, 120, 380, 95, 20
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
        sides.append(_Side(setup, there, change, marks, closest(change, _CLOSE, _CLOSE * _LOWER / _thirds())))
    if not sides:
        return None
    name = f"difference-{file_part(label)}.png"
    return Picture(name, _drawn(written, sides, label, deeper, higher), deeper, higher)


def _thirds() -> int:
    """Width of a close-up, pixels."""
    return (WIDTH - _LEFT - _RIGHT - 2 * 70) // 3


def _drawn(written: Outcome, sides: list[_Side], label: str, deeper: float, higher: float) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    cols = WIDTH - _LEFT - _RIGHT
    tall = [_rows(side.marks.view, cols) for side in sides]
    band = [rows + _GAP + _LOWER + _AXIS for rows in tall]
    size = (WIDTH, _HEAD + sum(band) + _FOOT)
    figure = Figure(figsize=(size[0] / _DPI, size[1] / _DPI), dpi=_DPI, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    units = written.job.units
    limit = max(float(np.abs(s.change.heights).max()) for s in sides)
    _heading(figure, written, label, size, (deeper, higher))
    top = _HEAD
    for side, rows, high in zip(sides, tall, band, strict=True):
        _whole(placed_axes(figure, size, (_LEFT, top, cols, rows)), side, (cols, rows), limit, units)
        _legend(placed_axes(figure, size, (WIDTH - 170, top, 34, high - _AXIS)), limit, units)
        _closeups(figure, size, top + rows + _GAP, side, label, limit, units)
        top += high
    out = io.BytesIO()
    with warnings.catch_warnings():
        # A title may hold letters that the font lacks; a box stands for them.
        warnings.simplefilter("ignore", UserWarning)
        canvas.print_png(  # type: ignore[no-untyped-call]
            out, metadata={"Software": None}, pil_kwargs={"compress_level": 4}
        )
    return out.getvalue()


def _rows(view: Box, cols: int) -> int:
    return min(500, max(110, round(cols * (view[3] - view[1]) / (view[2] - view[0]))))


def _heading(figure: Figure, written: Outcome, label: str, size: tuple[int, int], volumes: tuple[float, float]) -> None:
    deeper, higher = (_volume(v, written.job.units) for v in volumes)
    y = 1 - 40 / size[1]
    figure.text(
        _LEFT / WIDTH,
        y,
        f"{plain(written.job.title, 70)}   ·   {plain(label, 60)} against the job as written",
        size=10.5,
        weight="bold",
        color=INK,
        va="center",
        parse_math=False,
    )
    figure.text(
        _LEFT / WIDTH,
        y - 40 / size[1],
        f"it removes {deeper} more and leaves {higher} more   ·   job {written.job_hash[:12]} as written",
        size=7.5,
        color=INK,
        va="center",
        parse_math=False,
    )


def _volume(mm3: float, units: Units) -> str:
    return f"{mm3 / MM_PER_INCH**3:.4f} in³" if units == "in" else f"{mm3:.1f} mm³"


def _show(axes: Axes, colours: shades.Pixels, box: Box) -> None:
    axes.imshow(
        colours, extent=(box[0], box[2], box[1], box[3]), origin="upper", interpolation="none", aspect="auto", zorder=0
    )
    axes.set_xlim(box[0], box[2])
    axes.set_ylim(box[1], box[3])


def _whole(axes: Axes, side: _Side, cells: tuple[int, int], limit: float, units: Units) -> None:
    from matplotlib.patches import Rectangle

    box = side.marks.view
    _show(axes, coloured(strongest(side.change, box, *cells), limit), box)
    x0, y0, x1, y1 = box
    if side.marks.board is not None:
        closed = np.vstack([side.marks.board, side.marks.board[:1]])
        axes.plot(closed[:, 0], closed[:, 1], color=INK, linewidth=0.6, zorder=3)
    measure(axes.xaxis, units, x0, x1, 12)
    measure(axes.yaxis, units, y0, y1, 4)
    axes.set_xlabel(f"setup {side.written.context.setup.name}, from the nut, {units}", size=7, color=INK, labelpad=2)
    pixel = (x1 - x0) / cells[0]
    for name, x in spaced(side.marks.frets_at(y1), 34 * pixel):
        axes.plot([x, x], [y1, y1 + (y1 - y0) * 0.03], color=INK, linewidth=0.6, clip_on=False)
        say(axes, x, y1 + (y1 - y0) * 0.05, name, 6.5, ha="center", va="bottom")
    a, b, c, d = side.close
    style = {"fill": False, "edgecolor": INK, "linewidth": 0.9, "zorder": 5}
    axes.add_patch(Rectangle((a, b), c - a, d - b, **style))  # type: ignore[arg-type]


def _closeups(
    figure: Figure, size: tuple[int, int], top: int, side: _Side, label: str, limit: float, units: Units
) -> None:
    """As written, with the other bit, and what that changes, side by side."""
    wide, box = _thirds(), side.close
    table = shades.colour_table()
    face = side.written.context.face
    a, b = (heights_within(one, box, wide, _LOWER) for one in (side.written, side.variant))
    pictures = [
        ("as written", shades.painted(a, face, table)),
        (f"with {plain(label, 40)}", shades.painted(b, face, table)),
        ("what that changes", coloured(changed_within(a, b), limit)),
    ]
    times = (side.marks.view[2] - side.marks.view[0]) / (WIDTH - _LEFT - _RIGHT) / (_CLOSE / wide)
    for k, (words, colours) in enumerate(pictures):
        axes = placed_axes(figure, size, (_LEFT + k * (wide + 70), top, wide, _LOWER))
        _show(axes, colours, box)
        measure(axes.xaxis, units, box[0], box[2], 5)
        measure(axes.yaxis, units, box[1], box[3], 4)
        more = f", the framed place, {times:.0f} times larger" if k == 0 else ""
        axes.set_title(f"{words}{more}", size=7.5, color=INK, loc="left", pad=5, parse_math=False)


def _legend(axes: Axes, limit: float, units: Units) -> None:
    """The colours of differences, with their sizes."""
    colours, places = legend(limit)
    axes.imshow(colours, extent=(0, 1, -1, 1), aspect="auto", interpolation="none")
    axes.set_xticks([])
    ticks = [(p, f"{'+' if v > 0 else '-'}{show(abs(v), units)}") for p, v in places]
    axes.yaxis.tick_right()
    axes.set_yticks([p for p, _ in [*ticks, (0.0, "")]], [words for _, words in [*ticks, (0.0, "the same")]])
    axes.tick_params(labelsize=6, colors=INK, length=2)
    say(axes, 0.5, 1.0, "left standing", 6, ha="center", va="bottom", offset=(0, 3))
    say(axes, 0.5, -1.0, "deeper", 6, ha="center", va="top", offset=(0, -3))
