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
from numpy.typing import NDArray

from toolpaths.core.depthmap import DepthMap
from toolpaths.core.outcome import Outcome, SetupReport
from toolpaths.core.units import MM_PER_INCH, Units, show
from toolpaths.reports import shades
from toolpaths.reports.compared import Picture
from toolpaths.reports.landmarks import Landmarks, landmarks_of, spaced
from toolpaths.reports.picture_pen import FAINT, INK, measure, say
from toolpaths.reports.words import file_part, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Box = tuple[float, float, float, float]
Heights = NDArray[np.float32]

WIDTH = 2000
_DPI = 200
_LEFT, _RIGHT, _HEAD, _GAP, _LOWER, _AXIS, _FOOT = 110, 190, 150, 120, 380, 95, 20
_SAME = 2e-3
"""A difference in height below this is none, mm."""
_PALE = 0.22
"""Where the colours begin on each side of the middle, as part of a half: the least difference is seen too."""
_UNCHANGED = (226, 228, 230)
_CLOSE = 14.0
"""Width of the close-ups, mm."""
_BLOCK = 6.0
"""Where most wood differs is sought in squares of this size, mm."""


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
    other = {s.scene.setup.name: s for s in variant.setups}
    for setup in written.setups:
        there = other.get(setup.scene.setup.name)
        change = None if there is None else _change(setup, there)
        if there is None or change is None:
            continue
        cell = change.pitch**2
        deeper -= float(np.minimum(change.heights, 0).sum(dtype=np.float64)) * cell
        higher += float(np.maximum(change.heights, 0).sum(dtype=np.float64)) * cell
        marks = landmarks_of(written, setup)
        sides.append(_Side(setup, there, change, marks, _closest(change)))
    if not sides:
        return None
    name = f"difference-{file_part(label)}.png"
    return Picture(name, _drawn(written, sides, label, deeper, higher), deeper, higher)


def strongest(change: DepthMap, box: Box, cols: int, rows: int) -> Heights:
    """The map over a box at cols x rows picture cells (rows downward): of all cells under one, the value that is
    farthest from 0, so that no narrow strip vanishes; NaN beside the map."""
    low = shades.lowest(change, box, cols, rows)
    high = -shades.lowest(change.with_heights(-change.heights), box, cols, rows)
    return np.where(-low > high, low, high)


def coloured(change: Heights, limit: float) -> shades.Pixels:
    """(rows, cols, 4) colours of differences in mm; `limit`: the one that has the strongest colour. NaN: see-through."""
    from matplotlib import colormaps

    known = np.isfinite(change)
    d = np.where(known, change, 0.0)
    out = (colormaps["PuOr_r"](_place(d, limit), bytes=True)).astype(np.uint8)
    out[np.abs(d) < _SAME, :3] = _UNCHANGED
    out[..., 3] = np.where(known, 255, 0)
    return out


def _place(change: NDArray[np.floating], limit: float) -> NDArray[np.float64]:
    """Place on the map of colours, 0 to 1: by the root of the difference, and never close to the pale middle."""
    part = np.sqrt(np.clip(np.abs(change) / limit, 0.0, 1.0))
    return np.asarray(0.5 + 0.5 * np.sign(change) * (_PALE + (1 - _PALE) * part))


def _change(written: SetupReport, variant: SetupReport) -> DepthMap | None:
    """Heights of the variant less those of the job as written; what is cut of the bed is no wood. None where alike."""
    a, b = written.after.heights, variant.after.heights
    if a.shape != b.shape:
        return None
    change = np.maximum(b, 0) - np.maximum(a, 0)
    change[np.abs(change) < _SAME] = 0
    return written.after.with_heights(change) if change.any() else None


def _closest(change: DepthMap) -> Box:
    """A box around the place where most wood differs."""
    n = max(1, round(_BLOCK / change.pitch))
    h = np.abs(change.heights)
    sums = np.add.reduceat(np.add.reduceat(h, np.arange(0, h.shape[0], n), axis=0), np.arange(0, h.shape[1], n), axis=1)
    j, i = np.unravel_index(int(np.argmax(sums)), sums.shape)
    block = h[j * n : (j + 1) * n, i * n : (i + 1) * n]
    rows, cols = np.nonzero(block)
    x = change.x0 + (i * n + float(cols.mean())) * change.pitch
    y = change.y0 + (j * n + float(rows.mean())) * change.pitch
    tall = _CLOSE * _LOWER / _thirds()
    return (x - _CLOSE / 2, y - tall / 2, x + _CLOSE / 2, y + tall / 2)


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
        _whole(_panel(figure, size, (_LEFT, top, cols, rows)), side, (cols, rows), limit, units)
        _legend(_panel(figure, size, (WIDTH - 130, top, 34, high - _AXIS)), limit, units)
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
        f"{deeper} more are cut away, {higher} more are left standing   ·   job {written.job_hash[:12]} as written",
        size=7.5,
        color=INK,
        va="center",
        parse_math=False,
    )


def _volume(mm3: float, units: Units) -> str:
    return f"{mm3 / MM_PER_INCH**3:.4f} in³" if units == "in" else f"{mm3:.1f} mm³"


def _panel(figure: Figure, size: tuple[int, int], panel: tuple[int, int, int, int]) -> Axes:
    left, top, width, height = panel
    axes = figure.add_axes((left / size[0], 1 - (top + height) / size[1], width / size[0], height / size[1]))
    axes.tick_params(labelsize=7, colors=INK, length=3)
    for spine in axes.spines.values():
        spine.set_color(FAINT)
        spine.set_linewidth(0.6)
    return axes


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
    axes.set_xlabel(f"setup {side.written.scene.setup.name}, from the nut, {units}", size=7, color=INK, labelpad=2)
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
    face = side.written.scene.face
    pictures = [
        ("as written", shades.painted(shades.lowest(side.written.after, box, wide, _LOWER), face, table)),
        (f"with {plain(label, 40)}", shades.painted(shades.lowest(side.variant.after, box, wide, _LOWER), face, table)),
        ("what that changes", coloured(strongest(side.change, box, wide, _LOWER), limit)),
    ]
    times = (side.marks.view[2] - side.marks.view[0]) / (WIDTH - _LEFT - _RIGHT) / (_CLOSE / wide)
    for k, (words, colours) in enumerate(pictures):
        axes = _panel(figure, size, (_LEFT + k * (wide + 70), top, wide, _LOWER))
        _show(axes, colours, box)
        measure(axes.xaxis, units, box[0], box[2], 5)
        measure(axes.yaxis, units, box[1], box[3], 4)
        more = f", the framed place, {times:.0f} times larger" if k == 0 else ""
        axes.set_title(f"{words}{more}", size=7.5, color=INK, loc="left", pad=5, parse_math=False)


def _legend(axes: Axes, limit: float, units: Units) -> None:
    """The colours of differences, with their sizes."""
    from matplotlib import colormaps

    part = np.linspace(1.0, -1.0, 401)[:, None]
    colours = colormaps["PuOr_r"](0.5 + 0.5 * part, bytes=True)
    colours[np.abs(part) < _PALE, :3] = _UNCHANGED
    axes.imshow(colours, extent=(0, 1, -1, 1), aspect="auto", interpolation="none")
    axes.set_xticks([])
    shown = [limit, limit / 4, limit / 25]
    places = [(_PALE + (1 - _PALE) * (v / limit) ** 0.5, v) for v in shown]
    ticks = [(p, f"+{show(v, units)}") for p, v in places] + [(-p, f"-{show(v, units)}") for p, v in places]
    axes.yaxis.tick_right()
    axes.set_yticks([p for p, _ in [*ticks, (0.0, "")]], [words for _, words in [*ticks, (0.0, "the same")]])
    axes.tick_params(labelsize=6, colors=INK, length=2)
    say(axes, 0.5, 1.0, "left standing", 6, ha="center", va="bottom", offset=(0, 3))
    say(axes, 0.5, -1.0, "deeper", 6, ha="center", va="top", offset=(0, -3))
