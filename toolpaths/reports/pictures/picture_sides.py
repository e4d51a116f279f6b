"""The side panels of the depth picture: a section along a line, and the legend of the colours."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from toolpaths.common.units import Units, show
from toolpaths.job.cut_kind import CutKind
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import Landmarks, spaced
from toolpaths.reports.pictures.picture_pen import (
    FAINT,
    INK,
    Size,
    measure,
    panel_title,
    round_step,
    say,
    show_pixels,
    unit_of,
)
from toolpaths.reports.text.words import origin_of, plain
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def section(axes: Axes, setup: SetupReport, marks: Landmarks, cells: Size, table: shades.Pixels, units: Units) -> None:
    """Depth along one line, as if the board were sawn open there. `cells`: width and height, pixels."""
    cols, rows = cells
    x0, _, x1, _ = setup.context.stock_box
    y, face, top = marks.section_y, setup.context.face, setup.context.top
    pitch = setup.after.pitch
    line = shades.lowest(setup.seen, (x0, y - pitch / 2, x1, y + pitch / 2), cols, 1)[0]
    high, low = max(top, face) * 1.04 + 0.02, -max(0.06 * face, 0.3)
    heights = np.linspace(high, low, rows)
    show_pixels(axes, shades.cut_open(line, heights, face, table), (x0, low, x1, high))
    axes.step(np.linspace(x0, x1, cols), np.maximum(line, low), color=INK, linewidth=0.6, where="mid")
    axes.axhline(0, color=INK, linewidth=1.2)
    axes.axhline(top, color=FAINT, linewidth=0.6, linestyle=(0, (4, 3)))
    say(axes, x1, 0, "bed", 6.5, offset=(4, 0))
    if top > face + 0.05:
        say(axes, x1, top, "blank", 6.5, color=FAINT, offset=(4, 0))
    measure(axes.xaxis, units, x0, x1, 8, f"from the {origin_of(setup)}")
    unit = unit_of(units)
    depths = np.arange(0, face / unit + 1e-9, round_step(face / unit, 5))
    axes.set_yticks(face - depths * unit, [f"{d:g}" for d in depths])
    axes.set_ylabel(f"depth, {units}", size=7.5, color=INK, labelpad=2)
    stretch = (rows / (high - low)) / (cols / (x1 - x0))
    where = ("the middle" if setup.context.apart else "the centreline") if abs(y) < 5e-3 else f"y {show(y, units)}"
    panel_title(axes, f"Section along {where}, depth drawn {stretch:.0f} times larger than length")
    for name, x in spaced(marks.frets_at(y), 25 * (x1 - x0) / cols):
        say(axes, x, high, name, 5.5, ha="center", va="bottom", offset=(0, 2))


def legend(axes: Axes, outcome: Outcome, setup: SetupReport, table: shades.Pixels) -> None:
    """The colour bar: depths on its left, the features' own depths on its right."""
    units, face = outcome.job.units, setup.context.face
    unit = unit_of(units)
    show_pixels(axes, table[:, None, :], (0, 1, 1, 0))
    axes.set_xticks([])
    in_mm, in_inches = (0, 0.1, 0.5, 1, 2, 4, 6, 10, 15, 20, 30, 50), (0, 0.005, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2)
    steps = in_mm if units == "mm" else in_inches
    shown = [d for d in steps if d * unit < face * 0.93] + [round(face / unit, 3)]
    axes.set_yticks([float(shades.scale_of(d * unit / face)) for d in shown], [f"{d:g}" for d in shown])
    panel_title(axes, f"depth, {units}\nfiner where shallow", pad=8, x=-0.9)
    for at, place, words in _beside_the_bar(setup, face, units):
        axes.plot([1, 1.35, 1.6], [at, at, place], color=INK, linewidth=0.6, clip_on=False)
        say(axes, 1.7, place, words, 6)


# Private

_LINE = 0.047
"""Height of a line beside the colour bar, as a part of the bar."""


def _beside_the_bar(setup: SetupReport, face: float, units: Units) -> list[tuple[float, float, str]]:
    """(place of the depth, middle of its words, words), from the face down: none covers another."""
    depths: dict[float, list[str]] = {}
    in_waste = {f.name for f in setup.context.setup.features if CutKind.screw_hole in f.cuts}
    for feature in sorted((f for f in setup.features if f.name not in in_waste), key=lambda f: f.deepest_mm):
        deep = face if feature.deepest_mm >= face - shades.THROUGH else round(feature.deepest_mm, 3)
        depths.setdefault(deep, []).append(plain(feature.name, 22))
    # Several of one depth stand below each other, the last with the depth.
    words = ["\n".join([*n[:-1], f"{n[-1]} {'through' if d == face else show(d, units)}"]) for d, n in depths.items()]
    places = [float(shades.scale_of(d / face)) for d in depths]
    half = [(text.count("\n") + 1) * _LINE / 2 for text in words]
    middles = list(places)
    for i in range(1, len(middles)):
        middles[i] = max(middles[i], middles[i - 1] + half[i - 1] + half[i])
    lowest = 1.0 + _LINE / 2
    for i in reversed(range(len(middles))):
        middles[i] = min(middles[i], lowest - half[i])
        lowest = middles[i] - half[i]
    return list(zip(places, middles, words, strict=True))
