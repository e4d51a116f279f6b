"""Differences in height between two runs of one job: the map, the place where most differs, and the
exact heights there, finer than the map.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolpaths.gcode.reader.trace import Moves
from toolpaths.reports.pictures import shades
from toolpaths.reports.pictures.landmarks import Box
from toolpaths.reports.pictures.shades import Heights
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.simulation.simulate import simulate
from toolpaths.verification.outcome import SetupReport

SAME = 2e-3
"""A difference in height below this is none, mm."""
_PALE = 0.22
"""Where the colours begin on each side of the middle, as part of a half: the least difference is seen too."""
_UNCHANGED = (226, 228, 230)
_BLOCK = 6.0
"""Where most wood differs is sought in squares of this size, mm."""


def change_of(written: SetupReport, variant: SetupReport) -> DepthMap | None:
    """Heights of the variant less those of the job as written, mm: below 0 where the variant is deeper.

    What is cut of the bed is no wood. None where all cells are alike.
    """
    a, b = written.after.heights, variant.after.heights
    if a.shape != b.shape:
        return None
    change = difference(a, b)
    return written.after.with_heights(change) if change.any() else None


def closest(change: DepthMap, width: float, height: float) -> Box:
    """A box of that size (mm) around the place where most wood differs."""
    n = max(1, round(_BLOCK / change.pitch))
    h = np.abs(change.heights)
    sums = np.add.reduceat(np.add.reduceat(h, np.arange(0, h.shape[0], n), axis=0), np.arange(0, h.shape[1], n), axis=1)
    j, i = np.unravel_index(int(np.argmax(sums)), sums.shape)
    block = h[j * n : (j + 1) * n, i * n : (i + 1) * n]
    rows, cols = np.nonzero(block)
    x = change.x0 + (i * n + float(cols.mean())) * change.pitch
    y = change.y0 + (j * n + float(rows.mean())) * change.pitch
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def difference(written: Heights, variant: Heights) -> Heights:
    """Heights of the variant less those as written, mm, as in `change_of`; NaN where one of them is."""
    change = np.maximum(variant, np.float32(0)) - np.maximum(written, np.float32(0))
    change[np.abs(change) < SAME] = 0
    return np.asarray(change, dtype=np.float32)


def heights_within(setup: SetupReport, box: Box, cols: int, rows: int) -> Heights:
    """Heights (rows, cols) over a box after a setup, rows downward: exact at the middle of each picture cell, however
    small; from the map where the report keeps no more. NaN beside the blank."""
    standing = setup.standing
    if standing is None:
        return shades.lowest(setup.after, box, cols, rows)
    x0, y0, x1, _ = box
    pitch = (x1 - x0) / cols
    found = DepthMap(np.full((rows, cols), standing.top, dtype=np.float32), x0 + pitch / 2, y0 + pitch / 2, pitch)
    if pieces := list(standing.around(box)):
        numbers = {bit: number for number, bit in enumerate(dict.fromkeys(bit for bit, _, _ in pieces))}
        start, end = (np.concatenate([piece[i] for piece in pieces]) for i in (1, 2))
        number = np.repeat([numbers[bit] for bit, _, _ in pieces], [len(starts) for _, starts, _ in pieces])
        found = simulate(found, Moves(start, end, np.zeros_like(number), number), {n: b for b, n in numbers.items()})
    bx0, by0, bx1, by1 = standing.box
    x, y = found.xs, found.ys
    beside = ((y < by0) | (y > by1))[:, None] | ((x < bx0) | (x > bx1))[None, :]
    return np.where(beside, np.float32(np.nan), found.heights)[::-1]


def strongest(change: DepthMap, box: Box, cols: int, rows: int) -> Heights:
    """The map over a box at cols x rows picture cells (rows downward): of all cells under one, the value that is
    farthest from 0, so that no narrow strip vanishes; NaN beside the map."""
    low = shades.lowest(change, box, cols, rows)
    high = -shades.lowest(change.with_heights(-change.heights), box, cols, rows)
    return np.where(-low > high, low, high)


def coloured(change: Heights, limit: float) -> shades.Pixels:
    """(rows, cols, 4) colours of differences in mm, the strongest at `limit`; NaN: see-through."""
    from matplotlib import colormaps

    known = np.isfinite(change)
    d = np.where(known, change, 0.0)
    out = (colormaps["PuOr_r"](_place(d, limit), bytes=True)).astype(np.uint8)
    out[np.abs(d) < SAME, :3] = _UNCHANGED
    out[..., 3] = np.where(known, 255, 0)
    return out


def legend(limit: float) -> tuple[shades.Pixels, list[tuple[float, float]]]:
    """(401, 1, 4) colours from left standing to deeper, and (place from 1 to -1, difference in mm) of some of them."""
    from matplotlib import colormaps

    part = np.linspace(1.0, -1.0, 401)[:, None]
    colours = colormaps["PuOr_r"](0.5 + 0.5 * part, bytes=True).astype(np.uint8)
    colours[np.abs(part) < _PALE, :3] = _UNCHANGED
    places = [(_PALE + (1 - _PALE) * (v / limit) ** 0.5, v) for v in (limit, limit / 4, limit / 25)]
    return colours, [*places, *((-p, -v) for p, v in places)]


# Private


def _place(change: NDArray[np.floating], limit: float) -> NDArray[np.float64]:
    """Place on the map of colours, 0 to 1: by the root of the difference, and never close to the pale middle."""
    part = np.sqrt(np.clip(np.abs(change) / limit, 0.0, 1.0))
    return np.asarray(0.5 + 0.5 * np.sign(change) * (_PALE + (1 - _PALE) * part))
