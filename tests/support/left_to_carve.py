"""How much wood the hands take off a neck that its programs have left, from both maps and the neck's own section."""

from __future__ import annotations

import numpy as np
import shapely

from toolpaths.common.arrays import Array
from toolpaths.instrument.finished_neck import FinishedNeck
from toolpaths.verification.outcome import Outcome
from toolpaths.verification.wall_demands import neck_as_cut


def left_to_carve(outcome: Outcome) -> tuple[float, float]:
    """(cm3 on shaft and heel, on the headstock) that stand outside the finished neck within its trimmed outline.

    Wood between the floor of what the face has lost and the top of what the back has left; of that, what lies below
    the finished back. By summing columns, one a cell.
    """
    face, back = (next(s for s in outcome.setups if s.context.flipped == side) for side in (False, True))
    neck: FinishedNeck = neck_as_cut(face.context)
    xs, ys = np.meshgrid(face.after.xs, face.after.ys)
    x, y = xs.ravel(), ys.ravel()
    inside = shapely.contains_xy(neck.plan, x, y)
    x, y = x[inside], y[inside]
    from_face = face.context.glue - face.after.heights.ravel()[inside]
    to_back = _nearest(back.after.heights, back.after.xs, back.after.ys, x, -y)
    gone = np.maximum(from_face, neck.depth(x, y))
    cm3 = np.maximum(to_back - gone, 0.0) * face.after.pitch**2 / 1000
    return float(cm3[x >= 0].sum()), float(cm3[x < 0].sum())


def _nearest(heights: Array, xs: Array, ys: Array, x: Array, y: Array) -> Array:
    pitch = xs[1] - xs[0]
    cols = np.clip(np.rint((x - xs[0]) / pitch).astype(int), 0, len(xs) - 1)
    rows = np.clip(np.rint((y - ys[0]) / pitch).astype(int), 0, len(ys) - 1)
    return np.asarray(heights[rows, cols], dtype=np.float64)
