"""Lengths and transforms of an SVG drawing (SVG 2, chapter 8; CSS Transforms, section 9); 96 pixels are an inch."""

from __future__ import annotations

import math
import re

import numpy as np

from toolpaths.common.arrays import Array
from toolpaths.common.errors import DrawingError

MM = {"": 25.4 / 96, "px": 25.4 / 96, "mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
"""Millimetres in one of each unit; bare numbers are pixels."""
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*(px|mm|cm|in|pt|pc|[qQ])?\s*")
_CALL = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^()]*)\)\s*")


def length_of(text: str, name: str) -> float:
    """A length in the drawing's units: bare, or with a unit at 96 to the inch. Raises ValueError."""
    found = _LENGTH.fullmatch(text) if len(text) <= 60 else None
    if found is None:
        raise ValueError(f"its {name} is not a length")
    return float(found[1]) * MM[(found[2] or "").lower()] / MM[""]


def page_length(text: str | None) -> float | None:
    """Width or height of the page, mm; None where there is none, or only a share of a screen."""
    if text is None or text.strip() == "auto" or text.strip().endswith("%"):
        return None
    try:
        mm = length_of(text, "width or height") * MM[""]
    except ValueError:
        raise DrawingError("its width or height is not a length", "give them in mm") from None
    if not 0 < mm < math.inf:
        raise DrawingError("its width or height is not above 0", "give them in mm")
    return mm


def matrix_of(text: str) -> Array:
    """The matrix (3, 3) of a list of transforms. Raises ValueError."""
    out = np.eye(3)
    at = 0
    text = text.strip()
    while at < len(text):
        call = _CALL.match(text, at)
        if call is None:
            raise ValueError("its transform cannot be read")
        values = [v for v in re.split(r"[\s,]+", call[2].strip()) if v]
        if any(len(v) > 40 for v in values):
            raise ValueError("its transform cannot be read")
        out = out @ _one_transform(call[1], [float(v) for v in values])
        at = call.end()
    if not np.all(np.isfinite(out)):
        raise ValueError("its transform cannot be read")
    return out


def _one_transform(kind: str, v: list[float]) -> Array:
    m = np.eye(3)
    if kind == "matrix" and len(v) == 6:
        m[:2, :] = np.array(v).reshape(3, 2).T
    elif kind == "translate" and len(v) in (1, 2):
        m[:2, 2] = v[0], v[1] if len(v) == 2 else 0.0
    elif kind == "scale" and len(v) in (1, 2):
        m[0, 0], m[1, 1] = v[0], v[-1]
    elif kind == "rotate" and len(v) in (1, 3):
        c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
        m[:2, :2] = [[c, -s], [s, c]]
        if len(v) == 3:
            m[:2, 2] = np.array(v[1:]) - m[:2, :2] @ v[1:]
    elif kind in ("skewX", "skewY") and len(v) == 1:
        m[(0, 1) if kind == "skewX" else (1, 0)] = math.tan(math.radians(v[0]))
    else:
        raise ValueError(f"its transform has {kind[:20]} with {len(v)} numbers")
    return m
