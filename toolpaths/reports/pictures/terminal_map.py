"""The depth map in a terminal: two cells to a character in colour, or one character a depth without.

Each cell shows the lowest height under it, so that no scored line vanishes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from toolpaths.common.units import Units, show
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import landmarks_of, spaced
from toolpaths.verification.outcome import Outcome, SetupReport

WIDEST, NARROWEST = 160, 30
"""Columns that a map is drawn in at most, and at least."""
MARKS = " .:-=+*%@"
"""Depths without colour, from the face to the deepest."""
THROUGH, ABOVE = "#", "^"
_GREY, _UPPER = (128, 128, 128), "▀"
_STOPS = 9
_RESET = "\x1b[0m"


def terminal_map(outcome: Outcome, columns: int, colour: bool) -> Iterator[str]:
    """Lines of every setup's map, at most `columns` wide: blocks of 24-bit colour, or plain ASCII characters."""
    for setup in outcome.setups:
        yield f"Setup {setup.context.setup.name}: depth below the {setup.context.surface}"
        yield from _setup(outcome, setup, max(NARROWEST, min(columns, WIDEST)), colour)
        yield ""


def _setup(outcome: Outcome, setup: SetupReport, columns: int, colour: bool) -> Iterator[str]:
    x0, y0, x1, y1 = setup.context.stock_box
    cell = (x1 - x0) / columns
    # A character is about twice as high as it is wide.
    lines = max(1, math.ceil((y1 - y0) / cell / 2))
    rows = 2 * lines if colour else lines
    heights = shades.lowest(setup.seen, (x0, y0, x1, y1), columns, rows)
    face = setup.context.face
    yield _fret_numbers(outcome, setup, columns)
    if colour:
        pixels = _pixels(heights, face)
        for upper, lower in zip(pixels[0::2], pixels[1::2], strict=True):
            yield "".join(_block(a, b) for a, b in zip(upper, lower, strict=True)) + _RESET
    else:
        for row in _letters(heights, face):
            yield row.rstrip() or " "
    yield from _legend(outcome.job.units, face, colour)


def _pixels(heights: shades.Heights, face: float) -> shades.Pixels:
    out = shades.painted(heights, face, shades.colour_table())[..., :3]
    out[np.isfinite(heights) & (heights <= shades.THROUGH)] = _GREY
    return out


def _block(upper: shades.Pixels, lower: shades.Pixels) -> str:
    (r, g, b), (s, h, c) = upper.tolist(), lower.tolist()
    return f"\x1b[38;2;{r};{g};{b};48;2;{s};{h};{c}m{_UPPER}"


def _letters(heights: shades.Heights, face: float) -> list[str]:
    known = np.isfinite(heights)
    h = np.where(known, heights, face)
    part = shades.scale_of((face - h) / max(face, 1e-6))
    # What is cut at all shows, however shallow.
    step = np.where(face - h > 0.02, np.maximum(np.ceil(part * (len(MARKS) - 1)), 1), 0).astype(int)
    marks = np.array(list(MARKS))[np.minimum(step, len(MARKS) - 1)]
    marks = np.where(h <= shades.THROUGH, THROUGH, marks)
    marks = np.where(h > face + 0.02, ABOVE, marks)
    return ["".join(row) for row in marks]


def _fret_numbers(outcome: Outcome, setup: SetupReport, columns: int) -> str:
    """Numbers of the frets over their lines, as many as fit."""
    x0, _, x1, _ = setup.context.stock_box
    cell = (x1 - x0) / columns
    row = [" "] * columns
    for name, x in spaced(landmarks_of(outcome, setup).frets_at(0.0), 4 * cell):
        at = int((x - x0) / cell)
        for k, letter in enumerate(name):
            if 0 <= at + k < columns:
                row[at + k] = letter
    return "".join(row).rstrip() or " "


def _legend(units: Units, face: float, colour: bool) -> Iterator[str]:
    """What the colours or characters mean, in the job's units."""
    count = _STOPS if colour else len(MARKS)
    # The scale is the square root of the depth: its steps are squares.
    depths = [face * (k / (count - 1)) ** 2 for k in range(count)]
    if colour:
        table = shades.colour_table()
        colours = [(*table[round(255 * k / (count - 1))].tolist(), show(d, units)) for k, d in enumerate(depths)]
        colours.append((*_GREY, "cut through"))
        swatches = [f"\x1b[48;2;{r};{g};{b}m  {_RESET} {words}" for r, g, b, words in colours]
        yield "  ".join(swatches[:5])
        yield "  ".join(swatches[5:])
        return
    yield ", ".join(f"'{m}' to {show(d, units)}" for m, d in zip(MARKS[1:], depths[1:], strict=True))
    yield f"' ' the face, '{THROUGH}' cut through, '{ABOVE}' above the face"
