"""What a job says of its blank, its bits and its part, read and worked out a second time, for the faults' judge.

Only the numbers that the demos use; plain formulas; nothing of the product.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from ruamel.yaml import YAML

from tests.tamper.field import Field, Shape

ROOT = Path(__file__).parents[2]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Setting:
    """A setup as the faults' judge sees it, in its programs' coordinates, mm: the blank's box, its top, the bed."""

    box: tuple[float, float, float, float]
    top: float
    bed: float
    nut: float
    centre: float


@cache
def document(path: Path) -> dict[str, Any]:
    """A job with its instrument put in place."""
    loaded: dict[str, Any] = YAML(typ="safe").load(path.read_text(encoding="utf-8"))
    if isinstance(loaded.get("instrument"), str):
        loaded["instrument"] = YAML(typ="safe").load((path.parent / loaded["instrument"]).read_text(encoding="utf-8"))
    return loaded


def mm(value: Any, units: str) -> float:
    """A length as people type it: a number in the file's units, or text such as `1 3/4 in`."""
    if not isinstance(value, str):
        return float(value) * (25.4 if units == "in" else 1.0)
    *parts, unit = value.split()
    total = 0.0
    for part in parts:
        above, _, below = part.partition("/")
        total += float(above) / float(below or 1)
    return total * (25.4 if unit == "in" else 1.0)


def shape_of(path: Path, name: str) -> Shape:
    """A bit of a job or of the rack."""
    job = document(path)
    rack = YAML(typ="safe").load((ROOT / "machines" / "bits.yaml").read_text(encoding="utf-8"))
    own = job.get("bits", {}).get(name)
    given, units = (own, job["units"]) if own is not None and "shape" in own else (rack["bits"][name], rack["units"])
    return Shape(
        given["shape"], mm(given["diameter"], units) / 2, mm(given.get("tip", 0.0), units), float(given.get("angle", 0))
    )


def bit_named(text: str) -> str:
    """The bit that a program's header names."""
    found = re.search(r"^\(Bit \d+: ([^,]+),", text, re.M)
    assert found
    return found[1]


def setting_of(path: Path, setup_name: str, text: str) -> Setting:
    """Where the blank lies about a program's zero."""
    job = document(path)
    units, setup = job["units"], next(s for s in job["setups"] if s["name"] == setup_name)
    stock = setup.get("stock", job["stock"])
    thick = stock["thickness"]
    top = mm(thick["max"] if isinstance(thick, dict) else thick, units)
    if setup.get("flip"):
        leaves = [f["plane"]["leave"] for s in job["setups"] for f in s["features"] if "plane" in f]
        top = min([top, *(mm(leave, units) for leave in leaves)])
    if "Feature bed_bores" in text:
        top = 0.0
    length, width = mm(stock["length"], units), mm(stock["width"], units)
    left = mm(setup.get("nut_at", 0.0), units)
    centre = mm(setup["centre_at"], units) if "centre_at" in setup else width / 2
    zero = setup["zero"]
    x0 = -left if zero["x"] in ("nut", "jig") else 0.0
    y0 = -centre if zero["y"] in ("centreline", "jig") else 0.0
    lift = top if zero["z"] == "stock top" else 0.0
    return Setting((x0, y0, x0 + length, y0 + width), top - lift, -lift, x0 + left, y0 + centre)


def within_part(path: Path, setup_name: str, setting: Setting, field: Field) -> Flags:
    """Cells that surely belong to the finished part: well inside its outline, whatever is cut in it."""
    job = document(path)
    setup = next(s for s in job["setups"] if s["name"] == setup_name)
    x, y = field.places
    none = np.zeros(x.shape, dtype=bool)
    if "stock" in setup or job.get("part") == "jig":
        return none
    instrument, units = job["instrument"], job["instrument"].get("units", job["units"])
    scale, board = instrument["scale_length"], instrument["board"]
    longest = max(mm(v, units) for k, v in scale.items() if k != "square_fret") if isinstance(scale, dict) else 0.0
    shortest = (
        min(mm(v, units) for k, v in scale.items() if k != "square_fret")
        if isinstance(scale, dict)
        else mm(scale, units)
    )
    end = shortest * (1 - 2 ** (-instrument["frets"] / 12)) + mm(board["overhang"], units)
    begin = 0.0
    if longest:
        # The nut and the far end lean: stay clear of both by as much as they do.
        begin, end = longest - shortest, end - (longest - shortest)
    nut = mm(board["width"]["nut"], units) - 2 * mm(board.get("binding", 0.0), units)
    along = x - setting.nut
    if job.get("part") == "neck":
        heel = instrument["neck"]["heel"]
        return np.asarray((along > 5) & (along < mm(heel["to"], units) - 5) & (abs(y - setting.centre) < nut / 2 - 1))
    return np.asarray((along > begin + 0.5) & (along < end - 0.5) & (abs(y - setting.centre) < nut / 2 - 0.5))
