"""Wanted shapes as data of the preview page: the region and the floor of each demand.

The page computes the target's surface from them, and where wood is left or cut too deep, by the same rules as the
judge (`verification/bounds.py`): deeper than allowed outside the grown regions, higher than asked inside the shrunk.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from toolpaths.common.arrays import Array
from toolpaths.instrument.back_surfaces import KerfFloor, kerf_tip
from toolpaths.reports.preview.packed import packed
from toolpaths.target_shape.bevel_floor import BevelFloor, ConeFloor
from toolpaths.target_shape.crown_floor import ConeGroove, CrownFloor
from toolpaths.target_shape.demand import GOUGE, LEFT, ArcFloor, Floor, Groove, Level
from toolpaths.verification.outcome import SetupReport

_ALONG = 513
_SAMPLES = 40_000
_DIGITS = 5
_NOTHING = shapely.Polygon()


def wanted_data(setup: SetupReport) -> dict[str, Any]:
    """Every demand that bounds the wood at the end of a setup, earlier ones of the same side first. Lengths mm.

    `points`: x, y of all rings of all regions, one after the other; each region of a demand (`asked`, `may`, `must`)
    is the list of its rings' lengths, in that order. A place is inside a region where it is inside an odd number of
    its rings. JSON-safe.
    """
    rings: list[Array] = []
    demands = []
    for bounded in setup.bounds.begun:
        demand, finished = bounded.demand, any(bounded is f for f in setup.bounds.finished)
        asked = demand.asked if demand.relaxed is None else demand.asked.difference(demand.relaxed)
        demands.append(
            {
                "feature": demand.feature,
                "name": demand.name,
                "floor": _floor(demand.floor, demand.asked, demand.run_out),
                "reach": demand.reach,
                "scallop": demand.scallop,
                "wanted": finished and demand.must,
                "asked": _region(asked if demand.must else _NOTHING, rings),
                "may": _region(bounded.may, rings),
                "must": _region(bounded.must if finished else _NOTHING, rings),
            }
        )
    points = np.concatenate(rings) if rings else np.empty((0, 2))
    return {
        "demands": demands,
        "points": packed(points, "f4"),
        "top": setup.standing.top if setup.standing else setup.context.top,
        "tooDeep": GOUGE,
        "left": LEFT,
        "tolerance": setup.context.tolerance,
    }


# Private


def _region(region: BaseGeometry, rings: list[Array]) -> list[int]:
    """Adds a region's rings to the list; their lengths."""
    sizes = []
    for part in shapely.get_parts(region):
        if isinstance(part, shapely.Polygon) and not part.is_empty:
            for ring in (part.exterior, *part.interiors):
                xy = shapely.get_coordinates(ring)[:-1]
                rings.append(xy)
                sizes.append(len(xy))
    return sizes


def _floor(floor: Floor, asked: BaseGeometry, run_out: BaseGeometry | None = None) -> dict[str, Any]:
    """The form of a floor; one that the page has no formula for is sampled, also where the bit runs out."""
    match floor:
        case Level(z):
            return {"form": "level", "z": z}
        case ConeFloor(x, y, z, rise, radius):
            return {"form": "aside", "point": [x, y], "z": z, "flat": 0.0, "rise": rise, "most": radius}
        case Groove(path, z, flat, rise, reach):
            lines = [shapely.get_coordinates(line) for line in shapely.get_parts(path)]
            most = max(0.0, reach - flat / 2)
            return {"form": "aside", "lines": _lines(lines), "z": z, "flat": flat / 2, "rise": rise, "most": most}
        case BevelFloor(area, top, rise, lowest):
            walls = [shapely.get_coordinates(r) for p in shapely.get_parts(area) for r in (p.exterior, *p.interiors)]
            return {"form": "walls", "lines": _lines(walls), "top": top, "rise": rise, "lowest": lowest}
        case CrownFloor(base, nut, end, length, level_from):
            below = _floor(base, asked)
            far = [min(edge, 1e9) for edge in level_from]
            return {"form": "domed", "base": below, "nut": nut, "end": end, "length": length, "levelFrom": far}
        case ConeGroove(under, start, end, flat, rise, rim):
            way = {"start": list(start), "end": list(end)}
            return {"form": "cones", "under": _floor(under, asked), **way, "flat": flat, "rise": rise, "rim": rim}
        case KerfFloor(instrument, drop, leave, x, radius, end):
            tips = kerf_tip(instrument, drop, x, radius, np.linspace(0.0, end, _ALONG)) + leave
            return {"form": "across", "x": x, "radius": radius, "end": end, "z": _rounded(tips)}
        case ArcFloor():
            x0, _, x1, _ = asked.bounds
            xs = np.linspace(x0, x1, _ALONG)
            return {"form": "along", "x0": x0, "x1": x1, "z": _rounded(floor.height(xs, np.zeros_like(xs)))}
    return _sampled(floor, asked if run_out is None else shapely.union(asked, run_out))


def _sampled(floor: Floor, asked: BaseGeometry) -> dict[str, Any]:
    x0, y0, x1, y1 = asked.bounds
    step = max(0.1, float(np.sqrt((x1 - x0) * (y1 - y0) / _SAMPLES)))
    xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
    x, y = np.meshgrid(xs, ys)
    z = floor.height(x.ravel(), y.ravel())
    return {"form": "sampled", "x0": x0, "y0": y0, "step": step, "cols": len(xs), "z": _rounded(z)}


def _lines(lines: Sequence[Array]) -> list[list[float]]:
    return [_rounded(line.ravel()) for line in lines]


def _rounded(values: Array) -> list[float]:
    return [round(float(v), _DIGITS) for v in values]
