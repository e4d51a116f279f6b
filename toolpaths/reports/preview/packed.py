"""Arrays in the JSON of the preview page: base64 text, deflated where that is smaller, little endian."""

from __future__ import annotations

import base64
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

Packed = dict[str, Any]

_LEVEL = 1
"""Of deflating: the fastest. Maps are mostly level, and shrink to a hundredth even so."""


def packed(array: NDArray[Any], kind: str, *, deflate: bool = True) -> Packed:
    """An array of any shape as `{"kind", "data", "deflated"}`, row after row.

    `kind`: numpy's name of what it becomes, `f4`, `u2`, `u1`, `u4` or `i4`.
    """
    raw = np.ascontiguousarray(array, dtype=f"<{kind}").tobytes()
    shrunk = zlib.compress(raw, _LEVEL) if deflate else raw
    return {"kind": kind, "deflated": deflate, "data": base64.b64encode(shrunk).decode()}
