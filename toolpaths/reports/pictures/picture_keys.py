"""The key of a depth picture: what each mark, pattern and holder means, in lines below the picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.holder_keys import Shape, holder_keys
from toolpaths.reports.pictures.landmarks import landmarks_of
from toolpaths.reports.pictures.picture_holders import draw
from toolpaths.reports.pictures.picture_pen import FAINT, INK, frame, say
from toolpaths.verification.outcome import Outcome, SetupReport

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Mark = Literal["waste", "through", "above", "edge", "edge not cut"] | Shape
_SWATCH, _GAP, _LETTER = 56, 44, 10.3
"""Pixels: of a swatch with the room beside it, between two entries, and of a letter of these words on average."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the key."""

    mark: Mark
    words: str

    @property
    def width(self) -> float:
        """Pixels that it takes."""
        return _SWATCH + _LETTER * len(self.words) + _GAP


def key_entries(outcome: Outcome, setup: SetupReport) -> list[Entry]:
    """What is drawn in one setup's picture."""
    marks, context = landmarks_of(outcome, setup), setup.context
    out: list[Entry] = []
    if marks.parts:
        out.append(Entry("waste", "waste: paler than the part"))
    out.append(Entry("through", "cut through"))
    if shades.stands_above(setup.after.heights, context.face):
        out.append(Entry("above", f"above the {context.surface}"))
    if marks.board is not None:
        cut = marks.board_is_cut
        out.append(
            Entry("edge" if cut else "edge not cut", f"edge of the part{'' if cut else ', not cut in this setup'}")
        )
    return [*out, *(Entry(key.shape, key.words) for key in holder_keys(setup, outcome.job.units))]


def key_lines(entries: Sequence[Entry], columns: int) -> list[list[Entry]]:
    """The entries in lines of at most so many pixels; one that is longer has a line of its own."""
    lines: list[list[Entry]] = [[]]
    for entry in entries:
        if lines[-1] and sum(e.width for e in (*lines[-1], entry)) > columns:
            lines.append([])
        lines[-1].append(entry)
    return lines


def draw_keys(axes: Axes, lines: Sequence[Sequence[Entry]], columns: int, high: int, table: shades.Pixels) -> None:
    """Draws them on axes of `columns` pixels, each line `high`."""
    axes.set_xlim(0, columns)
    axes.set_ylim(0, high * len(lines))
    axes.axis("off")
    for row, entries in enumerate(lines):
        x, middle = 0.0, high * (len(lines) - row - 0.5)
        for entry in entries:
            _swatch(axes, entry.mark, (x + 1, middle - 14, x + 40, middle + 14), table)
            say(axes, x + _SWATCH - 6, middle, entry.words, 6.5)
            x += entry.width


# Private


def _swatch(axes: Axes, mark: Mark, box: tuple[float, float, float, float], table: shades.Pixels) -> None:
    x0, y0, x1, y1 = box
    edge = {"edgecolor": FAINT, "linewidth": 0.6, "clip_on": False}
    if mark == "waste":
        pale = shades.paled(table[None, :1], np.ones((1, 1), dtype=bool))[0, 0]
        frame(axes, box, fill=True, facecolor=tuple(pale / 255), **edge)
    elif mark == "through":
        frame(axes, box, hatch="/////", **edge)
        frame(axes, box, edgecolor=INK, linewidth=1.0, clip_on=False)
    elif mark == "above":
        frame(axes, box, fill=True, facecolor=shades.above_colour(), **edge)
    elif mark == "edge" or mark == "edge not cut":
        style = "-" if mark == "edge" else (0, (4, 3))
        axes.plot([x0, x1], [(y0 + y1) / 2] * 2, color=INK, linewidth=1.0, linestyle=style, clip_on=False)
    else:
        middle = (x0 + x1) / 2
        round_box = (middle - 14, y0, middle + 14, y1)
        draw(axes, mark, round_box if mark in ("screw", "pin") else box, 1.0)
