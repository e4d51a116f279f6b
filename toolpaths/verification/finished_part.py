"""The finished part, board or neck, in a setup's frame: its outline from above, and how thick it is. Lengths mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import scale

from toolpaths.common.arrays import Array
from toolpaths.instrument.boards import corners
from toolpaths.instrument.drawn_headstock import neck_part
from toolpaths.instrument.fans import fret_x
from toolpaths.instrument.necks import neck_of
from toolpaths.job.job import Instrument
from toolpaths.job.setup_context import SetupContext
from toolpaths.verification.wall_demands import neck_as_cut

_ALONG, _ACROSS = 1.0, 3.0
"""Between places at which the thickness is looked at, mm."""


def finished_part(context: SetupContext) -> Polygon:
    """The finished part seen from above, trimmed. Raises FeatureError where the numbers or a drawing make none."""
    instrument = context.job.instrument
    neck = context.job.part == "neck"
    whole = neck_part(instrument, 0.0, context.folder) if neck else Polygon(corners(instrument))
    return Polygon(scale(whole, yfact=context.mirror, origin=(0, 0)).exterior)


def finished_depths(context: SetupContext) -> tuple[Array, Array]:
    """(places (N, 2), depth (N,) of the finished part's back below its face there), mm.

    Every `_ALONG` along the part and wherever a neck's thickness bends; every `_ACROSS` across it, its centreline too.
    """
    job = context.job
    if job.part == "neck":
        neck = neck_as_cut(context)
        plan, bends = neck.plan, _bends(job.instrument)
    else:
        plan, bends = finished_part(context), np.empty(0)
    x0, y0, x1, y1 = plan.bounds
    xs = np.unique(np.concatenate([np.linspace(x0, x1, int((x1 - x0) / _ALONG) + 2), bends]))
    far = int(max(-y0, y1) / _ACROSS) + 1
    x, y = (a.ravel() for a in np.meshgrid(xs, _ACROSS * np.arange(-far, far + 1)))
    inside = shapely.intersects_xy(plan, x, y)
    x, y = x[inside], y[inside]
    depth = neck.depth(x, y) if job.part == "neck" else np.full(len(x), job.instrument.board.thickness)
    return np.column_stack([x, y]), depth


def _bends(instrument: Instrument) -> Array:
    """x (N,) at which a neck's thickness changes its way: named frets, and both ends of the blends. mm."""
    neck = neck_of(instrument)
    out = [0.0, *(fret_x(instrument, station.fret) for station in neck.thickness)]
    if neck.heel is not None:
        out += [neck.heel.start - neck.heel.blend, neck.heel.start]
    if neck.headstock is not None:
        out.append(-neck.headstock.blend)
    return np.array(out)
