"""Lines and curves of a DXF drawing, as polylines in mm.

The file is parsed by the library ezdxf; nothing that the drawing refers to is opened.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from toolpaths.common.errors import DrawingError
from toolpaths.geometry.drawings_in.dxf_spline import spline
from toolpaths.geometry.drawings_in.polyline import (
    MOST_POINTS,
    Polyline,
    bulged,
    straight,
    swing,
)

MOST_ENTITIES = 20_000
"""Entities that one drawing may hold, those of its blocks counted each time they are used."""
MOST_CONTROL_POINTS = 8_000
"""Of all splines of one drawing."""
_DEEPEST = 8
"""Blocks within blocks."""
_UNITS = {0: 1.0, 1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}
"""Millimetres in one drawing unit by $INSUNITS (DXF reference, header variables): none, in, ft, mm, cm, m."""
_PASSED_OVER = {"POINT", "VIEWPORT"}
_SAVE = "open it in a drawing program and save it as DXF, version 2000 or later"
_NOT_LINES = "draw it with lines, arcs, circles, polylines, ellipses or splines, or put it on another layer"


def read_dxf(data: bytes, layer: str | None, error: float) -> tuple[list[Polyline], list[str]]:
    """(trails, notes) of the visible entities of the model space, or of one layer; mm, curves within `error` mm.

    Raises DrawingError for what cannot be read or followed, naming the entity by type, handle and layer.
    """
    document = _document(data)
    scale, notes = _scale(document)
    try:
        entities = list(_entities(document, layer))
    except DrawingError:
        raise
    except Exception:  # entities that the library let in, and cannot answer for
        raise DrawingError("it cannot be read as a DXF file", _SAVE) from None
    trails: list[Polyline] = []
    points = control = 0
    for entity, name in entities:
        control += max(len(entity.control_points), len(entity.fit_points)) if entity.dxftype() == "SPLINE" else 0
        if control > MOST_CONTROL_POINTS:
            raise DrawingError(
                f"its splines have more than {MOST_CONTROL_POINTS} control points",
                "simplify them, or draw arcs",
            )
        for trail in _made(entity, name, scale, error):
            trails.append(trail)
            points += len(trail.points)
            if points > MOST_POINTS:
                raise DrawingError(f"it has more than {MOST_POINTS} points", "simplify its curves")
    return trails, notes


# Private


def _document(data: bytes) -> Any:
    from ezdxf.filemanagement import dxf_stream_info, read

    if b"\0" in data[:64]:
        raise DrawingError("this is a binary DXF file", "save it as a text (ASCII) DXF")
    try:
        info = dxf_stream_info(io.StringIO(data.decode("cp1252", "replace"), newline=None))
        text = data.decode(info.encoding, "surrogateescape")
        return read(io.StringIO(text, newline=None))
    except Exception as error:  # whatever the bytes make the library stumble over
        words = " ".join(str(error).split())[:120]
        raise DrawingError(
            f"it cannot be read as a DXF file{f' ({words})' if words.isprintable() and words else ''}",
            _SAVE,
        ) from None


def _scale(document: Any) -> tuple[float, list[str]]:
    unit = document.header.get("$INSUNITS", 0)
    if unit not in _UNITS:
        raise DrawingError(
            f"its units ($INSUNITS {str(unit)[:20]}) cannot be read", "save it in mm, cm, m, inches or feet"
        )
    notes = ["names no units; its numbers are taken as mm"] if unit == 0 else []
    return _UNITS[unit], notes


def _entities(document: Any, layer: str | None) -> Iterator[tuple[Any, str]]:
    """Entities to follow, with names; blocks taken apart."""
    space = document.modelspace()
    hidden = set()
    if layer is None:
        hidden = {key(x.dxf.name) for x in document.layers if _is_hidden(x)}
    else:
        known = {key(x.dxf.name): x.dxf.name for x in document.layers}
        known |= {key(e.dxf.layer): e.dxf.layer for e in space if _value(e, "layer", "")}
        if key(layer) not in known:
            raise DrawingError(
                f"it has no layer `{layer[:60]}`",
                f"its layers: {', '.join(sorted(str(v) for v in known.values()))[:200]}",
            )
    count = [0]
    for entity in space:
        yield from _opened(entity, layer, hidden, "", 0, count)


def _opened(
    entity: Any, layer: str | None, hidden: set[str], within: str, depth: int, count: list[int]
) -> Iterator[tuple[Any, str]]:
    count[0] += 1
    if count[0] > MOST_ENTITIES:
        raise DrawingError(
            f"it has more than {MOST_ENTITIES} entities", "save only what is to be cut in a file of its own"
        )
    kind = entity.dxftype()
    own = str(_value(entity, "layer", "0"))
    name = f"{kind} {_value(entity, 'handle', '')}".strip() + within + f" on layer {own[:60]}"
    if _value(entity, "invisible", 0):
        return
    if kind == "INSERT":
        if depth >= _DEEPEST:
            raise DrawingError(f"{name}: blocks are nested more than {_DEEPEST} deep", "explode the blocks")
        rows, columns = entity.dxf.get("row_count", 1), entity.dxf.get("column_count", 1)
        if rows > 1 or columns > 1:
            raise DrawingError(f"{name} repeats a block in rows and columns", "explode the block")
        inside = f" in block {str(entity.dxf.get('name', ''))[:40]}"
        for part in _parts(entity, name):
            # What lies on layer 0 of a block takes the layer of the place where the block is used.
            if _value(part, "layer", "") == "0":
                part.dxf.layer = own
            yield from _opened(part, layer, hidden, inside, depth + 1, count)
        return
    on_it = key(own) == key(layer) if layer is not None else key(own) not in hidden
    if on_it and kind not in _PASSED_OVER:
        yield entity, name


def _parts(entity: Any, name: str) -> list[Any]:
    def skipped(part: Any, reason: str) -> None:
        raise DrawingError(f"{part.dxftype()} in the block of {name} cannot be taken apart", _NOT_LINES)

    try:
        block = entity.block()
        if block is None or (block.block is not None and block.block.dxf.get("xref_path", "")):
            raise DrawingError(f"{name} refers to another drawing", "put its lines into this drawing")
        if len(block) > MOST_ENTITIES:
            raise DrawingError(f"{name} has more than {MOST_ENTITIES} entities", "explode the block")
        return list(entity.virtual_entities(skipped_entity_callback=skipped))
    except DrawingError:
        raise
    except Exception:
        raise DrawingError(f"{name} cannot be taken apart", "explode the block") from None


def key(layer: str) -> str:
    """A layer's name for comparison: DXF ignores upper and lower case."""
    return layer.casefold()


def _value(entity: Any, name: str, default: Any) -> Any:
    """An attribute, or the default where this kind of entity has none."""
    found = entity.dxf.get(name, default) if entity.dxf.is_supported(name) else default
    return default if found is None else found


def _is_hidden(layer: Any) -> bool:
    return bool(layer.is_off() or layer.is_frozen())


def _made(entity: Any, name: str, scale: float, error: float) -> list[Polyline]:
    kind = entity.dxftype()
    maker = _MAKERS.get(kind)
    if maker is None:
        raise DrawingError(f"{name} is not a line or curve that can be followed", _NOT_LINES)
    try:
        return list(maker(entity, name, scale, error))
    except DrawingError:
        raise
    except Exception as fault:  # odd values make the library, or the arithmetic, stumble
        words = " ".join(str(fault).split())[:80]
        raise DrawingError(f"{name} is faulty{f' ({words})' if words else ''}", "draw it again") from None


def _line(e: Any, name: str, scale: float, error: float) -> Iterator[Polyline]:
    a, b = e.dxf.start, e.dxf.end
    yield straight([(a.x * scale, a.y * scale), (b.x * scale, b.y * scale)], name)


def _arc(e: Any, name: str, scale: float, error: float) -> Iterator[Polyline]:
    side = _side(e, name)
    start = math.radians(e.dxf.start_angle)
    sweep = math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360) or 2 * math.pi
    yield _round(e, side, start, sweep, name, scale, error)


def _circle(e: Any, name: str, scale: float, error: float) -> Iterator[Polyline]:
    yield _round(e, _side(e, name), math.pi, 2 * math.pi, name, scale, error)


def _round(e: Any, side: float, start: float, sweep: float, name: str, scale: float, error: float) -> Polyline:
    c, r = e.dxf.center, float(e.dxf.radius)
    if not r > 0:
        raise DrawingError(f"{name} has no radius", "draw it again")
    centre = np.array([side * c.x, c.y]) * scale
    return swing(centre, np.array([side * r * scale, 0.0]), np.array([0.0, r * scale]), start, sweep, error, name)


def _ellipse(e: Any, name: str, scale: float, error: float) -> Iterator[Polyline]:
    c, u, v = e.dxf.center, e.dxf.major_axis, e.minor_axis
    if abs(u.z) > 1e-6 * u.magnitude or abs(v.z) > 1e-6 * max(v.magnitude, 1e-12):
        raise DrawingError(f"{name} does not lie flat in the drawing", "draw it in the plane of x and y")
    start, end = float(e.dxf.start_param), float(e.dxf.end_param)
    sweep = (end - start) % (2 * math.pi)
    if sweep < 1e-9:
        sweep = 2 * math.pi
    flat = [np.array([p.x, p.y]) * scale for p in (c, u, v)]
    yield swing(flat[0], flat[1], flat[2], start, sweep, error, name)


def _lwpolyline(e: Any, name: str, scale: float, error: float) -> Iterator[Polyline]:
    yield _poly([(x, y, b) for x, y, b in e.get_points("xyb")], bool(e.closed), _side(e, name), name, scale)


def _polyline(e: Any, name: str, scale: float, error: float) -> Iterator[Polyline]:
    if e.is_3d_polyline:
        places = [(v.dxf.location.x, v.dxf.location.y, 0.0) for v in e.vertices]
        yield _poly(places, bool(e.is_closed), 1.0, name, scale)
        return
    if not e.is_2d_polyline:
        raise DrawingError(f"{name} is a mesh", _NOT_LINES)
    # Vertices that only steer a fitted curve are not on it.
    on_it = [v for v in e.vertices if not v.dxf.get("flags", 0) & 16]
    places = [(v.dxf.location.x, v.dxf.location.y, float(v.dxf.get("bulge", 0.0))) for v in on_it]
    yield _poly(places, bool(e.is_closed), _side(e, name), name, scale)


def _poly(places: list[tuple[float, float, float]], closed: bool, side: float, name: str, scale: float) -> Polyline:
    if len(places) < 2:
        raise DrawingError(f"{name} has fewer than two points", "take it out")
    array = np.asarray(places, dtype=np.float64)
    points, bulges = array[:, :2] * scale * np.array([side, 1.0]), array[:, 2] * side
    if closed and np.any(points[0] != points[-1]):
        return bulged(np.concatenate([points, points[:1]]), bulges, name)
    return bulged(points, bulges[:-1], name)


def _side(e: Any, name: str) -> float:
    """1 for an entity drawn as seen from above, -1 for one seen from below (its x is mirrored)."""
    axis = e.dxf.get("extrusion", None)
    if axis is None or (abs(axis.x) < 1e-6 and abs(axis.y) < 1e-6 and axis.z > 0):
        return 1.0
    if abs(axis.x) < 1e-6 and abs(axis.y) < 1e-6 and axis.z < 0:
        return -1.0
    raise DrawingError(f"{name} does not lie flat in the drawing", "draw it in the plane of x and y")


_MAKERS = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": spline,
}
