"""Shapes of position markers: outlines around the place of each."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from toolpaths.common.errors import FeatureError
from toolpaths.common.units import marked
from toolpaths.geometry.loop import Loop
from toolpaths.instrument.boards import crossings, half_width
from toolpaths.instrument.fans import FretLine
from toolpaths.job.job import Instrument

Points = list[tuple[float, float]]


def block(x: float, y: float, length: float, width: float) -> Points:
    """A rectangle, its length along the board, counter-clockwise. mm."""
    a, b = length / 2, width / 2
    return [(x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b)]


def diamond(x: float, y: float, length: float, width: float) -> Points:
    """A square on its corner, drawn out to a length along the board and a width across, counter-clockwise. mm."""
    return [(x - length / 2, y), (x, y - width / 2), (x + length / 2, y), (x, y + width / 2)]


def trapezoid(instrument: Instrument, near: FretLine, far: FretLine, inset: float) -> Points:
    """Between two lines across the board, its sides parallel to the edges and `inset` from them, counter-clockwise. mm.

    The distance is taken square to the edge: straight across it is inset / cos(a), a being the edge's angle to the
    centreline. Raises FeatureError where nothing is left between the sides, or between the lines.
    """
    x0, x1 = near.x, far.x
    low, high = float(half_width(instrument, x0)), float(half_width(instrument, x1))
    across = inset * math.hypot(x1 - x0, high - low) / (x1 - x0)
    if min(low, high) <= across:
        raise FeatureError(
            f"an inset of {marked(inset)} leaves nothing of the marker: the board is "
            f"{marked(2 * min(low, high))} wide there",
            "make the inset smaller",
            "inset",
        )
    (near_bass, near_treble), (far_bass, far_treble) = (crossings(instrument, at, -across) for at in (near, far))
    if near_bass[0] >= far_bass[0] or near_treble[0] >= far_treble[0]:
        raise FeatureError(
            "the gap leaves nothing of the marker at one edge of the board",
            "make the gap smaller, or leave that fret out",
            "gap",
        )
    return [near_bass, far_bass, far_treble, near_treble]


def rounded(points: Sequence[tuple[float, float]], radius: float) -> Loop:
    """An outline of straight edges, counter-clockwise, with each corner rounded by an arc that touches both edges.

    The arc of a corner that turns by a begins r tan(a / 2) before it. Raises FeatureError where an edge is too
    short for the arcs at its two ends.
    """
    corner = np.asarray(points, dtype=np.float64)
    before, after = corner - np.roll(corner, 1, axis=0), np.roll(corner, -1, axis=0) - corner
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], np.sum(before * after, axis=1))
    cut = radius * np.tan(np.abs(turn) / 2)
    length = np.hypot(*after.T)
    if np.any(cut + np.roll(cut, -1) > length + 1e-9):
        raise FeatureError(
            f"the marker has an edge too short for two corners of radius {marked(radius)}",
            "take smaller bits, or make the marker larger",
            "bit",
        )
    into, out = before / np.roll(length, 1)[:, None], after / length[:, None]
    ends = np.stack([corner - cut[:, None] * into, corner + cut[:, None] * out], axis=1).reshape(-1, 2)
    bulges = np.stack([np.tan(turn / 4), np.zeros(len(corner))], axis=1).ravel()
    # Where two arcs meet in the middle of an edge nothing is left of it.
    keep = np.hypot(*(np.roll(ends, -1, axis=0) - ends).T) > 1e-7
    return Loop(ends[keep], bulges[keep])
