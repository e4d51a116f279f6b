"""Depths as colours: a perceptually uniform map, finer where shallow, so that a scored line and a through cut
can both be read in one picture. What is cut through shows as hatched paper, what stands above the face as pale green.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from toolpaths.common.arrays import Array, Mask
from toolpaths.simulation.depth_map import DepthMap
from toolpaths.verification.outcome import THROUGH as THROUGH

Heights = NDArray[np.float32]
Pixels = NDArray[np.uint8]

_ABOVE = 0.02
_ABOVE_COLOUR = (150, 176, 160)
_WOOD, _WASTE = (233, 221, 203), (222, 224, 226)
_PAPER, _STROKE, _RIM = (255, 255, 255), (150, 150, 150), (29, 39, 51)
_HATCH = 9
_POWER = 0.5


def scale_of(depth: Array | float) -> Array:
    """Place of a depth (fraction of the deepest, 0 to 1) on the colour scale, 0 to 1: its square root."""
    return np.asarray(np.clip(depth, 0.0, 1.0) ** _POWER)


def colour_table() -> Pixels:
    """(256, 3) colours from the face (light) to the deepest (dark)."""
    from matplotlib import colormaps

    # The lightest colour is left out: on paper it can hardly be told from white.
    fractions = np.linspace(0.985, 0.0, 256)
    return np.asarray(colormaps["magma"](fractions, bytes=True)[:, :3], dtype=np.uint8)


def rules() -> dict[str, float | tuple[int, int, int]]:
    """Limits in mm and colours (red, green, blue) by which a page paints in the same way."""
    return {
        "through": THROUGH,
        "above": _ABOVE,
        "aboveColour": _ABOVE_COLOUR,
        "paper": _PAPER,
        "stroke": _STROKE,
        "rim": _RIM,
    }


def lowest(depth_map: DepthMap, box: tuple[float, float, float, float], cols: int, rows: int) -> Heights:
    """The map over a box x0, y0, x1, y1 at cols x rows picture cells (rows downward from y1), mm.

    Each cell takes the lowest height under it, so that no line vanishes; NaN beside the map.
    """
    x0, y0, x1, y1 = box
    h = depth_map.heights
    columns, in_x, stop_x = _beneath((x0, x1), cols, depth_map.x0, depth_map.pitch, h.shape[1])
    lines, in_y, stop_y = _beneath((y0, y1), rows, depth_map.y0, depth_map.pitch, h.shape[0])
    out = np.full((rows, cols), np.nan, dtype=np.float32)
    if in_x.any() and in_y.any():
        part = np.minimum.reduceat(h[:stop_y], lines, axis=0)
        part = np.minimum.reduceat(part[:, :stop_x], columns, axis=1)
        out[np.ix_(in_y, in_x)] = part[np.ix_(in_y, in_x)]
    return out[::-1]


def painted(heights: Heights, face: float, table: Pixels) -> Pixels:
    """(rows, cols, 4) colours of heights above the bed, transparent where NaN. `face`: height of depth 0, mm."""
    known = np.isfinite(heights)
    h = np.where(known, heights, face)
    level = (scale_of((face - h) / max(face, 1e-6)) * 255).round().astype(np.uint8)
    out = np.empty((*heights.shape, 4), dtype=np.uint8)
    out[..., :3] = table[level]
    out[..., 3] = np.where(known, 255, 0)
    out[h > face + _ABOVE, :3] = _ABOVE_COLOUR
    through = h <= THROUGH
    out[through, :3] = hatch(*heights.shape)[through]
    return out


def hatch(rows: int, cols: int) -> Pixels:
    """(rows, cols, 3) paper with fine diagonal strokes: nothing stands here."""
    diagonal = (np.arange(rows)[:, None] + np.arange(cols)[None, :]) % _HATCH < 1
    return np.array([_PAPER, _STROKE], dtype=np.uint8)[diagonal.astype(np.intp)]


def rimmed(colours: Pixels, heights: Heights) -> Pixels:
    """The colours with a dark rim around what is cut through, where wood begins: open is not the same as deep."""
    wood, rim = np.isfinite(heights) & (heights > THROUGH), np.zeros(heights.shape, dtype=bool)
    rim[1:] |= wood[:-1]
    rim[:-1] |= wood[1:]
    rim[:, 1:] |= wood[:, :-1]
    rim[:, :-1] |= wood[:, 1:]
    out = colours.copy()
    out[rim & (heights <= THROUGH), :3] = _RIM
    return out


def paled(colours: Pixels, mask: Mask) -> Pixels:
    """The colours with those under the mask faded towards grey, as waste is shown."""
    out = colours.copy()
    part = out[mask, :3].astype(np.float32)
    out[mask, :3] = (part + (np.array(_WASTE, dtype=np.float32) - part) * 0.7).astype(np.uint8)
    return out


def cut_open(line: Heights, heights: Array, face: float, table: Pixels) -> Pixels:
    """(rows, cols, 4) colours of a board sawn open along a line of heights (cols,), seen from the side.

    `heights` (rows,) are those of the picture's rows, mm above the bed. Wood has one colour; what is cut away
    below the face has the colour of its depth, as on the map.
    """
    levels = np.broadcast_to(heights[:, None], (len(heights), len(line))).astype(np.float32)
    out = painted(levels, face, table)
    out[(levels > face) | (levels < 0) | ~np.isfinite(line)[None, :]] = 255
    out[(levels <= line[None, :]) & (levels >= 0), :3] = _WOOD
    gone = (levels < face) & (levels >= 0) & (line[None, :] <= THROUGH)
    out[gone, :3] = hatch(*levels.shape)[gone]
    return out


def above_colour() -> tuple[float, float, float]:
    """Colour of what stands above the face, each part from 0 to 1."""
    red, green, blue = _ABOVE_COLOUR
    return red / 255, green / 255, blue / 255


def stands_above(heights: Heights, face: float) -> bool:
    """Whether any wood stands above the finished face."""
    return bool(np.nanmax(heights, initial=-np.inf) > face + _ABOVE)


def _beneath(
    ends: tuple[float, float], count: int, first: float, pitch: float, size: int
) -> tuple[NDArray[np.int64], Mask, int]:
    """Along x or y, for each of `count` picture cells: its first map cell, and whether that lies on the map; and where
    the map cells of the last one end."""
    edges = np.floor((np.linspace(*ends, count + 1) - first) / pitch + 0.52).astype(np.int64)
    stop = int(np.clip(edges[-1], 1, size))
    return np.clip(edges[:-1], 0, stop - 1), (edges[:-1] >= 0) & (edges[:-1] < size), stop
