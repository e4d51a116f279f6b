"""A drawn headstock: its outline out of a DXF or SVG file, and whether it fits the shaft."""

from __future__ import annotations

from pathlib import Path

from shapely import Polygon, box

from toolpaths.common.errors import DrawingError, FeatureError
from toolpaths.common.units import marked
from toolpaths.geometry.drawings_in.drawing import faults_in, outlines, read_drawing
from toolpaths.geometry.drawings_in.polyline import MEET
from toolpaths.instrument.boards import half_width, nut_back, nut_shelf
from toolpaths.instrument.necks import neck_outline
from toolpaths.job.job import Instrument


def neck_part(instrument: Instrument, margin: float, folder: Path) -> Polygon:
    """The whole neck seen from the face, with `margin` (mm) on the shaft, its headstock drawn or straight.

    Raises FeatureError where the numbers or the drawing make no neck.
    """
    try:
        head = head_polygon(instrument, folder)
    except DrawingError as fault:
        raise FeatureError(fault.problem, fault.hint, "instrument") from None
    return neck_outline(instrument, margin, head)


def head_polygon(instrument: Instrument, folder: Path) -> Polygon | None:
    """The drawn headstock in instrument coordinates, mm, chords within 0.0002; None where it is not drawn.

    The drawing is in instrument coordinates: 0, 0 on the centreline at the front of the nut, the headstock at
    negative x. It is one closed outline that overlaps or touches the shaft behind the nut and nowhere widens it
    beyond. `folder`: what the drawing's path counts from. Raises DrawingError where it is anything else.
    """
    head = None if instrument.neck is None else instrument.neck.headstock
    if head is None or head.drawing is None:
        return None
    name = head.drawing[:100]
    with faults_in(f"headstock, {name}"):
        found = outlines(read_drawing(folder / head.drawing, head.layer))
        if len(found) != 1:
            problem = f"it has {len(found)} outlines, and needs one"
            raise DrawingError(problem, "name the layer that has only the outline")
    outline = found[0].shape()
    x0, _, x1, _ = outline.bounds
    where = "draw it in full size: 0, 0 on the centreline at the front of the nut, the headstock at negative x"
    half = float(half_width(instrument, 0.0))
    shelf, back = nut_shelf(instrument), nut_back(instrument)
    if x0 > shelf:
        raise DrawingError(f"headstock, {name}: it reaches from x {marked(x0)} to x {marked(x1)}", where)
    if outline.distance(box(shelf, -half, back, half)) > MEET:
        raise DrawingError(
            f"headstock, {name}: it ends at x {marked(x1)} and does not meet the shaft, "
            f"which begins at x {marked(shelf)}",
            where,
        )
    margin = instrument.neck.margin if instrument.neck is not None else 0.0
    beyond = outline.intersection(box(MEET, -1e6, 1e6, 1e6))
    if not beyond.is_empty:
        _, y0, _, y1 = beyond.bounds
        if max(-y0, y1) > half + margin + MEET:
            raise DrawingError(
                f"headstock, {name}: in front of the nut it is wider than the shaft (to x {marked(x1)})", where
            )
    return outline
