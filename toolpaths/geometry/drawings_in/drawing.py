"""Drawings coming in: DXF and SVG files as outlines and lines in mm, placed, turned and scaled.

Circular arcs stay arcs. Other curves become chords and arcs that stray at most the error asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely
from shapely import Polygon
from shapely.validation import explain_validity

from toolpaths.common.arrays import Array
from toolpaths.common.errors import DrawingError
from toolpaths.common.plain_file import plain_bytes
from toolpaths.common.units import marked
from toolpaths.geometry.drawings_in.dxf_file import read_dxf
from toolpaths.geometry.drawings_in.polyline import MEET, chained
from toolpaths.geometry.drawings_in.svg_file import read_svg
from toolpaths.geometry.loop import Area, Loop

MAX_BYTES = 8 * 1_048_576
ERROR = 0.001
"""How far a curve's chords may stray, mm."""
_SUFFIXES = (".dxf", ".svg")


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a drawing, or one layer of it, holds. mm.

    `closed`: outer and inner outlines, counter-clockwise; `lines`: open paths (K, 2), curves as chords.
    `closed_names`, `line_names`: the entity, its handle or id, and its layer, one for each. `notes`: what was assumed.
    """

    closed: tuple[Loop, ...]
    lines: tuple[Array, ...]
    closed_names: tuple[str, ...]
    line_names: tuple[str, ...]
    notes: tuple[str, ...] = ()

    @property
    def box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 of everything, mm."""
        every = np.concatenate([*(loop.flattened(ERROR) for loop in self.closed), *self.lines])
        (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def as_lines(self, error: float = ERROR / 2) -> tuple[tuple[Array, str], ...]:
        """Every outline and line as (points (K, 2), name); a closed one ends where it begins."""
        out = [(loop.flattened(error), name) for loop, name in zip(self.closed, self.closed_names, strict=True)]
        closed = [(np.concatenate([points, points[:1]]), name) for points, name in out]
        return (*closed, *zip(self.lines, self.line_names, strict=True))


def read_drawing(path: Path, layer: str | None = None, error: float = ERROR) -> Drawing:
    """The drawing in a DXF or SVG file, or one layer of it (in an SVG: the group with that id).

    Lines and arcs whose ends meet within 0.01 mm are joined, and make an outline where they come round.
    Raises DrawingError, naming the entity, for whatever cannot be read or followed.
    """
    return _parsed(drawing_bytes(path), path.suffix.lower(), layer, error)


def drawing_bytes(path: Path) -> bytes:
    """The file's content. Raises DrawingError where there is none, it is no drawing or larger than 8 MiB."""
    if path.suffix.lower() not in _SUFFIXES:
        raise DrawingError(f"`{path.name[:100]}` is neither a .dxf nor a .svg file", "save the drawing as DXF or SVG")
    try:
        if not path.is_file():
            raise DrawingError(f"there is no file `{path.name[:100]}`", "give its path from the job's folder")
        data = plain_bytes(path, MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise DrawingError(f"it cannot be read ({getattr(error, 'strerror', None) or 'a faulty name'})") from None
    if len(data) > MAX_BYTES:
        raise DrawingError("it is larger than 8 MiB", "save only what is to be cut in a file of its own")
    return data


def placed(
    drawing: Drawing, place: tuple[float, float], rotate: float = 0.0, scale: float = 1.0, mirror: bool = False
) -> Drawing:
    """The drawing mirrored about its x axis (where asked), scaled, turned counter-clockwise by `rotate` degrees,
    and moved so that its zero comes to `place` (mm).
    """
    turn = math.radians(rotate)
    c, s = (round(v, 15) for v in (math.cos(turn), math.sin(turn)))
    matrix = scale * np.array([[c, -s], [s, c]]) @ np.diag([1.0, -1.0 if mirror else 1.0])

    def moved(points: Array) -> Array:
        return np.asarray(points @ matrix.T + np.asarray(place))

    def loop(given: Loop) -> Loop:
        upright = given.mirrored() if mirror else given
        points = upright.points * np.array([1.0, -1.0]) if mirror else upright.points
        return Loop(moved(points), upright.bulges)

    return Drawing(
        tuple(loop(outline) for outline in drawing.closed),
        tuple(moved(line) for line in drawing.lines),
        drawing.closed_names,
        drawing.line_names,
        drawing.notes,
    )


def outlines(drawing: Drawing) -> tuple[Loop, ...]:
    """The drawing's outlines, where it holds nothing else: closed, none crossing itself or another.

    Raises DrawingError naming the entity that is open, or crosses.
    """
    if drawing.lines:
        raise _open(drawing)
    if not drawing.closed:
        raise DrawingError("it has no outline", "name the layer with the outline, or check that it is not hidden")
    shapes = [loop.shape() for loop in drawing.closed]
    for shape, name in zip(shapes, drawing.closed_names, strict=True):
        if shape.is_valid and shape.area < MEET**2:
            raise DrawingError(f"{name} encloses nothing", "check whether a line is drawn there and back")
        if not shape.is_valid:
            raise DrawingError(
                f"{name} crosses or touches itself{_where(shape)}", "draw an outline that does not cross itself"
            )
    rings = [shape.exterior for shape in shapes]
    for i, j in shapely.STRtree(rings).query(rings, predicate="intersects").T.tolist():
        if i < j:
            at = shapely.get_coordinates(rings[i].intersection(rings[j]))[0]
            raise DrawingError(
                f"{drawing.closed_names[i]} crosses or touches {drawing.closed_names[j]} at {_place(at)}",
                "keep the outlines apart; check whether one is drawn twice",
            )
    return drawing.closed


def areas(drawing: Drawing) -> tuple[Area, ...]:
    """The areas that the outlines enclose, by the even-odd rule: within an island an outline encloses an area again.

    Raises DrawingError as `outlines` does.
    """
    loops = outlines(drawing)
    shapes = [Polygon(loop.flattened(2e-4)) for loop in loops]
    inner, outer = shapely.STRtree(shapes).query(shapes, predicate="within")
    around: list[list[int]] = [[] for _ in loops]
    for i, j in zip(inner.tolist(), outer.tolist(), strict=True):
        if i != j:
            around[i].append(j)
    depth = [len(a) for a in around]
    out: list[Area] = []
    for i, loop in enumerate(loops):
        if depth[i] % 2 == 0:
            islands = tuple(loops[k] for k in range(len(loops)) if depth[k] == depth[i] + 1 and i in around[k])
            out.append(Area(loop, islands, drawing.closed_names[i]))
    return tuple(out)


@contextmanager
def faults_in(name: str) -> Iterator[None]:
    """Put the file's name in front of every drawing error raised inside."""
    try:
        yield
    except DrawingError as fault:
        raise DrawingError(f"{name}: {fault.problem}", fault.hint) from None


# Private


@lru_cache(maxsize=8)
def _parsed(data: bytes, suffix: str, layer: str | None, error: float) -> Drawing:
    """Parse a drawing, cached: features ask for the same bytes several times.

    Half of the error goes to curves, half to the chords of the arcs found in them.
    """
    # Numbers too large to reckon with come out as faults, not as warnings.
    with np.errstate(all="ignore"):
        trails, notes = (read_dxf if suffix == ".dxf" else read_svg)(data, layer, error / 2)
        trails = chained(trails)
    if not trails:
        where = "it" if layer is None else f"its layer `{layer[:60]}`"
        raise DrawingError(f"{where} has nothing to cut", "check that what is to be cut is not hidden")
    closed, lines = [t for t in trails if t.closed], [t for t in trails if not t.closed]
    loops = tuple(t.loop() for t in closed)
    paths = tuple(t.chords(error / 2) for t in lines)
    for array in (*(a for loop in loops for a in (loop.points, loop.bulges)), *paths):
        array.flags.writeable = False
    return Drawing(loops, paths, tuple(t.name for t in closed), tuple(t.name for t in lines), tuple(notes))


def _open(drawing: Drawing) -> DrawingError:
    """The error for an open line: where it ends, and how far from the next end."""
    line, name = drawing.lines[0], drawing.line_names[0]
    ends = np.array([p for path in drawing.lines for p in (path[0], path[-1])])
    away = np.hypot(*(ends - line[-1]).T)
    away[1] = math.inf
    near = int(np.argmin(away))
    what = f"{name} is open: it ends at {_place(line[-1])}"
    if int((away <= MEET).sum()) >= 2:
        return DrawingError(f"{what}, where more than two lines meet", "check whether a line is drawn twice")
    if near == 0:
        return DrawingError(f"{what}, {marked(away[0])} from where it begins", "close the outline")
    other = drawing.line_names[near // 2]
    return DrawingError(
        f"{what}, {marked(away[near])} from the nearest end ({other})", f"join the ends within {marked(MEET)}"
    )


def _where(shape: Polygon) -> str:
    found = explain_validity(shape)
    if "[" not in found:
        return ""
    x, y = found[found.index("[") + 1 : found.index("]")].split()[:2]
    return f" at {_place((float(x), float(y)))}"


def _place(at: Array | tuple[float, float]) -> str:
    return f"x {marked(at[0])}, y {marked(at[1])}"
